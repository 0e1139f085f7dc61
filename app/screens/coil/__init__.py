"""The coil: geometry, measured values, drawing, results, sweeps and solves."""
