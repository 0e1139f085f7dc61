"""Waveforms: crossings, carrier period, whole-period statistics."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.fft import irfft, rfft

from burstwise.core.arrays import Array
from burstwise.core.errors import InputError

_HYSTERESIS: Final = 0.15
_LIKE_NEIGHBOUR: Final = 0.3
_MOST_CROSSINGS_PER_PERIOD: Final = 4
_SAME_SHAPE: Final = 0.95
_FEWEST_PERIODS: Final = 3
_COVERS: Final = 0.5
_STRETCH: Final = 262_144
_SAME_PERIOD: Final = 0.05
_LOW_LINE: Final = 0.2
_MULTIPLE: Final = (1.7, 3.4)
_TAILS: Final = (0.0, 0.001, 0.01)
"""Parts of the samples left out at top and bottom, in turn, until there are crossings: lone
spikes would else lift half height above the oscillation."""


@dataclass(frozen=True, slots=True)
class Statistics:
    """Figures of a waveform between two instants.

    Attributes
    ----------
    mean, rms : float
        Over the time between the instants.
    peak, trough : float
        Highest and lowest sample.
    duration : float
        Time between the instants [s].
    """

    mean: float
    rms: float
    peak: float
    trough: float
    duration: float

    @property
    def form_factor(self) -> float:
        """RMS over the magnitude of the mean [-], infinity for a mean of zero."""
        return self.rms / abs(self.mean) if self.mean else math.inf


@dataclass(frozen=True, slots=True, eq=False)
class Carrier:
    """Periodic part of a waveform.

    Attributes
    ----------
    period : float
        Period, in samples.
    crossings : ndarray
        Instants at which a period begins, in samples; some may be missing where the waveform is
        small.
    """

    period: float
    crossings: Array


def rising_crossings(values: Array, level: float, *, hysteresis: float) -> Array:
    """Instants at which a waveform rises through a level [samples].

    A crossing counts once the waveform has been below ``level - hysteresis`` and comes above
    ``level + hysteresis``, so that noise smaller than the hysteresis adds none. Its instant is
    where the straight line between samples last passes the level itself, which does not move
    with the amplitude of an oscillation about the level.

    Examples
    --------
    >>> rising_crossings(np.array([0.0, 1.0, 0.0, 1.0]), 0.5, hysteresis=0.25).tolist()
    [0.5, 2.5]
    """
    above = values > level + hysteresis
    sure = np.flatnonzero(above | (values < level - hysteresis))
    turned = sure[1:][above[sure[1:]] & ~above[sure[:-1]]]
    below = np.flatnonzero(values <= level)
    before = below[np.searchsorted(below, turned) - 1]
    low, high = values[before], values[before + 1]
    return np.asarray(before + (level - low) / (high - low), dtype=np.float64)


def carrier(values: Array) -> Carrier:
    """Period of the oscillation in a waveform, whether it runs on or comes in bursts.

    The period is the mean distance of rising crossings at half height that look like their
    neighbours; where ringing adds crossings, it is the shortest sum of distances after which the
    waveform repeats. Where the strongest line of the spectrum has a longer period, as for a drain
    voltage with two humps per period while driven and one after it, the crossings are those of
    the waveform filtered around that line.

    Parameters
    ----------
    values : ndarray, shape (n,)
        Samples at even intervals.

    Raises
    ------
    InputError
        Fewer than three periods.

    Examples
    --------
    >>> wave = np.sin(2 * np.pi * np.arange(1000) / 32.5)
    >>> round(carrier(wave).period, 3)
    32.5
    """
    found = [_train(values, tail) for tail in _TAILS]
    best = max(found, key=lambda train: train.covered)
    # A level that only lone spikes or the ringing behind them cross covers little of the time.
    chosen = next(train for train in found if train.covered >= _COVERS * best.covered)
    crossings, distances, together = chosen.crossings, chosen.distances, chosen.together
    if len(crossings) < _FEWEST_PERIODS:
        raise InputError("carrier", f"{len(crossings)} periods", "an oscillation of three or more")
    usual = float(np.median(distances))
    several = _crossings_per_period(values, crossings, together)
    if several > 1:
        usual = float(np.mean(distances[together]))
    else:
        together &= np.abs(distances - usual) < _LIKE_NEIGHBOUR * usual
    plain = None
    if together.any():
        plain = Carrier(several * float(np.mean(distances[together])), crossings[::several])
    first, part = _liveliest(values)
    strongest = fundamental_period(part)
    ratio = 0.0 if plain is None else plain.period / strongest
    # Two or three times the strongest line: spikes that only every other cycle has were counted.
    if plain and ratio > 1.0 - _SAME_PERIOD and not _MULTIPLE[0] < ratio < _MULTIPLE[1]:
        return plain
    best_guess = _filtered_carrier(part, strongest, first=first) or plain
    if best_guess is None:
        raise InputError("carrier", "no two periods alike", "an oscillation of three or more")
    return best_guess


def _liveliest(values: Array) -> tuple[int, Array]:
    """Stretch of at most 2^18 samples that varies most, and where it begins."""
    if len(values) <= _STRETCH:
        return 0, values
    size = _STRETCH // 8
    blocks = values[: len(values) // size * size].reshape(-1, size)
    power = np.concatenate([[0.0], np.cumsum(blocks.var(axis=1))])
    width = min(8, len(blocks))
    at = int(np.argmax(power[width:] - power[:-width])) * size
    return at, values[at : at + _STRETCH]


def fundamental_period(values: Array) -> float:
    """Period of the lowest strong line of a waveform's spectrum [samples].

    The strongest line, or the one at its half or third where that has a fifth of its height.

    Examples
    --------
    >>> turn = 2 * np.pi * np.arange(4096) / 64
    >>> round(fundamental_period(np.sin(turn) + 2.0 * np.sin(2 * turn)), 1)
    64.0
    """
    from scipy.signal.windows import hann  # loads for a third of a second, at a page's first show

    lines = np.abs(rfft((values - values.mean()) * hann(len(values), sym=False)))
    lines[:3] = 0.0
    top = int(np.argmax(lines))
    for part in (3, 2):
        near = lines[max(top // part - 1, 0) : top // part + 3]
        if top >= 6 * part and near.max() > _LOW_LINE * lines[top]:
            return len(values) / (top / part)
    return len(values) / max(top, 1)


def _filtered_carrier(values: Array, period: float, *, first: int) -> Carrier | None:
    """Carrier of the part of the spectrum around a period, None without three periods."""
    spectrum = rfft(values - values.mean())
    middle = len(values) / period
    lines = np.arange(len(spectrum))
    spectrum[(lines < 0.7 * middle) | (lines > 1.4 * middle)] = 0.0
    train = _train(irfft(spectrum, len(values)), 0.0)
    near = np.abs(train.distances - period) < _LIKE_NEIGHBOUR * period
    if np.count_nonzero(near) < _FEWEST_PERIODS:
        return None
    return Carrier(float(np.mean(train.distances[near])), train.crossings + first)


@dataclass(frozen=True, slots=True, eq=False)
class _Train:
    """Crossings at one level: their distances, which of them belong together, time covered."""

    crossings: Array
    distances: Array
    together: NDArray[np.bool_]
    covered: float


def _train(values: Array, tail: float) -> _Train:
    bottom, top = (float(level) for level in np.quantile(values, [tail, 1.0 - tail]))
    crossings = rising_crossings(
        values, 0.5 * (top + bottom), hysteresis=_HYSTERESIS * (top - bottom)
    )
    distances = np.diff(crossings)
    if len(crossings) < _FEWEST_PERIODS:
        return _Train(crossings, distances, np.zeros(len(distances), dtype=bool), 0.0)
    together = distances < 2.5 * float(np.median(distances))
    return _Train(crossings, distances, together, float(distances[together].sum()))


def _crossings_per_period(values: Array, crossings: Array, together: NDArray[np.bool_]) -> int:
    """Number of crossings after which the waveform repeats, in the longest run of them."""
    edges = np.flatnonzero(np.diff(np.concatenate([[0], together.astype(np.int8), [0]])))
    begins, ends = edges[::2], edges[1::2]
    longest = int(np.argmax(ends - begins))
    begin = int(begins[longest])
    end = min(int(ends[longest]), begin + 64)
    part = values[int(crossings[begin]) : int(crossings[end]) + 1]
    likeness = []
    for several in range(1, min(_MOST_CROSSINGS_PER_PERIOD, (end - begin) // 2) + 1):
        lag = round(float(crossings[begin + several] - crossings[begin]))
        if lag >= len(part) - 2:
            break
        likeness.append(float(np.corrcoef(part[:-lag], part[lag:])[0, 1]))
    if not likeness:
        return 1
    best = max(likeness)
    good = best - (1.0 - _SAME_SHAPE) * abs(best)
    return 1 + next(number for number, value in enumerate(likeness) if value >= good)


def statistics_between(values: Array, first: float, last: float, *, step: float) -> Statistics:
    """Statistics of the straight-line waveform between two instants.

    Means are trapezoidal sums, with the fractions of an interval at both ends; over whole periods
    of a smooth waveform these converge faster than any power of the step, and for steps that fall
    between samples they are right on average.

    Parameters
    ----------
    values : ndarray, shape (n,)
        Samples at even intervals.
    first, last : float
        Instants [samples], 0 <= first < last <= n - 1.
    step : float
        Interval between samples [s].

    Raises
    ------
    InputError
        Instants outside of the samples, or in the wrong order.

    Examples
    --------
    >>> ramp = np.array([0.0, 1.0, 2.0, 3.0])
    >>> statistics_between(ramp, 0.5, 2.5, step=1.0).mean
    1.5
    """
    if not 0.0 <= first < last <= len(values) - 1:
        raise InputError("instants", (first, last), f"in order within 0 to {len(values) - 1}")
    inside = np.arange(math.floor(first) + 1, math.ceil(last))
    positions = np.concatenate([[first], inside, [last]])
    taken = np.interp(positions, np.arange(len(values)), values)
    length = last - first
    return Statistics(
        mean=float(np.trapezoid(taken, positions)) / length,
        rms=math.sqrt(float(np.trapezoid(taken**2, positions)) / length),
        peak=float(taken.max()),
        trough=float(taken.min()),
        duration=length * step,
    )
