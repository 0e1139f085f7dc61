"""Timer circuits: exact timing, sizing from purchasable parts, tolerance, the drive chain."""
