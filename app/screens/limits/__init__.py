"""Limits: what fails first, and how to move it."""
