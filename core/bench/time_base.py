"""Even time base behind a column of times, or behind numbered samples."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from burstwise.core.arrays import Array
from burstwise.core.errors import InputError


@dataclass(frozen=True, slots=True)
class TimeBase:
    """Even sampling that a column of times stands for.

    Attributes
    ----------
    start, step : float
        First time and interval [s].
    uneven : float
        Largest distance of a time from the even one, in intervals, beyond the rounding of the
        column; 0 where the column is even.
    """

    start: float
    step: float
    uneven: float


def time_base(times: Array) -> TimeBase:
    """Even time base that lies closest to a column of times.

    Times that were written with few digits repeat or jump; that is rounding and no unevenness, as
    long as no time is further off than one digit of the column.

    Parameters
    ----------
    times : ndarray, shape (n,)
        Times [s], n at least 2.

    Raises
    ------
    InputError
        A time is before its predecessor; the field is the index of the sample, from 0.

    Examples
    --------
    >>> base = time_base(np.array([0.0, 1e-6, 2e-6, 3e-6]))
    >>> round(base.step * 1e6, 9), base.uneven
    (1.0, 0.0)
    """
    steps = np.diff(times)
    back = np.flatnonzero(steps < 0.0)
    if len(back):
        at = int(back[0]) + 1
        raise InputError(str(at), float(times[at]), f"at or after the time before, {times[at - 1]}")
    step = float(times[-1] - times[0]) / (len(times) - 1)
    if step == 0.0:
        raise InputError("0", float(times[0]), "followed by later times")
    off = np.abs(times - (times[0] + step * np.arange(len(times)))).max()
    digit = float(steps[steps > 0.0].min()) if np.any(steps == 0.0) else 0.0
    allowed = max(0.5 * step, 1.01 * digit)
    return TimeBase(float(times[0]), step, float(off / step) if off > allowed else 0.0)


def resampled(times: Array, values: Array, base: TimeBase) -> Array:
    """Values at the even times of a base, by straight lines between the samples."""
    even = base.start + base.step * np.arange(len(times))
    return np.asarray(np.interp(even, times, values), dtype=np.float64)
