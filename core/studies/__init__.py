"""What is asked about a design beyond its evaluation: maps, orders, remedies, chances, sweeps."""
