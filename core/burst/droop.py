"""Bus voltage of a bulk capacitor fed through a source resistance while a burst draws current."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Generic

import numpy as np
from numpy.typing import ArrayLike

from burstwise.core.arrays import Array, OneOrMany


@dataclass(frozen=True, slots=True)
class BusVoltage(Generic[OneOrMany]):
    """Bus voltage in periodic steady state [V] and the currents that go with it [A].

    Attributes
    ----------
    start, end, mean : float or Array
        At the start and the end of the on-time, and its mean over the on-time.
    source_peak : float or Array
        Highest current from the source.
    source_square : float or Array
        Integral of the square of the source's current over one period [A^2 s]; over one second
        where it is drawn without pause.
    capacitor_rms : float or Array
        RMS current in the bulk capacitor at the interrupter's frequency.
    """

    start: OneOrMany
    end: OneOrMany
    mean: OneOrMany
    source_peak: OneOrMany
    source_square: OneOrMany
    capacitor_rms: OneOrMany


def bus_voltage(
    source_voltage: ArrayLike,
    load_current: ArrayLike,
    *,
    on_time: ArrayLike,
    off_time: ArrayLike,
    source_resistance: float,
    capacitance: float,
    series_resistance: float,
) -> BusVoltage[Array]:
    """Bus in periodic steady state under bursts of constant current.

    First-order circuit with ``tau = (Rs + ESR) C``. In the on-time the capacitor relaxes towards
    ``Vs - I Rs``, in the off-time towards Vs; the bus lies below the capacitor by the drop of its
    own current in the ESR.

    Parameters
    ----------
    source_voltage, load_current : array_like
        Open-circuit voltage [V] and current drawn in the on-time [A].
    on_time, off_time : array_like
        [s]; an off-time of 0 means drawn without pause.
    source_resistance, series_resistance : float
        Source resistance and ESR of the capacitor [ohm].
    capacitance : float
        Bulk capacitance [F].

    Examples
    --------
    >>> bus = bus_voltage(24.0, 20.0, on_time=5e-4, off_time=1.0, source_resistance=1e3,
    ...                   capacitance=4.7e-3, series_resistance=0.03)
    >>> round(float(bus.start - bus.end), 2)
    2.13
    """
    Vs, current, on, off = np.broadcast_arrays(
        *(
            np.asarray(x, dtype=np.float64)
            for x in (source_voltage, load_current, on_time, off_time)
        )
    )
    total = source_resistance + series_resistance
    tau = max(total * capacitance, 1e-15)
    steady = off <= 0
    charge = np.exp(-off / tau)
    sag = np.exp(-on / tau)
    # The capacitor relaxes towards `floor` in the on-time and towards Vs in the off-time.
    floor = Vs - current * source_resistance
    closed = np.maximum(1 - sag * charge, 1e-300)
    start = np.where(steady, floor, (Vs * (1 - charge) + floor * (1 - sag) * charge) / closed)
    end = floor + (start - floor) * sag
    share = np.where(on > 0, (1 - sag) * tau / np.maximum(on, 1e-30), 1.0)
    mean = floor + (start - floor) * share
    divider = source_resistance / total if total > 0 else 0.0
    bus_start, bus_end, bus_mean = (
        np.asarray(floor + (capacitor - floor) * divider) for capacitor in (start, end, mean)
    )
    stiff = source_resistance <= 0
    source_peak = current.copy() if stiff else (Vs - bus_end) / source_resistance
    # The capacitor gives `gives e^(-t/tau)` in the on-time and takes `takes e^(-t/tau)` after it.
    gives, takes = (np.zeros_like(Vs),) * 2
    if total > 0:
        gives, takes = (start - floor) / total, (Vs - end) / total
    held = -0.5 * tau * (gives**2 * np.expm1(-2 * on / tau) + takes**2 * np.expm1(-2 * off / tau))
    # The source gives the load's current less the capacitor's.
    square = current**2 * on + 2 * current * gives * tau * np.expm1(-on / tau) + held
    return BusVoltage(
        bus_start,
        bus_end,
        bus_mean,
        source_peak,
        np.where(steady, current**2, square),
        np.where(steady, 0.0, np.sqrt(held / np.maximum(on + off, 1e-30))),
    )
