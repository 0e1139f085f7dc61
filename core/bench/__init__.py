"""Readings, captures, fits and forecasts."""
