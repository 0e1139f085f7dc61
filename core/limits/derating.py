"""Ratings that shrink with temperature, and the safe operating area."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike

from burstwise.core.arrays import Array
from burstwise.core.burst.foster import Foster
from burstwise.core.design.device import Device, SafePoint


def derated_current(
    continuous: float, *, case: ArrayLike, junction_limit: float, kept: float | None = None
) -> Array:
    """Continuous drain current at a case temperature [A].

    ``I(Tc) = I25 sqrt((T - Tc)/(Tj,max - 25))``: heat falls off linearly with case temperature and
    goes with the square of the current. Common practice, no source. T is the junction temperature
    that is kept, the printed maximum Tj,max if not given: the printed figures fix the thermal
    resistance, the wish only how far it is used.

    Examples
    --------
    >>> float(derated_current(4.0, case=100.0, junction_limit=150.0).round(3))
    2.53
    """
    return np.asarray(continuous * np.sqrt(_share(case, junction_limit, kept)))


def usable_current(device: Device) -> float:
    """Continuous drain current at 25 °C case that the power rating allows as well [A].

    ``I = min(I25, sqrt(P/Rhot))`` with the on-resistance at 150 °C: a full-pack is often printed
    with the current of the same chip in a case that cools better. Joule's law.

    Examples
    --------
    >>> full_pack = Device(continuous_current=13, pulsed_current=38, power_rating=33,
    ...                    on_resistance=0.29, hot_resistance_ratio=2.4)
    >>> round(usable_current(full_pack), 1)
    6.9
    """
    hot = device.on_resistance * device.hot_resistance_ratio
    return min(device.continuous_current, float(np.sqrt(device.power_rating / hot)))


def derated_power(
    rating: float, *, case: ArrayLike, junction_limit: float, kept: float | None = None
) -> Array:
    """Allowed dissipation at a case temperature, linear from 25 °C case to the junction limit [W].

    With a junction temperature that is to be kept below the printed maximum the line keeps its
    slope, the thermal resistance, and ends there.

    Examples
    --------
    >>> float(derated_power(35.0, case=87.5, junction_limit=150.0))
    17.5
    >>> float(derated_power(35.0, case=60.0, junction_limit=150.0, kept=110.0))
    14.0
    """
    return np.asarray(rating * _share(case, junction_limit, kept))


def _share(case: ArrayLike, junction_limit: float, kept: float | None) -> Array:
    hottest = junction_limit if kept is None else min(kept, junction_limit)
    left = (hottest - np.asarray(case, dtype=np.float64)) / (junction_limit - 25.0)
    return np.asarray(np.clip(left, 0.0, 1.0))


def junction_network(device: Device) -> Foster:
    """Foster network of a device from junction to case."""
    parts = device.thermal_network
    return Foster(
        np.array([part.resistance for part in parts]),
        np.array([part.time_constant for part in parts]),
    )


def safe_area_current(points: Sequence[SafePoint], voltage: ArrayLike, length: ArrayLike) -> Array:
    """Current that a datasheet's safe operating area allows for one pulse [A], 25 °C case.

    Straight lines on double logarithmic paper, along the voltage within each pulse length and then
    between the two nearest pulse lengths; held at the ends of the given points.

    Parameters
    ----------
    points : sequence of SafePoint
        At least one.
    voltage, length : array_like
        Drain-source voltage [V] and pulse length [s], broadcast together.

    Examples
    --------
    >>> points = [SafePoint(pulse_length=t, voltage=v, current=i)
    ...           for t, v, i in ((1e-3, 10, 10), (1e-3, 100, 1), (1e-2, 10, 5), (1e-2, 100, 0.5))]
    >>> safe_area_current(points, [10.0, 31.6228, 100.0], 1e-3).round(3)
    array([10.   ,  3.162,  1.   ])
    >>> float(safe_area_current(points, 100.0, 3.16228e-3).round(3))
    0.707
    """
    V, t = np.broadcast_arrays(
        np.asarray(voltage, dtype=np.float64), np.asarray(length, dtype=np.float64)
    )
    lengths = sorted({point.pulse_length for point in points})
    log_v = np.log(np.maximum(V, 1e-3))
    rows = []
    for each in lengths:
        line = sorted((p.voltage, p.current) for p in points if p.pulse_length == each)
        volts, amps = np.log(np.array(line)).T
        rows.append(np.interp(log_v, volts, amps))
    if len(lengths) == 1:
        return np.asarray(np.exp(rows[0]))
    marks = np.log(lengths)
    at = np.clip(np.log(np.maximum(t, 1e-12)), marks[0], marks[-1])
    low = np.clip(np.searchsorted(marks, at, side="right") - 1, 0, len(marks) - 2)
    share = (at - marks[low]) / (marks[low + 1] - marks[low])
    table = np.stack(rows)
    near = np.take_along_axis(table, low[None], axis=0)[0]
    far = np.take_along_axis(table, low[None] + 1, axis=0)[0]
    return np.asarray(np.exp(near + (far - near) * share))
