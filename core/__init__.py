"""Burstwise: the computation, free of any window."""
