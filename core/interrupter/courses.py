"""Timing diagram: capacitor, output, enable and envelope of the bursts over one common time."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np

from burstwise.core.arrays import Array
from burstwise.core.interrupter.sets import TimerSet
from burstwise.core.interrupter.waveform import waveforms

_PERIODS: Final = 2
_POINTS: Final = 60
_TEN: Final = math.log(10.0)


@dataclass(frozen=True, slots=True)
class TimingCourses:
    """Signals of the timer and the stage over whole periods, from the start of an on-time.

    Attributes
    ----------
    time : Array (points,)
        [s]; an edge stands twice, just before and after.
    capacitor : Array (points,)
        Timing capacitor, or that of the pulse in a circuit with a pulse timer [V].
    output : Array (points,)
        Output of the last timer [V].
    enable : Array (points,)
        1 where the stage may run.
    envelope : Array (points,)
        Amplitude of the carrier over its steady value.
    """

    time: Array
    capacitor: Array
    output: Array
    enable: Array
    envelope: Array


def burst_envelope(
    time: Array, *, on_time: float, period: float, ring_up: float, ring_down: float
) -> Array:
    """Amplitude over its steady value in periodic bursts.

    Rises as ``1 - (1 - r) exp(-t ln(10)/t90)`` from what the burst before left over, r, and falls
    with the ring-down time constant; r follows in closed form from periodicity. An exponential
    stands for the real ring-up, which is slower at first.

    Parameters
    ----------
    time : Array (points,)
        Since the start of an on-time [s].
    on_time, period : float
        [s].
    ring_up : float
        Time to 90 % from rest [s].
    ring_down : float
        Time constant of the amplitude [s].

    Examples
    --------
    >>> at = np.array([0.0, 50e-6, 1e-3, 2e-3])
    >>> burst_envelope(at, on_time=1e-3, period=4e-3, ring_up=50e-6, ring_down=20e-6).round(3)
    array([0. , 0.9, 1. , 0. ])
    """
    rise = _TEN / max(ring_up, 1e-12)
    rest = (period - on_time) / max(ring_down, 1e-12)
    kept, missing = math.exp(-min(rest, 700.0)), math.exp(-min(on_time * rise, 700.0))
    left = kept * (1 - missing) / (1 - kept * missing) if kept * missing < 1 else 0.0
    phase = np.mod(time, period)
    top = 1 - (1 - left) * missing
    rising = 1 - (1 - left) * np.exp(-np.minimum(phase * rise, 700.0))
    falling = top * np.exp(-np.clip((phase - on_time) / max(ring_down, 1e-12), 0.0, 700.0))
    return np.where(phase <= on_time, rising, falling)


def timing_courses(
    chosen: TimerSet,
    *,
    travel: float,
    ring_up: float = math.inf,
    ring_down: float = 0.0,
    inversions: int = 0,
) -> TimingCourses:
    """Signals over two periods at a travel of the knob.

    Parameters
    ----------
    chosen : TimerSet
        Parts and timer.
    travel : float
        Travel of the duty knob.
    ring_up, ring_down : float
        Of the carrier [s]; an infinite ring-up means that it does not oscillate.
    inversions : int
        Inversions from the timer's output to the enable.

    Raises
    ------
    InputError
        Travel outside 0 to 1, or a set that does not oscillate.
    """
    lines = waveforms(chosen, travel=travel, periods=_PERIODS, points=40, inversions=inversions)
    on, period = float(lines.cycle.on), float(lines.cycle.period)
    edges = np.add.outer(period * np.arange(_PERIODS + 1), [0.0, on]).ravel()[: 2 * _PERIODS + 1]
    step = period * 1e-9
    finely = [
        edge + share * np.geomspace(1e-4, 1.0, 20)
        for edge, share in zip(edges, np.tile([on, period - on], _PERIODS + 1), strict=False)
    ]
    time = np.unique(
        np.concatenate(
            [edges - step, edges + step, np.linspace(0, edges[-1], _POINTS), *finely, lines.time]
        )
    )
    time = time[(time >= 0) & (time < edges[-1])]
    from_edge = np.mod(time, period)
    is_on = np.where(from_edge < on, 1.0, 0.0)
    low, high = lines.output.min(), lines.output.max()
    runs = is_on if inversions % 2 == 0 else 1 - is_on
    source = (
        (lines.pulse_time, lines.pulse_capacitor)
        if lines.pulse_time.size
        else (lines.time, lines.capacitor)
    )
    envelope = np.zeros_like(time)
    if math.isfinite(ring_up):
        begins = 0.0 if inversions % 2 == 0 else on
        envelope = burst_envelope(
            time - begins,
            on_time=on if inversions % 2 == 0 else period - on,
            period=period,
            ring_up=ring_up,
            ring_down=ring_down,
        )
    return TimingCourses(time, np.interp(time, *source), low + (high - low) * is_on, runs, envelope)
