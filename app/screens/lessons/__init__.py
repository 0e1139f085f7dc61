"""Lessons screen: guided lessons on the real program, and their presentation."""
