"""Bench screen: readings, capture, forecast, calibration, diagnosis."""
