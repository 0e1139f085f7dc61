"""Explain a number: the equation with values put in, its source, validity and what dominates."""
