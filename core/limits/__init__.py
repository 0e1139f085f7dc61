"""Ratings, derating and what fails first."""
