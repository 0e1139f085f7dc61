"""Waveforms: crossings, carrier period, whole-period statistics, time shift, plot reduction."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import minimize_scalar
from scipy.signal import correlate

from core.errors import InputError

Array = NDArray[np.float64]

_HYSTERESIS: Final = 0.15
_LIKE_NEIGHBOUR: Final = 0.3
_MOST_CROSSINGS_PER_PERIOD: Final = 4
_SAME_SHAPE: Final = 0.95
_NEAR: Final = 3
_FEWEST_PERIODS: Final = 3
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
    waveform repeats.

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
    crossings = np.empty(0)
    for tail in _TAILS:
        bottom, top = (float(level) for level in np.quantile(values, [tail, 1.0 - tail]))
        crossings = rising_crossings(
            values, 0.5 * (top + bottom), hysteresis=_HYSTERESIS * (top - bottom)
        )
        if len(crossings) >= _FEWEST_PERIODS:
            break
    else:
        raise InputError("carrier", f"{len(crossings)} periods", "an oscillation of three or more")
    distances = np.diff(crossings)
    usual = float(np.median(distances))
    together = distances < 2.5 * usual
    several = _crossings_per_period(values, crossings, together)
    if several > 1:
        usual = float(np.mean(distances[together]))
    else:
        together &= np.abs(distances - usual) < _LIKE_NEIGHBOUR * usual
    return Carrier(several * float(np.mean(distances[together])), crossings[::several])


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
    good = _SAME_SHAPE * max(likeness)
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


@dataclass(frozen=True, slots=True)
class TimeShift:
    """Best overlay of a predicted waveform on a measured one.

    Attributes
    ----------
    shift : float
        Time to add to the predicted times [s].
    likeness : float
        Correlation coefficient of both where they overlap, 1 for equal shape [-].
    gain : float
        Measured over predicted deviation from the mean, least squares [-].
    residual_rms : float
        RMS difference of both where they overlap, as they are, without the gain.
    """

    shift: float
    likeness: float
    gain: float
    residual_rms: float


def best_time_shift(
    measured: Array, predicted: Array, *, step: float, starts: tuple[float, float] = (0.0, 0.0)
) -> TimeShift:
    """Time shift that lays a predicted waveform best on a measured one.

    The shift has the highest correlation of the deviations from the mean, to a fraction of a
    sample. Of equally good shifts of a periodic waveform the one with the largest overlap wins.

    Parameters
    ----------
    measured, predicted : ndarray, shapes (n,) and (m,)
        Samples at the same even interval.
    step : float
        Interval [s].
    starts : tuple of float
        Times of the first samples, measured and predicted [s].

    Raises
    ------
    InputError
        A waveform does not vary.

    Examples
    --------
    >>> wave = np.exp(-((np.arange(400) - 150) ** 2) / 500.0)
    >>> late = np.exp(-((np.arange(400) - 162) ** 2) / 500.0)
    >>> round(best_time_shift(late, wave, step=0.5).shift, 6)
    6.0
    """
    if np.ptp(measured) == 0.0 or np.ptp(predicted) == 0.0:
        raise InputError("waveform", "a constant", "a waveform that varies")
    score = correlate(measured - measured.mean(), predicted - predicted.mean(), method="fft")
    coarse = int(np.argmax(score)) - (len(predicted) - 1)
    # The sums favour a large overlap, which pulls them off by a sample or two; the coefficient of
    # the overlapping parts has no such pull.
    near = [_overlay(measured, predicted, coarse + offset) for offset in range(-_NEAR, _NEAR + 1)]
    middle = coarse - _NEAR + int(np.argmax([one.likeness for one in near]))
    found = minimize_scalar(
        lambda lag: -_overlay(measured, predicted, lag).likeness,
        bounds=(middle - 1.0, middle + 1.0),
        method="bounded",
        options={"xatol": 1e-7},
    )
    best = _overlay(measured, predicted, float(found.x))
    return TimeShift(
        shift=float(found.x) * step + starts[0] - starts[1],
        likeness=best.likeness,
        gain=best.gain,
        residual_rms=best.residual_rms,
    )


@dataclass(frozen=True, slots=True)
class _Overlay:
    likeness: float
    gain: float
    residual_rms: float


def _overlay(measured: Array, predicted: Array, lag: float) -> _Overlay:
    """Comparison where both overlap once `predicted` begins `lag` samples into `measured`."""
    first = max(math.ceil(lag), 0)
    last = min(math.floor(len(predicted) - 1 + lag) + 1, len(measured))
    if last - first < 2:
        return _Overlay(-1.0, 0.0, math.inf)
    # The smooth one is interpolated: between its samples the noisy one would lose noise, and
    # shifts of half a sample would look better than they are.
    laid = np.interp(np.arange(first, last) - lag, np.arange(len(predicted)), predicted)
    beneath = measured[first:last]
    deviation, expected = beneath - beneath.mean(), laid - laid.mean()
    product, square = float(deviation @ expected), float(expected @ expected)
    size = math.sqrt(float(deviation @ deviation) * square)
    if size == 0.0:
        return _Overlay(-1.0, 0.0, math.inf)
    residual = math.sqrt(float(np.mean((beneath - laid) ** 2)))
    return _Overlay(product / size, product / square, residual)


@dataclass(frozen=True, slots=True, eq=False)
class PlotLine:
    """Points of a line that looks like the waveform that it stands for."""

    positions: Array
    values: Array


def plot_line(values: Array, *, first: int, last: int, buckets: int) -> PlotLine:
    """Lowest and highest sample of each bucket, in the order in which they come.

    A drawn line through them covers the same pixels as one through all samples when there are as
    many buckets as pixel columns; no peak is lost.

    Parameters
    ----------
    values : ndarray, shape (n,)
        Samples.
    first, last : int
        Part to show, `last` not included.
    buckets : int
        Number of buckets; up to twice as many points come back.

    Examples
    --------
    >>> spike = np.zeros(1000)
    >>> spike[617] = 5.0
    >>> line = plot_line(spike, first=0, last=1000, buckets=10)
    >>> len(line.values), float(line.values.max())
    (20, 5.0)
    """
    first, last = max(first, 0), min(last, len(values))
    count = last - first
    if count <= 2 * buckets:
        return PlotLine(np.arange(first, last, dtype=np.float64), values[first:last])
    size = -(-count // buckets)
    full = count // size * size
    rows = values[first : first + full].reshape(-1, size)
    picks = np.stack([rows.argmin(axis=1), rows.argmax(axis=1)], axis=1)
    picks.sort(axis=1)
    indices = (first + picks + size * np.arange(len(rows))[:, None]).ravel()
    if full < count:
        rest = values[first + full : last]
        ends = sorted((int(rest.argmin()), int(rest.argmax())))
        indices = np.concatenate([indices, first + full + np.array(ends)])
    return PlotLine(indices.astype(np.float64), values[indices])
