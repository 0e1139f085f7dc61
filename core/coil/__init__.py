"""From winding geometry to inductance, capacitance, resistance, coupling and resonance."""
