"""Guided lessons as data, and the checks on what the learner did."""
