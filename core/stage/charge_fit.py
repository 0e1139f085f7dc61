"""Straight pieces through the charge of a smooth capacitance law."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import lsq_linear

from core.stage.capacitance_law import CapacitanceLaw
from core.stage.charge import ChargeSegments

Array = NDArray[np.float64]

BEND: Final = 1.0 / 3.0
PLACE: Final = -0.3
"""Exponents of the density of knots; tried out, see docs/theory_stage.md."""
_CHARGE_WEIGHT: Final = 0.3
_GRID: Final = 1500
_RING_FROM: Final = 0.1


def fitted_segments(law: CapacitanceLaw, highest: float, pieces: int) -> ChargeSegments:
    """Straight pieces from zero volts to the highest voltage that keep energy and charge.

    Each piece has the same share of ``|C'(v)|^(1/3) v^-0.3``: where the charge bends most, and
    rather at low voltage, where a ring begins. The capacitances are the least squares of the
    relative errors of energy and charge over the whole range, both of which are linear in them.
    Below zero volts the first piece goes on, above the highest voltage the last.

    Parameters
    ----------
    law : CapacitanceLaw
        Smooth law.
    highest : float
        Highest voltage [V].
    pieces : int
        Number of pieces.
    """
    ends = law.capacitance(np.array([0.0, highest]))
    if abs(ends[1] - ends[0]) <= 1e-6 * ends[0]:
        return ChargeSegments.constant(float(ends[0]))
    knots = _knots(law, highest, pieces)
    edges = np.concatenate([[0.0], knots, [highest]])
    chords = np.diff(law.charge(edges)) / np.diff(edges)
    grid = highest * np.linspace(0.03, 1.0, 120) ** 1.5
    upto = np.clip(grid[:, None], edges[:-1], edges[1:])
    energies = 0.5 * (upto**2 - edges[:-1] ** 2) / law.energy(grid)[:, None]
    charges = _CHARGE_WEIGHT * (upto - edges[:-1]) / law.charge(grid)[:, None]
    found = lsq_linear(
        np.concatenate([energies, charges]) * chords,
        np.concatenate([np.ones(len(grid)), np.full(len(grid), _CHARGE_WEIGHT)]),
        bounds=(0.4, 2.5),
    )
    return ChargeSegments(tuple(knots.tolist()), tuple((found.x * chords).tolist()))


def ring_error(made: ChargeSegments, law: CapacitanceLaw, highest: float) -> float:
    """Largest error of the peak of an inductor that rings into the capacitance [1].

    A lossless ring from zero volts ends where the stored energy is that of the inductor, so peaks
    compare as voltages at equal energy; from a tenth of the highest voltage on.
    """
    grid = np.linspace(0.0, 1.5 * highest, _GRID)
    peaks = np.geomspace(_RING_FROM * highest, highest, 80)
    reached = np.interp(law.energy(peaks), made.energy(grid), grid)
    return float(np.max(np.abs(reached / peaks - 1.0)))


def _knots(law: CapacitanceLaw, highest: float, pieces: int) -> Array:
    grid = highest * np.linspace(0.0, 1.0, _GRID) ** 3
    bend = np.abs(np.gradient(law.capacitance(grid), grid)) ** BEND
    weight = bend * (grid + 1e-3 * highest) ** PLACE
    share = np.concatenate([[0.0], np.cumsum(0.5 * (weight[1:] + weight[:-1]) * np.diff(grid))])
    marks = np.linspace(0.0, share[-1], pieces + 1)[1:-1]
    return np.asarray(np.interp(marks, share, grid))
