"""Measured and predicted waveform on top of each other, and lines for a plot of either."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from scipy.optimize import minimize_scalar

from burstwise.core.arrays import Array
from burstwise.core.errors import InputError

_NEAR: Final = 3
_BEGUN: Final = 0.1
_HEAD: Final = 12
_TURNS: Final = 3


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
    from scipy.signal import correlate  # loads for a third of a second, at a page's first show

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


def burst_time_shift(
    measured: Array,
    predicted: Array,
    *,
    step: float,
    period: float,
    starts: tuple[float, float] = (0.0, 0.0),
) -> TimeShift:
    """Time shift of bursts whose carriers may differ in frequency.

    The envelopes are laid on each other first; then the waveforms, within three carrier periods,
    over the first cycles of the burst, before a difference in frequency shows. The gain is that
    of the envelopes, the likeness that of the waveforms over those first cycles.

    Parameters
    ----------
    measured, predicted : ndarray, shapes (n,) and (m,)
        Samples at the same even interval.
    step, period : float
        Interval and carrier period [s].
    starts : tuple of float
        Times of the first samples [s].

    Examples
    --------
    >>> at = np.arange(4000.0)
    >>> body = np.exp(-(((at - 1500) / 500) ** 4))
    >>> one, two = body * np.sin(0.157 * at), 0.5 * body * np.sin(0.158 * at)
    >>> told = burst_time_shift(one, two, step=1.0, period=40.0)
    >>> abs(told.shift) < 20.0, round(told.gain, 2)
    (True, 2.0)
    """
    window = max(round(period / step), 2)
    first, second = _moving_size(measured, window), _moving_size(predicted, window)
    coarse = best_time_shift(first, second, step=step)
    lag = coarse.shift / step
    begin = int(np.argmax(second > _BEGUN * second.max()))
    head = predicted[: begin + _HEAD * window]
    tries = [
        minimize_scalar(
            lambda at: -_overlay(measured, head, at).likeness,
            bounds=(lag + (turn - 0.5) * window, lag + (turn + 0.5) * window),
            method="bounded",
        )
        for turn in range(-_TURNS, _TURNS + 1)
    ]
    fine = min(tries, key=lambda found: float(found.fun))
    best = _overlay(measured, predicted, float(fine.x))
    return TimeShift(
        shift=float(fine.x) * step + starts[0] - starts[1],
        likeness=-float(fine.fun),
        gain=coarse.gain,
        residual_rms=best.residual_rms,
    )


def _moving_size(values: Array, window: int) -> Array:
    """Standard deviation over a sliding window."""
    even = np.ones(window) / window
    mean = np.convolve(values, even, mode="same")
    square = np.convolve(values**2, even, mode="same")
    return np.asarray(np.sqrt(np.maximum(square - mean**2, 0.0)), dtype=np.float64)


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
