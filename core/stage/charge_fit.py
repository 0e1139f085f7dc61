"""Straight pieces through the charge of a smooth capacitance law."""

from __future__ import annotations

from typing import Final

import numpy as np
from scipy.integrate import cumulative_trapezoid
from scipy.optimize import lsq_linear

from burstwise.core.arrays import Array
from burstwise.core.stage.capacitance_law import CapacitanceLaw
from burstwise.core.stage.charge import ChargeSegments

LOW_SHARE: Final = 0.7
"""Part of the knots that looks after low voltages; tried out, see docs/theory_stage.md."""
_CHARGE_WEIGHT: Final = 0.3
_GRID: Final = 1500
_LOWEST: Final = 1e-5
_FEWER_BELOW: Final = 0.02
_RING_FROM: Final = 0.1


def fitted_segments(law: CapacitanceLaw, highest: float, pieces: int) -> ChargeSegments:
    """Straight pieces that keep energy and charge of a law, and one more below zero volts.

    Below zero the law's own value at zero holds: there the gate-drain charge is while the device
    is on. Seven tenths of the knots share out ``|C'(v)|^(1/3) v^-0.3``, which is dense near zero
    volts, where switching begins and ends. The others make the error of a ring's peak equal in all
    pieces: one of width d in ln v is off by ``|d ln C/d ln v| d^2 / 16``, so each has the same
    share of ``sqrt(|d ln C/d ln v|) d ln v``, with fewer below 2 % of the highest voltage.
    The capacitances are the least squares of the relative errors of energy and charge, both of
    which are linear in them. Above the highest voltage the last piece goes on.

    Parameters
    ----------
    law : CapacitanceLaw
        Smooth law.
    highest : float
        Highest voltage [V].
    pieces : int
        Number of pieces between zero and the highest voltage.
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
    return ChargeSegments((0.0, *knots.tolist()), (float(ends[0]), *(found.x * chords).tolist()))


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
    volts = highest * np.concatenate([[0.0], np.geomspace(_LOWEST, 1.0, _GRID)])
    farads = law.capacitance(volts)
    bend = np.abs(np.gradient(farads, volts))
    equal = np.sqrt(bend * volts / farads) / (volts + _FEWER_BELOW * highest)
    low = bend ** (1.0 / 3.0) * (volts + 1e-3 * highest) ** -0.3
    share = LOW_SHARE * _running(low, volts) + (1.0 - LOW_SHARE) * _running(equal, volts)
    return np.asarray(np.interp(np.linspace(0.0, 1.0, pieces + 1)[1:-1], share, volts))


def _running(density: Array, volts: Array) -> Array:
    """Integral of a density up to each voltage, over the whole of it [1]."""
    parts = cumulative_trapezoid(density, x=volts, initial=0)
    return np.asarray(parts / parts[-1])
