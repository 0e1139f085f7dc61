"""The oscillating stage at carrier scale: network, engine, carrier summary."""
