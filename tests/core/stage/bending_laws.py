"""Smooth capacitances between drain and source, as terms of the second model and as charge."""

from __future__ import annotations

import math
import sys
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from burstwise.core.stage.charge import ChargeSegments

sys.path.insert(0, str(Path(__file__).parent))  # tests are no package

from nodal_equations import JUNCTION, KNEE, STEP

Array = NDArray[np.float64]

BUILT_IN = 0.7
"""Built-in voltage of the planar junction [V]."""
KNEE_VOLTAGE = 15.0
"""Voltage at which the columns of a superjunction are half emptied [V]."""


def planar(farad: float, volts: float) -> Array:
    """Planar junction ``Cj0 (1 + v/0.7)^-0.5`` with a given capacitance at a voltage."""
    at_zero = farad * (1.0 + volts / BUILT_IN) ** 0.5
    return np.array([(JUNCTION, at_zero, BUILT_IN, 0.5)])


def superjunction(low: float, high: float) -> Array:
    """``Chi + (Clo - Chi) / (1 + (v/15)^2)``: from `low` at zero volts to `high` far above."""
    return np.array([(STEP, high, -math.inf, 0.0), (KNEE, low - high, KNEE_VOLTAGE, 2.0)])


def charge(volts: Array, terms: Array) -> Array:
    """Charge of a law at voltages from zero up, in closed form."""
    total = np.zeros_like(volts)
    for kind, a, b, c in terms:
        if kind == JUNCTION:
            total += a * b / (1.0 - c) * ((1.0 + volts / b) ** (1.0 - c) - 1.0)
        elif kind == KNEE and c == 2.0:
            total += a * b * np.arctan(volts / b)
        elif b == -math.inf:
            total += a * volts
        else:
            raise NotImplementedError((kind, b, c))
    return total


def segments(terms: Array, knots: tuple[float, ...], highest: float) -> ChargeSegments:
    """Straight pieces with the charge of the law at the knots and at the highest voltage.

    Below zero the law is constant, and so is the piece.
    """
    edges = np.array([0.0, *knots, highest])
    farads = np.diff(charge(edges, terms)) / np.diff(edges)
    at_zero = float(charge(np.array([1e-6]), terms)[0] / 1e-6)
    return ChargeSegments((0.0, *knots), (at_zero, *(float(value) for value in farads)))
