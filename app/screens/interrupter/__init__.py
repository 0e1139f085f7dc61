"""Interrupter: from a wish to purchasable parts, their circuit, knob, tolerance and chain."""
