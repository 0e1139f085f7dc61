"""What the instruments show at a stage of the first power-up, for any run of its circuit."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np

from burstwise.core.burst.warmup import warm_up
from burstwise.core.evaluate.results import Results
from burstwise.core.stage.carrier import Carrier

SEEN: Final = 0.03
"""Part of the input power in the discharge above which it is surely seen and heard."""
NEAR_BREAKOUT: Final = 0.9
"""Top voltage over that of breakout below which there is surely none; both are common practice,
no source."""
MINUTES: Final = (1, 10)
"""Least and most minutes after which the heat sink is read."""


@dataclass(frozen=True, slots=True)
class StagePoint:
    """Where a stage of the plan runs.

    Attributes
    ----------
    bus_voltage : float
        [V].
    on_time, period : float
        Of the interrupter [s]; both infinite without one.
    steady_current : float
        What else the main supply feeds, such as the bleed resistor [A].
    current_limit : float
        Limit to which the supply is set [A].
    sink_resistance, sink_time_constant : float
        Heat sink to air [K/W], [s].
    minutes : int
        Time from a cold start at which the heat sink is read [min].
    """

    bus_voltage: float
    on_time: float
    period: float
    steady_current: float
    current_limit: float
    sink_resistance: float
    sink_time_constant: float
    minutes: int


def stage_point(at: Results, *, steady_current: float, current_limit: float) -> StagePoint:
    """Point of an evaluated stage.

    Parameters
    ----------
    at : Results
        Design evaluated at the stage's supply and duty.
    steady_current, current_limit : float
        As in `StagePoint` [A].
    """
    cooling = at.design.cooling
    on = at.operation.on_time
    constant = cooling.sink_resistance * cooling.sink_heat_capacity
    return StagePoint(
        bus_voltage=at.operation.voltage,
        on_time=on,
        period=math.inf if math.isinf(on) else 1.0 / at.frequency,
        steady_current=steady_current,
        current_limit=current_limit,
        sink_resistance=cooling.sink_resistance,
        sink_time_constant=constant,
        minutes=int(np.clip(round(0.5 * constant / 60.0), *MINUTES)),
    )


def sound_sink_rise(at: Results, point: StagePoint) -> float:
    """Rise of the heat sink at the stage's minute, from the computed warm-up [K]."""
    course = warm_up(
        at.table,
        at.design.device,
        at.design.supply,
        at.design.cooling,
        at.path,
        duty=at.duty,
        frequency=at.frequency,
    )
    there = float(np.interp(60.0 * point.minutes, course.time, course.heat_sink))
    return there - at.design.cooling.ambient


def readings_of(run: Carrier, point: StagePoint) -> dict[str, float]:
    """Readings by name; what cannot be said is left out.

    Parameters
    ----------
    run : Carrier
        Run of the stage's circuit, sound or not, at the point's bus voltage.
    point : StagePoint
        Where it runs.

    Notes
    -----
    A burst's energy is that of the ring-up until its end and of the ring-down behind it, without
    what the burst before left in the coil. Where the stage asks for more than the supply's limit,
    the bus collapses and only the limit itself, and that nothing oscillates, can be read.
    """
    power, heat = _mean_powers(run, point)
    current = power / point.bus_voltage + point.steady_current
    values = {
        "supply_current": min(current, point.current_limit),
        "carrier_frequency": run.frequency if run.oscillates else 0.0,
    }
    seen = discharge_seen(run)
    if seen is not None:
        values["discharge"] = float(seen)
    if current > point.current_limit:
        return values
    values["drain_peak"] = run.drain_voltage_peak
    values["shunt_peak"] = run.circuit.shunt_resistance * run.drain_current_peak
    values["heat_sink_rise"] = sink_rise(heat, point)
    if math.isfinite(point.on_time):
        values["drain_start"] = run.drain_voltage_worst
        values["ring_down"] = run.ring_down.time_constant if run.oscillates else 0.0
    return values


def sink_rise(heat: float, point: StagePoint) -> float:
    """Rise of the heat sink under a steady heat, ``P R (1 - exp(-t/(R C)))`` [K].

    Parameters
    ----------
    heat : float
        Mean heat in the device [W].
    point : StagePoint
        Heat sink and time.
    """
    part = 60.0 * point.minutes / point.sink_time_constant
    return heat * point.sink_resistance * -math.expm1(-part)


def discharge_seen(run: Carrier) -> bool | None:
    """Whether a discharge is to be seen and heard; None where it may or may not be."""
    if run.losses.get("breakout", 0.0) > SEEN * max(run.input_power, 1e-9):
        return True
    if run.top_voltage_peak < NEAR_BREAKOUT * run.circuit.coil.breakout_voltage:
        return False
    return None


def _mean_powers(run: Carrier, point: StagePoint) -> tuple[float, float]:
    """Mean power from the supply and mean heat in the device [W]."""
    if math.isinf(point.on_time):
        return run.input_power, run.device_power
    on, behind = point.on_time, run.ring_down
    if not run.oscillates:
        share = on / point.period
        return run.input_power * share, run.device_power * share
    marks = run.ring_up
    beyond = max(on - float(marks.time[-1]), 0.0)
    supplied = float(np.interp(on, marks.time, marks.supplied)) + beyond * run.input_power
    heat = float(np.interp(on, marks.time, marks.device_heat)) + beyond * run.device_power
    return (supplied + behind.supplied) / point.period, (heat + behind.device_heat) / point.period
