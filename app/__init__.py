"""Burstwise: the window."""
