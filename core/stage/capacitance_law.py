"""Smooth laws of capacitances that fall with voltage, their charge, energy and equivalents."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Final, Protocol

import numpy as np
from numpy.typing import ArrayLike
from scipy.integrate import cumulative_trapezoid
from scipy.interpolate import PchipInterpolator

from burstwise.core.arrays import Array
from burstwise.core.errors import InputError

JUNCTION_VOLTAGE: Final = 0.7
"""Built-in voltage of a silicon junction [V]; common practice, no source."""
GRADING: Final = 0.5
"""Exponent of an abrupt junction [1]; Sze, Physics of Semiconductor Devices, from memory."""
KNEE_RATIO: Final = 80.0
"""Capacitance at zero volts over that far above the knee, superjunction; from memory."""
KNEE_VOLTAGE: Final = 15.0
"""Voltage of the knee of a superjunction [V]; from memory."""
_GRID: Final = 20001


class CapacitanceLaw(Protocol):
    """Capacitance, charge and stored energy over voltage; below zero the value at zero holds."""

    def capacitance(self, voltage: ArrayLike) -> Array:
        """Capacitance at a voltage [F]."""
        ...

    def charge(self, voltage: ArrayLike) -> Array:
        """Charge from zero volts on [C]."""
        ...

    def energy(self, voltage: ArrayLike) -> Array:
        """Stored energy from zero volts on, the integral of v dq [J]."""
        ...


def charge_related(law: CapacitanceLaw, voltage: float) -> float:
    """Constant capacitance that holds the same charge at a voltage, ``Q / V`` [F].

    Datasheets call it time related, since a constant current charges both in the same time.
    """
    return float(law.charge(voltage)) / voltage


def energy_related(law: CapacitanceLaw, voltage: float) -> float:
    """Constant capacitance that stores the same energy at a voltage, ``2 E / V^2`` [F].

    Examples
    --------
    >>> law = JunctionLaw(4.36e-10)
    >>> round(energy_related(law, 25.0) * 1e12, 3), round(charge_related(law, 25.0) * 1e12, 3)
    (94.016, 123.526)
    """
    return 2.0 * float(law.energy(voltage)) / voltage**2


@dataclass(frozen=True, slots=True)
class JunctionLaw:
    """Planar device: ``C(v) = C0 (1 + v/V_j)^-m``.

    Parameters
    ----------
    at_zero : float
        Capacitance at zero volts C0 [F].
    grading : float
        Exponent m [1], below 1.
    built_in : float
        Built-in voltage V_j [V].

    Notes
    -----
    Depletion capacitance of a junction; Sze, Physics of Semiconductor Devices, from memory.
    """

    at_zero: float
    grading: float = GRADING
    built_in: float = JUNCTION_VOLTAGE

    def capacitance(self, voltage: ArrayLike) -> Array:
        """Capacitance at a voltage [F]."""
        return np.asarray(self.at_zero * self._over(voltage) ** -self.grading)

    def charge(self, voltage: ArrayLike) -> Array:
        """Charge from zero volts on [C]."""
        m, below = self.grading, np.minimum(voltage, 0.0)
        inside = self.built_in / (1 - m) * (self._over(voltage) ** (1 - m) - 1)
        return np.asarray(self.at_zero * (inside + below))

    def energy(self, voltage: ArrayLike) -> Array:
        """Stored energy from zero volts on [J]."""
        m, below, u = self.grading, np.minimum(voltage, 0.0), self._over(voltage)
        inside = (u ** (2 - m) - 1) / (2 - m) - (u ** (1 - m) - 1) / (1 - m)
        return np.asarray(self.at_zero * (self.built_in**2 * inside + 0.5 * below**2))

    def _over(self, voltage: ArrayLike) -> Array:
        return np.asarray(1.0 + np.maximum(voltage, 0.0) / self.built_in)


@dataclass(frozen=True, slots=True)
class KneeLaw:
    """Superjunction-like: ``C(v) = C_hi + (C_lo - C_hi) / (1 + (v/v_k)^2)``.

    Parameters
    ----------
    low, high : float
        Capacitance at zero volts and far above the knee [F].
    knee : float
        Voltage of the knee [V].

    Notes
    -----
    A curve with one knee through the usual shape of datasheets; common practice, no source.
    """

    low: float
    high: float
    knee: float = KNEE_VOLTAGE

    def capacitance(self, voltage: ArrayLike) -> Array:
        """Capacitance at a voltage [F]."""
        x = np.maximum(voltage, 0.0) / self.knee
        return np.asarray(self.high + (self.low - self.high) / (1.0 + x**2))

    def charge(self, voltage: ArrayLike) -> Array:
        """Charge from zero volts on [C]."""
        v, below = np.maximum(voltage, 0.0), np.minimum(voltage, 0.0)
        bent = (self.low - self.high) * self.knee * np.arctan(v / self.knee)
        return np.asarray(self.high * v + bent + self.low * below)

    def energy(self, voltage: ArrayLike) -> Array:
        """Stored energy from zero volts on [J]."""
        v, below = np.maximum(voltage, 0.0), np.minimum(voltage, 0.0)
        bent = (self.low - self.high) * self.knee**2 * np.log1p((v / self.knee) ** 2)
        return np.asarray(0.5 * (self.high * v**2 + bent + self.low * below**2))


@dataclass(frozen=True)
class CurveLaw:
    """Points of a datasheet's curve, monotone cubics between them over the logarithm of C.

    Parameters
    ----------
    points : sequence of (float, float)
        Voltage [V] and capacitance [F], at least two, voltages rising; beyond the ends the
        capacitance stays as it is there.

    Raises
    ------
    InputError
        Too few points.
    """

    points: Sequence[tuple[float, float]]

    def __post_init__(self) -> None:
        if len(self.points) < 2:
            raise InputError(
                "device.capacitance_curve", f"{len(self.points)} points", "at least two points"
            )

    def capacitance(self, voltage: ArrayLike) -> Array:
        """Capacitance at a voltage [F]."""
        inside = np.clip(voltage, self.points[0][0], self.points[-1][0])
        return np.asarray(np.exp(self._logarithm(inside)))

    def bends(self, voltage: float) -> Array:
        """First, second and third derivative of ln C at a voltage [1/V, 1/V^2, 1/V^3]."""
        if not self.points[0][0] < voltage < self.points[-1][0]:
            return np.zeros(3)
        return np.array([float(self._logarithm(voltage, order)) for order in (1, 2, 3)])

    @cached_property
    def _logarithm(self) -> PchipInterpolator:
        volts, farads = np.array(self.points).T
        return PchipInterpolator(volts, np.log(farads))

    def charge(self, voltage: ArrayLike) -> Array:
        """Charge from zero volts on [C]."""
        return self._integral(voltage, 0)

    def energy(self, voltage: ArrayLike) -> Array:
        """Stored energy from zero volts on [J]."""
        return self._integral(voltage, 1)

    @cached_property
    def _sums(self) -> tuple[Array, Array, Array]:
        """Grid of voltages up to the last point, and both integrals there."""
        last = max(self.points[-1][0], 1e-3)
        grid = last * np.linspace(0.0, 1.0, _GRID) ** 2
        farads = self.capacitance(grid)
        charge = cumulative_trapezoid(farads, x=grid, initial=0)
        return grid, charge, cumulative_trapezoid(grid * farads, x=grid, initial=0)

    def _integral(self, voltage: ArrayLike, power: int) -> Array:
        v = np.asarray(voltage, dtype=float)
        grid, *sums = self._sums
        inside = np.interp(np.clip(v, 0.0, grid[-1]), grid, sums[power])
        order = power + 1
        above = np.maximum(v, grid[-1]) ** order - grid[-1] ** order
        below = np.minimum(v, 0.0) ** order
        ends = self.points[-1][1] * above + float(self.capacitance(0.0)) * below
        return np.asarray(inside + ends / order)


def lowest_ratio(one: CurveLaw, other: CurveLaw) -> tuple[float, float]:
    """Voltage at which one curve is least times another, and that ratio [V], [1].

    Between neighbouring points of either curve the logarithm of the ratio is a cubic: its least
    value stands at a point or where its slope, a parabola, is zero. Nothing lies between.

    Examples
    --------
    >>> flat, falling = CurveLaw(((0, 3e-10), (9, 3e-10))), CurveLaw(((1, 2e-10), (8, 1e-10)))
    >>> volts, ratio = lowest_ratio(flat, falling)
    >>> volts, round(ratio, 9)
    (0.0, 1.5)
    """
    marks = sorted({float(volts) for law in (one, other) for volts, _ in law.points})
    found = list(marks)
    for low, high in itertools.pairwise(marks):
        middle, half = 0.5 * (low + high), 0.5 * (high - low)
        slope, bend, twist = (one.bends(middle) - other.bends(middle)) * [1.0, half, half**2]
        zeros = np.roots([0.5 * twist, bend, slope]).real
        found += (middle + half * zeros[np.abs(zeros) < 1.0]).tolist()
    volts = np.array(found)
    ratios = one.capacitance(volts) / other.capacitance(volts)
    least = int(np.argmin(ratios))
    return float(volts[least]), float(ratios[least])


@dataclass(frozen=True, slots=True)
class Difference:
    """One law less another, e.g. Coss - Crss."""

    whole: CapacitanceLaw
    part: CapacitanceLaw

    def capacitance(self, voltage: ArrayLike) -> Array:
        """Capacitance at a voltage [F]."""
        return np.asarray(self.whole.capacitance(voltage) - self.part.capacitance(voltage))

    def charge(self, voltage: ArrayLike) -> Array:
        """Charge from zero volts on [C]."""
        return np.asarray(self.whole.charge(voltage) - self.part.charge(voltage))

    def energy(self, voltage: ArrayLike) -> Array:
        """Stored energy from zero volts on [J]."""
        return np.asarray(self.whole.energy(voltage) - self.part.energy(voltage))


@dataclass(frozen=True, slots=True)
class Scaled:
    """One law times a factor."""

    law: CapacitanceLaw
    factor: float

    def capacitance(self, voltage: ArrayLike) -> Array:
        """Capacitance at a voltage [F]."""
        return np.asarray(self.factor * self.law.capacitance(voltage))

    def charge(self, voltage: ArrayLike) -> Array:
        """Charge from zero volts on [C]."""
        return np.asarray(self.factor * self.law.charge(voltage))

    def energy(self, voltage: ArrayLike) -> Array:
        """Stored energy from zero volts on [J]."""
        return np.asarray(self.factor * self.law.energy(voltage))
