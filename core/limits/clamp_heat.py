"""What the two diodes of a clamp for an alternating current carry: heat by voltage, and pulses."""

from __future__ import annotations

import math
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class ClampHeat:
    """Mean heat of the positive and of the negative diode [W]."""

    high: float
    low: float


def clamp_heat(
    heat: float, *, current: float, high: float, low: float, resistance: float
) -> ClampHeat:
    """Heat of a clamp, shared out between its two diodes [W].

    Each diode carries one half of a sine current: ``P = V I/pi + R I^2/4``. As the same charge
    passes both, the one with the higher voltage takes the larger part.

    Parameters
    ----------
    heat : float
        Mean heat of both [W].
    current : float
        Peak of the sine [A].
    high, low : float
        Clamp voltages [V], both positive numbers.
    resistance : float
        Slope resistance of each [ohm].

    Notes
    -----
    Mean and mean square of half a sine are those of any handbook of rectifiers, checked by
    quadrature in the tests. Capacitances beside the clamp are left out.

    Examples
    --------
    >>> parts = clamp_heat(1.0, current=0.3, high=5.6, low=0.6, resistance=0.0)
    >>> round(parts.high, 3)
    0.903
    """
    each = [volts * current / math.pi + resistance * current**2 / 4 for volts in (high, low)]
    total = sum(each)
    if total <= 0.0:
        return ClampHeat(0.5 * heat, 0.5 * heat)
    return ClampHeat(heat * each[0] / total, heat * each[1] / total)


def base_current(
    capacitance: float, voltage: float, *, frequency: float, ratio: float = 1.0
) -> float:
    """Peak current at the foot of the secondary, ``2 pi f C V`` times the ratio of the winding [A].

    Parameters
    ----------
    capacitance : float
        Top capacitance of the lumped coil [F].
    voltage : float
        Peak top voltage [V].
    frequency : float
        Carrier [Hz].
    ratio : float
        Current at the winding's foot over the lumped current [1].

    Examples
    --------
    >>> round(base_current(4e-12, 13e3, frequency=940e3), 3)
    0.307
    """
    return 2.0 * math.pi * frequency * capacitance * voltage * ratio
