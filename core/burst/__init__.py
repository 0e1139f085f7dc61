"""Burst scale: duty, supply droop, junction temperature."""
