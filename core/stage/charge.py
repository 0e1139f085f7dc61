"""Charge of a capacitance that falls with voltage, as straight pieces."""

from __future__ import annotations

import itertools
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from burstwise.core.errors import InputError


@dataclass(frozen=True, slots=True)
class ChargeSegments:
    """Piecewise-linear charge: on each segment ``q = C_i v + q_i``, continuous, zero at 0 V.

    Parameters
    ----------
    knots : tuple of float
        Voltages at which one segment ends and the next begins [V], rising; one fewer than the
        capacitances.
    farads : tuple of float
        Capacitance of each segment [F], not below zero, from the lowest voltage to the highest.

    Raises
    ------
    InputError
        Knots that do not rise, a capacitance below zero, or counts that do not fit.

    Examples
    --------
    >>> law = ChargeSegments(knots=(20.0,), farads=(1e-9, 1e-10))
    >>> round(float(law.charge(30.0) * 1e9), 9), round(float(law.energy(30.0) * 1e9), 9)
    (21.0, 225.0)
    """

    knots: tuple[float, ...]
    farads: tuple[float, ...]

    def __post_init__(self) -> None:
        if len(self.farads) != len(self.knots) + 1:
            raise InputError("farads", len(self.farads), f"{len(self.knots) + 1} values")
        if any(a >= b for a, b in itertools.pairwise(self.knots)):
            raise InputError("knots", self.knots, "rising")
        if min(self.farads) < 0.0:
            raise InputError("farads", min(self.farads), "zero or above")

    @classmethod
    def constant(cls, farad: float) -> ChargeSegments:
        """One capacitance at every voltage [F]."""
        return cls((), (farad,))

    def scaled(self, factor: float) -> ChargeSegments:
        """Same law with every capacitance multiplied [1]."""
        return ChargeSegments(self.knots, tuple(factor * farad for farad in self.farads))

    def segment(self, voltage: float) -> int:
        """Number of the segment that holds at a voltage; at a knot the one below it."""
        return int(np.searchsorted(self.knots, voltage))

    def surplus(self, segment: int) -> float:
        """What a voltage of a segment stores beyond ``C v^2 / 2`` of that segment [J].

        The energy of the segments between zero volts and it, less what its own capacitance would
        hold up to where it begins.
        """
        at_zero = self.segment(0.0)
        if segment == at_zero:
            return 0.0
        low, high = min(segment, at_zero), max(segment, at_zero)
        total = 0.0
        # Continuity at each knot between them.
        for place in range(low, high):
            step = 0.5 * (self.farads[place] - self.farads[place + 1]) * self.knots[place] ** 2
            total += step
        return total if segment > at_zero else -total

    def capacitance(self, voltage: ArrayLike) -> NDArray[np.float64]:
        """Capacitance at a voltage [F]; at a knot that of the segment below it."""
        found: NDArray[np.float64] = np.asarray(self.farads)[np.searchsorted(self.knots, voltage)]
        return found

    def charge(self, voltage: ArrayLike) -> NDArray[np.float64]:
        """Charge at a voltage [C]."""
        return self._integral(voltage, 0)

    def energy(self, voltage: ArrayLike) -> NDArray[np.float64]:
        """Stored energy at a voltage, the integral of v dq from 0 V [J]."""
        return self._integral(voltage, 1)

    def _integral(self, voltage: ArrayLike, power: int) -> NDArray[np.float64]:
        """Integral of C v^power dv from 0 V."""
        v = np.asarray(voltage, dtype=float)
        edges = (-np.inf, *self.knots, np.inf)
        total = np.zeros_like(v)
        for farad, low, high in zip(self.farads, edges[:-1], edges[1:], strict=True):
            upper, lower = np.clip(v, low, high), np.clip(0.0, low, high)
            total += farad * (upper ** (power + 1) - lower ** (power + 1)) / (power + 1)
        return total
