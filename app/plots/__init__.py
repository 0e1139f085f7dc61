"""Plots that keep up with a drag: held ranges, a cached grid, labels beside the curves."""
