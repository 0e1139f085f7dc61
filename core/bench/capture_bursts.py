"""Bursts in a capture: on-time, duty, ring-up and ring-down, loaded Q."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import curve_fit

from burstwise.core.arrays import Array

_ON: Final = 0.1
_RUNNING: Final = 0.7
_FULL: Final = 0.93
_RINGS: Final = 0.1
_FEWEST_FOR_PERIOD: Final = 6
_CONTINUOUS: Final = 0.5
_FEWEST_BLOCKS: Final = 4
_RING_DOWN_FLOOR: Final = 0.04
_RING_UP_MISFIT: Final = 0.05


def quality_factor(frequency: float, time_constant: float) -> float:
    """Loaded quality factor from the decay of an amplitude [-]: Q = pi f tau.

    Parameters
    ----------
    frequency : float
        Frequency of the ringing [Hz].
    time_constant : float
        Time in which the amplitude falls to 1/e [s].

    Examples
    --------
    >>> round(quality_factor(300e3, 50e-6), 2)
    47.12
    """
    return math.pi * frequency * time_constant


@dataclass(frozen=True, slots=True, eq=False)
class Envelope:
    """Amplitude of the carrier in blocks of one period each.

    Attributes
    ----------
    size : int
        Samples per block.
    amplitude : ndarray
        Amplitude of the sine that fits the block best, one per block.
    lead : ndarray
        By how much the phase gains from each block to the next against an oscillation of exactly
        the period given [rad], one fewer than blocks.
    """

    size: int
    amplitude: Array
    lead: Array

    @property
    def centres(self) -> Array:
        """Middle of each block [samples]."""
        blocks = np.arange(len(self.amplitude), dtype=np.float64)
        return (blocks + 0.5) * self.size - 0.5


def carrier_envelope(values: Array, period: float) -> Envelope:
    """Envelope of a waveform by least squares of a constant and one sine per block.

    Unlike a sliding mean this holds for periods that are no whole number of samples.

    Parameters
    ----------
    values : ndarray, shape (n,)
        Samples.
    period : float
        Carrier period [samples], at least 4.

    Examples
    --------
    >>> wave = 3.0 + 2.0 * np.sin(2 * np.pi * np.arange(500) / 20.3)
    >>> carrier_envelope(wave, 20.3).amplitude.round(9).tolist()[:2]
    [2.0, 2.0]
    """
    size = max(math.ceil(period), 4)
    phase = 2.0 * math.pi * np.arange(size) / period
    basis = np.column_stack([np.ones(size), np.cos(phase), np.sin(phase)])
    blocks = values[: len(values) // size * size].reshape(-1, size)
    _, cosine, sine = np.linalg.pinv(basis) @ blocks.T
    gained = np.diff(np.arctan2(-sine, cosine)) - 2.0 * math.pi * size / period
    lead = gained - 2.0 * math.pi * np.round(gained / (2.0 * math.pi))
    return Envelope(size, np.asarray(np.hypot(cosine, sine), dtype=np.float64), lead)


def mean_period(envelope: Envelope, first: int, last: int, *, period: float) -> float | None:
    """Period of the oscillation between two blocks [samples], None for fewer than six blocks.

    The mean gain of phase per block, weighed with the squared amplitude.

    Examples
    --------
    >>> wave = np.sin(2 * np.pi * np.arange(2000) / 20.4)
    >>> round(mean_period(carrier_envelope(wave, 20.3), 0, 90, period=20.3), 3)
    20.4
    """
    if last - first < _FEWEST_FOR_PERIOD:
        return None
    weight = envelope.amplitude[first : last - 1] * envelope.amplitude[first + 1 : last]
    lead = float(np.average(envelope.lead[first : last - 1], weights=weight))
    return 2.0 * math.pi / (2.0 * math.pi / period + lead / envelope.size)


@dataclass(frozen=True, slots=True)
class Burst:
    """One burst, in samples.

    Attributes
    ----------
    start, end : float
        Begin of the oscillation and end of its drive.
    quiet : float
        Instant after the ring-down.
    complete : bool
        Neither end is cut by the capture.
    ring_up, ring_down : float or None
        Time constants, None where the envelope does not show them.
    driven_period, ringing_period : float or None
        Carrier period over the later half of the on-time, and in the ring-down down to a tenth
        of its amplitude.
    """

    start: float
    end: float
    quiet: float
    complete: bool
    ring_up: float | None
    ring_down: float | None
    driven_period: float | None = None
    ringing_period: float | None = None


def bursts(values: Array, period: float) -> tuple[Burst, ...]:
    """Bursts in a waveform, empty where the carrier runs all the time.

    Parameters
    ----------
    values : ndarray, shape (n,)
        Samples.
    period : float
        Carrier period [samples].
    """
    envelope = carrier_envelope(values, period)
    level = envelope.amplitude
    quiet, high = float(level.min()), float(level.max())
    if len(level) < _FEWEST_BLOCKS or quiet > _CONTINUOUS * high:
        return ()
    on = level > quiet + _ON * (high - quiet)
    return tuple(
        _burst(values, envelope, int(begin), int(end), floor=quiet, period=period)
        for begin, end in _runs(on)
    )


def _runs(on: NDArray[np.bool_]) -> list[tuple[int, int]]:
    """First block of each run of true blocks and the block after it; single gaps are closed."""
    closed = on.copy()
    closed[1:-1] |= on[:-2] & on[2:]
    edges = np.flatnonzero(np.diff(np.concatenate([[0], closed.astype(np.int8), [0]])))
    return list(zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True))


def _burst(
    values: Array, envelope: Envelope, begin: int, end: int, *, floor: float, period: float
) -> Burst:
    level = envelope.amplitude[begin:end]
    centres = envelope.centres[begin:end]
    plateau = float(level.max())
    driven = int(np.flatnonzero(level >= _RUNNING * plateau)[-1])
    steady = float(np.median(level[driven // 2 : driven + 1]))
    ring_up = _ring_up(centres[: driven + 1], level[: driven + 1], steady)
    stop = min(end + 4 * (end - begin), len(envelope.amplitude))
    after = slice(begin + driven, stop)
    ring_down = _ring_down(envelope.centres[after], envelope.amplitude[after], floor=floor)
    start = _first_departure(values, envelope, begin)
    last_full = begin + int(np.flatnonzero(level[: driven + 1] >= _FULL * steady)[-1])
    tail = envelope.amplitude[begin + driven + 2 :]
    ringing = int(np.argmax(tail < _RINGS * tail[0])) if len(tail) and ring_down else 0
    finish = float(centres[driven]) + 0.5 * envelope.size
    if ring_down is not None and steady > 0.0:
        reference, amplitude, constant = ring_down
        # Back along the decay to the level that it fell from.
        back = reference + constant * math.log(amplitude / steady)
        full = float(envelope.centres[last_full])
        # With breakout the amplitude first falls much faster than it rings down later.
        back = back if back > full - 0.25 * constant else full
        finish = min(max(back, start), finish)
    return Burst(
        start=start,
        end=finish,
        quiet=float(centres[-1]) + 0.5 * envelope.size,
        complete=begin > 0 and end < len(envelope.amplitude),
        ring_up=ring_up,
        ring_down=None if ring_down is None else ring_down[2],
        driven_period=mean_period(envelope, (begin + last_full) // 2, last_full, period=period),
        ringing_period=mean_period(
            envelope, begin + driven + 2, begin + driven + 2 + ringing, period=period
        ),
    )


def _first_departure(values: Array, envelope: Envelope, begin: int) -> float:
    """Instant at which the waveform leaves its quiet level before the first block that is on."""
    first = max((begin - 2) * envelope.size, 0)
    near = values[first : (begin + 2) * envelope.size]
    quiet = near[: max(envelope.size // 2, 1)]
    away = np.abs(near - np.median(quiet))
    limit = max(0.05 * float(away.max()), 1.5 * float(away[: len(quiet)].max()))
    at = int(np.argmax(away > limit))
    if at == 0:
        return float(first)
    part = (limit - away[at - 1]) / (away[at] - away[at - 1])
    return float(first + at - 1 + part)


def _ring_up(centres: Array, level: Array, steady: float) -> float | None:
    rising = level < 0.9 * steady
    if np.count_nonzero(rising) < _FEWEST_BLOCKS or len(level) < 2 * _FEWEST_BLOCKS:
        return None

    def law(at: Array, top: float, begin: float, constant: float) -> Array:
        rise = -np.expm1(-np.maximum(at - begin, 0.0) / constant)
        return np.asarray(top * rise, dtype=np.float64)

    first, span = float(centres[0]), float(centres[-1] - centres[0])
    rise_time = span * np.count_nonzero(rising) / len(level)
    try:
        best, _ = curve_fit(
            law,
            centres,
            level,
            p0=(steady, first, rise_time / math.log(10.0)),
            bounds=([0.0, first - span, 1e-3], [np.inf, first + span, np.inf]),
        )
    except RuntimeError:
        return None
    misfit = math.sqrt(float(np.mean((law(centres, *best) - level) ** 2)))
    return float(best[2]) if misfit < _RING_UP_MISFIT * steady else None


def _ring_down(centres: Array, level: Array, *, floor: float) -> tuple[float, float, float] | None:
    """Reference instant, amplitude there and time constant of the decay."""
    lowest = max(_RING_DOWN_FLOOR * float(level[0]), 3.0 * floor)
    low = np.flatnonzero(level < lowest)
    length = int(low[0]) if len(low) else len(level)
    # The block in which the drive ends belongs to neither side.
    at, falling = centres[1:length], level[1:length]
    if len(falling) < _FEWEST_BLOCKS or falling[-1] > 0.6 * falling[0]:
        return None
    reference = float(at[0])

    def law(instant: Array, top: float, constant: float) -> Array:
        return np.asarray(top * np.exp(-(instant - reference) / constant), dtype=np.float64)

    guess = (float(falling[0]), float(at[-1] - reference) / math.log(falling[0] / falling[-1]))
    try:
        best, _ = curve_fit(law, at, falling, p0=guess, bounds=(1e-12, np.inf))
    except RuntimeError:
        return None
    return reference, float(best[0]), float(best[1])
