"""Drawings to scale, painted from geometry."""
