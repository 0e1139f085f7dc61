"""A gate that stays on: the bulk capacitor discharges through primary and transistor.

Without oscillation nothing turns an enabled transistor off. The current rises with the primary's
inductance, up to what the resistances or the transistor's saturation leave, and ends with the
capacitor, with the burst, or with a trip.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np

from burstwise.core.arrays import Array

_POINTS: Final = 400
"""Times in each stretch; between them straight lines."""
_FIRST: Final = 1e-9


@dataclass(frozen=True, slots=True)
class HardOn:
    """Circuit of a gate that stays on; SI units.

    Attributes
    ----------
    voltage : float
        Bulk capacitor before [V].
    capacitance, inductance : float
        Bulk capacitor [F], primary with its leads [H].
    capacitor_resistance : float
        Equivalent series resistance of the capacitor [ohm].
    on_resistance : float
        Of the transistor [ohm].
    resistance : float
        All else in the loop: primary and shunt [ohm].
    saturation : float
        Current that the channel lets through at this gate voltage [A]; inf if not known.
    fed : float
        Current that the supply adds, no more than resistances and its limit let through [A].
    """

    voltage: float
    capacitance: float
    inductance: float
    capacitor_resistance: float
    on_resistance: float
    resistance: float
    saturation: float
    fed: float


@dataclass(frozen=True, slots=True)
class Discharge:
    """Course of the discharge.

    Attributes
    ----------
    time, current, heat : Array (points,)
        Time [s], drain current [A], heat in the transistor [W].
    """

    time: Array
    current: Array
    heat: Array

    @property
    def peak(self) -> float:
        """Highest current [A]."""
        return float(np.max(self.current))

    @property
    def last(self) -> float:
        """Current at the end [A]."""
        return float(self.current[-1])

    @property
    def end(self) -> float:
        """When it ends [s]."""
        return float(self.time[-1])

    @property
    def energy(self) -> float:
        """Heat in the transistor up to the end [J]."""
        return float(np.trapezoid(self.heat, self.time))

    @property
    def let_through(self) -> float:
        """Integral of the square of the current [A^2 s]."""
        return float(np.trapezoid(self.current**2, self.time))

    def until(self, time: float) -> Discharge:
        """The same up to a time [s]."""
        if time >= self.end:
            return self
        kept = self.time < time
        return Discharge(
            np.append(self.time[kept], time),
            np.append(self.current[kept], np.interp(time, self.time, self.current)),
            np.append(self.heat[kept], np.interp(time, self.time, self.heat)),
        )

    def reaches(self, current: float) -> float:
        """When a current is first reached [s]; inf if never."""
        above = np.flatnonzero(self.current >= current)
        if not len(above):
            return math.inf
        place = int(above[0])
        if place == 0:
            return float(self.time[0])
        pair = slice(place - 1, place + 1)
        return float(np.interp(current, self.current[pair], self.time[pair]))


def discharge(circuit: HardOn, longest: float) -> Discharge:
    """Discharge of the bulk capacitor through a transistor that stays on.

    Up to saturation ``L i' = v - R i`` and ``C v' = I_s - i``, solved exactly; in saturation the
    current stands still while the capacitor falls with it, until the channel is a resistance again.

    Parameters
    ----------
    circuit : HardOn
        What is in the loop.
    longest : float
        Time after which the gate is off [s].

    Notes
    -----
    Heating of the channel is left out: it makes the current smaller. The
    supply is a constant current, which is right once the capacitor has sagged.

    Examples
    --------
    A capacitor so large that only inductance and resistance count reaches V/R:

    >>> stiff = HardOn(36.0, 10.0, 4e-6, 0.0, 0.3, 0.1, float("inf"), 0.0)
    >>> round(discharge(stiff, 1e-3).peak, 2)
    90.0
    """
    first = _linear(circuit, 0.0, circuit.voltage, longest)
    at = first.reaches(circuit.saturation)
    if at >= longest:
        return first
    volts = _capacitor(circuit, first, at)
    held, left = _saturated(circuit, volts, longest - at)
    parts = [first.until(at), _later(held, at)]
    rest = longest - at - held.end
    if rest > 0.0:  # the sum of the two may be short of `longest` by its rounding alone
        last = _linear(circuit, circuit.saturation, left, rest)
        parts.append(_later(last, at + held.end))
    return Discharge(
        *(np.concatenate([getattr(part, name) for part in parts]) for name in _COURSES)
    )


_COURSES: Final = ("time", "current", "heat")


def _linear(circuit: HardOn, current: float, volts: float, longest: float) -> Discharge:
    """Course from a current and a capacitor voltage on while the channel is a resistance."""
    rest = circuit.resistance + circuit.on_resistance
    whole = rest + circuit.capacitor_resistance
    pull = np.array(
        [
            [-whole / circuit.inductance, 1.0 / circuit.inductance],
            [-1.0 / circuit.capacitance, 0.0],
        ]
    )
    settled = np.array([circuit.fed, rest * circuit.fed])
    rates, ways = np.linalg.eig(pull.astype(np.complex128))
    begun = np.linalg.solve(ways, np.array([current, volts]) - settled)
    time = np.concatenate([[0.0], np.geomspace(min(_FIRST, 0.1 * longest), longest, _POINTS)])
    course = (ways[0] * begun * np.exp(np.outer(time, rates))).sum(axis=1).real + settled[0]
    # The body diode is left out: after the first swing nothing large is left.
    course = np.maximum(course, 0.0)
    return Discharge(time, course, course**2 * circuit.on_resistance)


def _capacitor(circuit: HardOn, before: Discharge, time: float) -> float:
    """Capacitor voltage after a stretch [V], from the charge that it gave."""
    part = before.until(time)
    gone = float(np.trapezoid(part.current, part.time)) - circuit.fed * part.end
    return circuit.voltage - max(gone, 0.0) / circuit.capacitance


def _saturated(circuit: HardOn, volts: float, longest: float) -> tuple[Discharge, float]:
    """Course at the saturation current, and the capacitor's voltage after it [V]."""
    current = circuit.saturation
    net = max(current - circuit.fed, 0.0)  # a supply that gives more holds the capacitor
    fall = net / circuit.capacitance
    drop = circuit.capacitor_resistance * net + circuit.resistance * current
    across = volts - drop
    least = circuit.on_resistance * current
    lasts = (across - least) / fall if fall > 0.0 else math.inf
    end = max(min(lasts, longest), 1e-3 * _FIRST)
    time = np.linspace(0.0, end, _POINTS)
    heat = current * np.maximum(across - fall * time, least)
    return Discharge(time, np.full_like(time, current), heat), volts - fall * end


def _later(part: Discharge, start: float) -> Discharge:
    return Discharge(part.time + start, part.current, part.heat)
