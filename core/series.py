"""Preferred values of IEC 60063: the E series, and the nearest value in them."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

import numpy as np
from numpy.typing import NDArray

from burstwise.core.errors import InputError

_E24: Final = (
    10, 11, 12, 13, 15, 16, 18, 20, 22, 24, 27, 30, 33, 36, 39, 43, 47, 51, 56, 62, 68, 75, 82, 91,
)  # fmt: skip
"""Two-figure values of E24. The standard rounds 2.7 to 4.7 away from 10**(i/24), hence a table."""
_MATCHING: Final = 1e-9


@dataclass(frozen=True, slots=True)
class Series:
    """One E series.

    Parameters
    ----------
    name : str
        ``"E24"`` and so on.
    values : tuple of float
        Values of one decade, 1 <= value < 10.
    tolerance : float
        Tolerance class that the series is made for, as a fraction (IEC 60063).
    """

    name: str
    values: tuple[float, ...]
    tolerance: float


def _two_figures(name: str, every: int, tolerance: float) -> Series:
    return Series(name, tuple(value / 10 for value in _E24[::every]), tolerance)


def _three_figures(name: str, count: int, tolerance: float) -> Series:
    return Series(name, tuple(round(10 ** (i / count), 2) for i in range(count)), tolerance)


SERIES: Final[Mapping[str, Series]] = MappingProxyType(
    {
        series.name: series
        for series in (
            _two_figures("E3", 8, 0.40),
            _two_figures("E6", 4, 0.20),
            _two_figures("E12", 2, 0.10),
            _two_figures("E24", 1, 0.05),
            _three_figures("E48", 48, 0.02),
            _three_figures("E96", 96, 0.01),
        )
    }
)
"""E3 to E96 by name; source: IEC 60063:2015. E48 and E96 are 10**(i/n) rounded to 3 figures."""


def series_named(name: str) -> Series:
    """Series of that name.

    Raises
    ------
    InputError
        Not one of E3, E6, E12, E24, E48, E96.

    Examples
    --------
    >>> series_named("E6").values
    (1.0, 1.5, 2.2, 3.3, 4.7, 6.8)
    """
    try:
        return SERIES[name]
    except KeyError:
        raise InputError("series", name, "one of " + ", ".join(SERIES)) from None


def series_values(name: str, low: float, high: float) -> NDArray[np.float64]:
    """All preferred values in [low, high], rising, in the unit of the limits.

    Raises
    ------
    InputError
        Unknown series; limits that are not 0 < low <= high.

    Examples
    --------
    >>> series_values("E3", 1e3, 22e3)
    array([ 1000.,  2200.,  4700., 10000., 22000.])
    """
    if not 0 < low <= high < math.inf:
        raise InputError("series limits", (low, high), "positive, finite and rising")
    decades = range(_decade(low), _decade(high) + 1)
    values = np.array([_scaled(v, d) for d in decades for v in series_named(name).values])
    inside = (values >= low * (1 - _MATCHING)) & (values <= high * (1 + _MATCHING))
    return values[inside]


def value_below(value: float, *, series: str) -> float:
    """Largest preferred value not above `value`.

    Examples
    --------
    >>> value_below(5000.0, series="E24"), value_below(4700.0, series="E24")
    (4700.0, 4700.0)
    """
    around = _around(value, series)
    return float(around[around <= value * (1 + _MATCHING)][-1])


def value_above(value: float, *, series: str) -> float:
    """Smallest preferred value not below `value`.

    Examples
    --------
    >>> value_above(319.0, series="E24")
    330.0
    """
    around = _around(value, series)
    return float(around[around >= value * (1 - _MATCHING)][0])


def nearest_value(value: float, *, series: str) -> float:
    """Preferred value at the smallest distance on the linear scale; the lower one on a tie.

    Examples
    --------
    >>> nearest_value(99.5, series="E96")
    100.0
    """
    around = _around(value, series)
    return float(around[np.argmin(np.abs(around - value))])


def _around(value: float, series: str) -> NDArray[np.float64]:
    if not 0 < value < math.inf:
        raise InputError("value", value, "positive and finite")
    return series_values(series, value / 10, value * 10)


def _decade(value: float) -> int:
    return math.floor(math.log10(value) + _MATCHING)


def _scaled(value: float, decade: int) -> float:
    """Product with a power of ten, in the float that the decimal text stands for."""
    return float(f"{value:.2f}e{decade}")
