"""Fuse in the main supply: what heats it, what it carries, and when it opens."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

RATED_CURRENTS: Final = (
    0.1, 0.16, 0.25, 0.315, 0.5, 0.63, 0.8, 1.0, 1.25, 1.6,
    2.0, 2.5, 3.15, 4.0, 5.0, 6.3, 8.0, 10.0, 16.0,
)  # fmt: skip
"""Rated currents of miniature fuses [A]; after IEC 60127 (from memory)."""
CARRIED: Final = 0.75
"""Part of its rating that a fuse carries for good; common practice, no source."""
OPENS_AT: Final = 2.0
"""Current over the rating above which a time-lag fuse opens; IEC 60127, from memory."""
THERMAL_TIME: Final = 0.1
"""Time over which a fuse's wire takes the mean of its heat [s]; common practice, no source."""


def heating_current(square: ArrayLike, period: ArrayLike, peak: ArrayLike) -> NDArray[np.float64]:
    """RMS current that a fuse's wire feels [A].

    The RMS over the period where that is short, else over the wire's own thermal time, into which
    the whole burst is put; never more than the peak.

    Parameters
    ----------
    square : array_like
        Integral of the square of the current over one period [A^2 s].
    period : array_like
        [s].
    peak : array_like
        Highest current [A].

    Examples
    --------
    >>> round(float(heating_current(4.0 * 0.01, 0.04, 2.0)), 9)
    1.0
    """
    window = np.minimum(period, THERMAL_TIME)
    return np.asarray(np.minimum(np.sqrt(np.asarray(square) / window), peak))


def fuse_for(current: float) -> float | None:
    """Smallest rated current that carries an RMS current for good [A]; None where there is none.

    Examples
    --------
    >>> fuse_for(0.733), fuse_for(30.0)
    (1.0, None)
    """
    return next((size for size in RATED_CURRENTS if current <= CARRIED * size), None)
