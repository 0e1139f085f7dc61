"""Waveforms of the timer for plotting, and what a scope will show."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from burstwise.core.arrays import Array
from burstwise.core.errors import InputError
from burstwise.core.interrupter.build import Circuit, Cycle, discharge_switch
from burstwise.core.interrupter.circuits import circuit_named
from burstwise.core.interrupter.sets import Band, TimerSet
from burstwise.core.interrupter.tolerance import corner_bands, spreads_of

_MOST_CYCLES: Final = 400
"""Cycles of a trigger that are drawn one by one; a plot has no room for more."""


@dataclass(frozen=True, slots=True)
class Waveforms:
    """Lines against time from the start of an on-time.

    Parameters
    ----------
    time, capacitor : array
        Timing capacitor: time [s] and voltage [V].
    output_time, output : array
        Corners of the last timer's output [s], [V].
    enable : array
        1 where the stage is on, at `output_time`.
    pulse_time, pulse_capacitor : array
        Capacitor of the second timer [s], [V]; empty with one timer.
    cycle : Cycle
        On-time and off-time at the plotted travel.
    """

    time: Array
    capacitor: Array
    output_time: Array
    output: Array
    enable: Array
    pulse_time: Array
    pulse_capacitor: Array
    cycle: Cycle


def waveforms(
    chosen: TimerSet,
    *,
    travel: float = 0.5,
    periods: int = 2,
    points: int = 60,
    inversions: int = 0,
) -> Waveforms:
    """Capacitor voltages, output and enable of the nominal build.

    Parameters
    ----------
    chosen : TimerSet
        Parts and timer.
    travel : float
        Travel of the duty knob, 0 to 1.
    periods : int
        Periods to draw.
    points : int
        Points per half-cycle; each lies on the exact curve, because the time at which the
        capacitor passes a voltage has a closed form.
    inversions : int
        Inversions from the timer's output to the enable of the stage.

    Notes
    -----
    A trigger that goes round hundreds of times within the pulse that it starts is drawn as the band
    between its levels.

    Raises
    ------
    InputError
        Travel outside 0 to 1, or a set that does not oscillate.
    """
    if not 0 <= travel <= 1:
        raise InputError("travel", travel, "0 to 1")
    circuit, build = circuit_named(chosen.circuit), chosen.build()
    cycle = circuit.cycle(build, travel)
    period = float(cycle.period)
    if not np.isfinite(period):
        raise InputError("interrupter.parts", chosen.circuit, "a set that oscillates")
    time, capacitor = _timing_capacitor(circuit, build, travel, points)
    most = _MOST_CYCLES / periods
    if period > most * float(time[-1]):  # their band, which is all that could be seen of them
        time = period / most * np.array([0.0, 0.5, 1.0])
        capacitor = np.array([capacitor.min(), capacitor.max(), capacitor.min()])
    copies = max(round(period / float(time[-1])), 1) * periods
    starts = period * np.arange(periods)
    low = chosen.timer.output_low
    high = chosen.supply - chosen.timer.output_high_drop
    is_on = np.tile([1.0, 1.0, 0.0, 0.0], periods)
    on = float(cycle.on)
    pulse_time, pulse = _pulse_capacitor(circuit, build, travel, cycle, points)
    return Waveforms(
        time=np.add.outer(float(time[-1]) * np.arange(copies), time).ravel(),
        capacitor=np.tile(capacitor, copies),
        output_time=np.add.outer(starts, [0.0, on, on, period]).ravel(),
        output=low + (high - low) * is_on,
        enable=is_on if inversions % 2 == 0 else 1 - is_on,
        pulse_time=np.add.outer(starts, pulse_time).ravel(),
        pulse_capacitor=np.tile(pulse, periods),
        cycle=cycle,
    )


def _timing_capacitor(
    circuit: Circuit, build: dict[str, float], travel: float, points: int
) -> tuple[Array, Array]:
    charge, discharge = circuit.timing_paths(build, travel)
    lower, upper = (build["supply"] * build[level] for level in ("lower", "upper"))
    rising = np.linspace(lower, upper, points)
    falling = rising[::-1]
    C = build["timing_capacitor"]
    halves = [
        (charge.time(C, lower, rising), rising),
        (discharge.time(C, upper, falling), falling),
    ]
    if not circuit.on_while_charging:
        halves.reverse()
    (first, v_first), (second, v_second) = halves
    return np.concatenate([first, first[-1] + second]), np.concatenate([v_first, v_second])


def _pulse_capacitor(
    circuit: Circuit, build: dict[str, float], travel: float, cycle: Cycle, points: int
) -> tuple[Array, Array]:
    resistance = circuit.pulse_resistance(build, travel)
    if resistance is None:
        return np.empty(0), np.empty(0)
    C, supply = build["pulse_capacitor"], build["supply"]
    switch = discharge_switch(build, resistance)
    charging = np.linspace(0.0, float(cycle.on), points)
    up = supply - (supply - switch.source) * np.exp(-charging / (resistance * C))
    tau = float(switch.resistance) * C
    resting = np.unique(np.minimum(tau * np.linspace(0, 8, points), float(cycle.off)))
    down = switch.source + (up[-1] - switch.source) * np.exp(-resting / tau)
    time = np.concatenate([charging, float(cycle.on) + resting, [float(cycle.period)]])
    return time, np.concatenate([up, down, down[-1:]])


@dataclass(frozen=True, slots=True)
class ScopeReading:
    """What a scope on the timer will show at one travel of the knob.

    Parameters
    ----------
    frequency, on_time : Band
        With their worst case [Hz], [s].
    output_high, output_low : float
        Levels without load [V].
    capacitor_peak, capacitor_valley : Band
        Switching levels at the timing capacitor [V].
    """

    travel: float
    frequency: Band
    on_time: Band
    output_high: float
    output_low: float
    capacitor_peak: Band
    capacitor_valley: Band


def scope_reading(chosen: TimerSet, *, travel: float = 0.5) -> ScopeReading:
    """Frequency, on-time and levels to expect at the timer's pins.

    Raises
    ------
    InputError
        Travel outside 0 to 1.
    """
    if not 0 <= travel <= 1:
        raise InputError("travel", travel, "0 to 1")
    circuit, build, spreads = circuit_named(chosen.circuit), chosen.build(), spreads_of(chosen)
    bands = corner_bands(lambda b: circuit.cycle(b, travel), build, spreads=spreads)
    pulses = corner_bands(
        lambda b: Cycle(circuit.cycle(b, travel).on, np.zeros(())), build, spreads=spreads
    )
    supply, reach = chosen.supply, chosen.given.supply_tolerance + chosen.timer.threshold_tolerance
    return ScopeReading(
        travel,
        _band(bands.nominal.frequency, bands.frequency_low, bands.frequency_high),
        _band(bands.nominal.on, 1 / pulses.frequency_high, 1 / pulses.frequency_low),
        supply - chosen.timer.output_high_drop,
        chosen.timer.output_low,
        *(Band(level, level * (1 - reach), level * (1 + reach)) for level in _levels(chosen)),
    )


def _levels(chosen: TimerSet) -> tuple[float, float]:
    return chosen.supply * chosen.timer.upper, chosen.supply * chosen.timer.lower


def _band(nominal: ArrayLike, low: ArrayLike, high: ArrayLike) -> Band:
    return Band(*(float(np.asarray(value)) for value in (nominal, low, high)))
