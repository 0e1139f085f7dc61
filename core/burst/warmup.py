"""Heat-sink warm-up over minutes, and the course of one interrupter period."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike
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
    time : Array (points,)
        Time since power-up [s].
    heat_sink, junction_peak : Array (points,) or (points, builds)
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
    path: ThermalPath[Any],
    *,
    duty: ArrayLike,
    frequency: float,
    source_voltage: ArrayLike | None = None,
) -> WarmUp:
    """Heat sink's temperature after power-up.

    ``C dT/dt = P(T) - (T - ambient)/R`` with the device's heat P taken at each sink temperature
    from the periodic steady state, which settles far sooner than the sink.

    Parameters
    ----------
    duty, source_voltage : array_like
        Duty cycle [1], 1 for continuous, and supply voltage [V], the supply's by default; one, or
        an entry per build as in `path`.
    frequency : float
        Interrupter frequency [Hz].
    """
    hottest = min(max(cooling.sink_limit, device.junction_limit) + 50.0, HOTTEST)
    sinks = np.linspace(path.ambient, hottest, _GRID)
    held = operation(
        table,
        device,
        supply,
        path,
        duty=np.broadcast_to(duty, sinks.shape),
        frequency=frequency,
        source_voltage=source_voltage,
        sink_temperature=sinks,
    )
    one, builds = sinks[1] - sinks[0], sinks.shape[1:]

    def between(values: Array, sink: Array) -> Array:
        """Straight lines between the held sinks, for each build (the last axis) its own."""
        place = np.clip((sink - path.ambient) / one, 0.0, _GRID - 1)
        low = np.minimum(place.astype(int), _GRID - 2)
        start, end = (np.take_along_axis(values, at, axis=0) for at in (low, low + 1))
        return np.asarray(start + (end - start) * (place - low))

    def rate(_: float, now: Array) -> Array:
        sink = now.reshape(1, *builds)
        leak = (sink - path.ambient) / path.sink
        return np.ravel((between(held.device_power, sink) - leak) / cooling.sink_heat_capacity)

    time_constant = cooling.sink_resistance * cooling.sink_heat_capacity
    time = np.concatenate([[0.0], np.geomspace(1e-3, 6.0, _WARM_UP_POINTS - 1)]) * time_constant
    start = np.ravel(path.ambient)
    course = solve_ivp(rate, (0.0, time[-1]), start, t_eval=time, rtol=1e-7)
    sink = course.y.T.reshape(-1, *builds)
    stable = (between(held.runaway.astype(np.float64), sink) == 0.0) & (sink <= hottest)
    peaks = between(np.where(held.runaway, HOTTEST, held.junction_peak), sink)
    return WarmUp(time, sink, np.where(stable, peaks, np.inf))


@dataclass(frozen=True, slots=True)
class PeriodCourse:
    """One interrupter period, from the start of the on-time.

    Attributes
    ----------
    time : Array (points,) or (points, builds)
        [s].
    supply_current, bus_voltage, junction : Array, as the time
        Current from the bus [A], bus voltage [V], junction temperature [C].
    """

    time: Array
    supply_current: Array
    bus_voltage: Array
    junction: Array


def period_course(
    table: CarrierTable,
    supply: Supply,
    path: ThermalPath[Any],
    point: Operation[Any],
    *,
    frequency: float,
    points: int = COURSE_POINTS,
    source_voltage: ArrayLike | None = None,
) -> PeriodCourse:
    """Course of supply current, bus voltage and junction over one interrupter period.

    Parameters
    ----------
    point : Operation
        One operating point, or an entry per build as in `path`.
    frequency : float
        Interrupter frequency [Hz].
    points : int
        Points in each of the on-time and the off-time.
    source_voltage : array_like
        Supply voltage [V], the supply's by default.
    """
    period = 1.0 / frequency
    on = np.minimum(point.on_time, period)
    early = np.multiply.outer(np.geomspace(1e-4, 1.0, points - 1), on)
    late = on + np.multiply.outer(np.linspace(0.0, 1.0, points)[1:], period - on)
    time = np.concatenate([np.zeros_like(early[:1]), early, late])
    held = supply.voltage if source_voltage is None else np.asarray(source_voltage)
    return PeriodCourse(
        time,
        _supply_current(table, point, time, on),
        _bus(supply, point, time, on, held, period),
        _junction(path, point, time, on, period),
    )


def _supply_current(table: CarrierTable, point: Operation[Any], time: Array, on: Array) -> Array:
    """Slope of the supplied energy over the voltage; zero in the off-time."""
    edges = np.concatenate([np.zeros_like(time[:1]), np.minimum(time, on)])
    part = table.at(point.voltage).repeated(len(edges))
    moments = np.broadcast_to(edges[..., None], (*edges.shape, len(table.resistances)))
    energy = part.energies(moments)[..., 0]
    energy = table.along(energy, np.broadcast_to(point.on_resistance, edges.shape))
    width = np.diff(edges, axis=0)
    slope = np.divide(np.diff(energy, axis=0), width, out=np.zeros_like(width), where=width > 0)
    current = slope / point.voltage
    current[0] = 0.0
    return np.asarray(np.where(time <= on, current, 0.0))


def _bus(
    supply: Supply, point: Operation[Any], time: Array, on: Array, held: Any, period: float
) -> Array:
    total = supply.source_resistance + supply.bus_esr
    tau = max(total * supply.bus_capacitance, 1e-15)
    start, end = point.bus.start, point.bus.end
    sag = -np.expm1(-on / tau)
    floor = start - (start - end) / np.where(sag > 0, sag, np.inf)
    falling = floor + (start - floor) * np.exp(-np.minimum(time, on) / tau)
    divider = supply.source_resistance / total if total > 0 else 0.0
    capacitor = floor + (end - floor) / divider if divider > 0 else held
    # With the load gone the ESR carries the recharging current instead.
    jump = capacitor + (held - capacitor) * (supply.bus_esr / total if total > 0 else 1.0)
    rising = held + (jump - held) * np.exp(-np.maximum(time - on, 0.0) / tau)
    return np.asarray(np.where((time <= on) | (on >= period), falling, rising))


def _junction(
    path: ThermalPath[Any], point: Operation[Any], time: Array, on: Array, period: float
) -> Array:
    """Sum of the elements, each between its own valley and peak."""
    steady = (on >= period) | (on <= 0.0)
    heat = point.device_power * np.where(steady, 1.0, period / np.where(on > 0.0, on, period))
    rise = np.zeros_like(time)
    # One element after the other: all of many builds at once would fill the memory.
    for R, tau in zip(path.network.resistance.T, path.network.time_constant.T, strict=True):
        peak = R * -np.expm1(-on / tau) / -np.expm1(-period / tau)
        valley = peak * np.exp(-(period - on) / tau)
        rising = R + (valley - R) * np.exp(-np.minimum(time, on) / tau)
        falling = peak * np.exp(-np.maximum(time - on, 0.0) / tau)
        rise += np.where(steady, R, np.where(time <= on, rising, falling))
    return np.asarray(path.ambient + heat * rise)
