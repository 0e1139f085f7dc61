"""Heat-sink warm-up over minutes, and the course of one interrupter period."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.integrate import solve_ivp

from burstwise.core.arrays import Array
from burstwise.core.burst.operation import HOTTEST, Operation, ThermalPath, operation
from burstwise.core.burst.table import CarrierTable
from burstwise.core.design.device import Device
from burstwise.core.design.supply import Cooling, Supply

_GRID = 14
_WARM_UP_POINTS = 160
COURSE_POINTS = 241
"""Points in each of on-time and off-time of one interrupter period."""


@dataclass(frozen=True, slots=True)
class WarmUp:
    """Heat sink and junction from a cold start of the whole assembly.

    Attributes
    ----------
    time : Array
        Time since power-up [s].
    heat_sink, junction_peak : Array
        [C]; the junction's is inf from where it runs away.
    """

    time: Array
    heat_sink: Array
    junction_peak: Array


def warm_up(
    table: CarrierTable,
    device: Device,
    supply: Supply,
    cooling: Cooling,
    path: ThermalPath,
    *,
    duty: float,
    frequency: float,
) -> WarmUp:
    """Heat sink's temperature after power-up.

    ``C dT/dt = P(T) - (T - ambient)/R`` with the device's heat P taken at each sink temperature
    from the periodic steady state, which settles far sooner than the sink.

    Parameters
    ----------
    duty, frequency : float
        Duty cycle [1], 1 for continuous, and interrupter frequency [Hz].
    """
    hottest = max(cooling.sink_limit, device.junction_limit) + 50.0
    sinks = np.linspace(cooling.ambient, min(hottest, HOTTEST), _GRID)
    held = operation(
        table,
        device,
        supply,
        path,
        duty=np.full(_GRID, duty),
        frequency=frequency,
        sink_temperature=sinks,
    )
    time_constant = cooling.sink_resistance * cooling.sink_heat_capacity

    def rate(_: float, sink: Array) -> Array:
        heat = np.interp(sink, sinks, held.device_power)
        leak = (sink - cooling.ambient) / cooling.sink_resistance
        return np.asarray((heat - leak) / cooling.sink_heat_capacity)

    time = np.concatenate([[0.0], np.geomspace(1e-3, 6.0, _WARM_UP_POINTS - 1)]) * time_constant
    course = solve_ivp(rate, (0.0, time[-1]), [cooling.ambient], t_eval=time, rtol=1e-7)
    sink = course.y[0]
    stable = ~held.runaway
    junction = np.full_like(sink, np.inf)
    if stable.any():
        last = sinks[stable][-1]
        inside = sink <= last
        peaks = np.interp(sink, sinks[stable], held.junction_peak[stable])
        junction = np.where(inside, peaks, np.inf)
    return WarmUp(course.t, sink, junction)


@dataclass(frozen=True, slots=True)
class PeriodCourse:
    """One interrupter period, from the start of the on-time.

    Attributes
    ----------
    time : Array
        [s].
    supply_current, bus_voltage, junction : Array
        Current from the bus [A], bus voltage [V], junction temperature [C].
    """

    time: Array
    supply_current: Array
    bus_voltage: Array
    junction: Array


def period_course(
    table: CarrierTable,
    supply: Supply,
    path: ThermalPath,
    point: Operation[float],
    *,
    frequency: float,
    points: int = COURSE_POINTS,
) -> PeriodCourse:
    """Course of supply current, bus voltage and junction over one interrupter period.

    Parameters
    ----------
    point : Operation
        One operating point.
    frequency : float
        Interrupter frequency [Hz].
    points : int
        Points in each of the on-time and the off-time.
    """
    period = 1.0 / frequency
    on = min(point.on_time, period)
    early = np.geomspace(1e-4, 1.0, points - 1) * on
    time = np.concatenate([[0.0], early, on + np.linspace(0, period - on, points)[1:]])
    return PeriodCourse(
        time,
        _supply_current(table, point, time, on),
        _bus(supply, point, time, on, period),
        _junction(path, point, time, on, period),
    )


def _supply_current(table: CarrierTable, point: Operation[float], time: Array, on: float) -> Array:
    """Slope of the supplied energy over the voltage; zero in the off-time."""
    edges = np.concatenate([[0.0], np.minimum(time, on)])
    part = table.at([point.voltage]).repeated(len(edges))
    moments = np.broadcast_to(edges[:, None], (len(edges), len(table.resistances)))
    energy = table.along(part.energies(moments)[..., 0], np.full(len(edges), point.on_resistance))
    width = np.diff(edges)
    slope = np.divide(np.diff(energy), width, out=np.zeros_like(width), where=width > 0)
    current = slope / point.voltage
    current[0] = 0.0
    return np.asarray(np.where(time <= on, current, 0.0))


def _bus(supply: Supply, point: Operation[float], time: Array, on: float, period: float) -> Array:
    total = supply.source_resistance + supply.bus_esr
    tau = max(total * supply.bus_capacitance, 1e-15)
    start, end = point.bus.start, point.bus.end
    sag = 1.0 - np.exp(-on / tau)
    floor = start - (start - end) / sag if sag > 0 else start
    falling = floor + (start - floor) * np.exp(-np.minimum(time, on) / tau)
    if on >= period:
        return np.asarray(falling)
    divider = supply.source_resistance / total if total > 0 else 0.0
    held = supply.voltage
    capacitor = floor + (end - floor) / divider if divider > 0 else held
    # With the load gone the ESR carries the recharging current instead.
    jump = capacitor + (held - capacitor) * (supply.bus_esr / total if total > 0 else 1.0)
    rising = held + (jump - held) * np.exp(-np.maximum(time - on, 0.0) / tau)
    return np.asarray(np.where(time <= on, falling, rising))


def _junction(
    path: ThermalPath, point: Operation[float], time: Array, on: float, period: float
) -> Array:
    """Sum of the elements, each between its own valley and peak."""
    R, tau = path.network.resistance, path.network.time_constant
    mean = point.device_power
    if on >= period or on <= 0.0:
        return np.full_like(time, path.ambient + mean * R.sum())
    heat = mean * period / on
    peak = R * -np.expm1(-on / tau) / -np.expm1(-period / tau)
    valley = peak * np.exp(-(period - on) / tau)
    t = time[:, None]
    rising = R + (valley - R) * np.exp(-np.minimum(t, on) / tau)
    falling = peak * np.exp(-np.maximum(t - on, 0.0) / tau)
    return np.asarray(path.ambient + heat * np.where(t <= on, rising, falling).sum(axis=1))
