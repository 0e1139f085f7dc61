"""Axis ranges that hold still: nice ends, widened at once, narrowed only when much too wide."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

_NICE: Final = (1.0, 2.0, 2.5, 5.0, 10.0)
_NARROW_BELOW: Final = 0.45
"""Share of the held range below which the data make it narrow again."""
_FEW: Final = 2.5
_STEPS: Final = 5
_ROOM: Final = 0.04
"""Room at each end as a share of the data's width."""
"""Least number of nice steps in a range."""


@dataclass(frozen=True, slots=True)
class Span:
    """Closed range of an axis."""

    low: float
    high: float

    @property
    def width(self) -> float:
        """Length of the range."""
        return self.high - self.low

    def holds(self, other: Span) -> bool:
        """Whether `other` lies within."""
        return self.low <= other.low and other.high <= self.high


def nice_step(width: float) -> float:
    """Largest of 1, 2, 2.5, 5 times a power of ten with at least five steps in `width`.

    Examples
    --------
    >>> nice_step(37.0), nice_step(1.0), nice_step(0.0021)
    (5.0, 0.2, 0.00025)
    """
    rough = width / _STEPS
    decade = 10.0 ** math.floor(math.log10(rough) + 1e-12)
    multiple = max(nice for nice in _NICE if nice * decade <= rough * (1 + 1e-9))
    return float(f"{multiple * decade:.6g}")


def few_ticks(span: Span) -> tuple[float, ...]:
    """A few round values within a range, for an axis without much height.

    Examples
    --------
    >>> few_ticks(Span(-2.0, 6.0)), few_ticks(Span(0.0, 200.0))
    ((0.0, 2.5, 5.0), (0.0, 100.0, 200.0))
    """
    step = nice_step(span.width * _FEW)
    first, last = math.ceil(span.low / step - 1e-9), math.floor(span.high / step + 1e-9)
    return tuple(float(f"{place * step:.12g}") for place in range(first, last + 1))


def nice_span(low: float, high: float, *, from_zero: bool = False) -> Span:
    """Range with nice ends around the data and a little room, none at an end that is zero.

    Parameters
    ----------
    low, high : float
        Ends of the data.
    from_zero : bool
        Include zero.

    Examples
    --------
    >>> nice_span(0.0, 37.0)
    Span(low=0.0, high=40.0)
    >>> nice_span(25.2, 61.0)
    Span(low=20.0, high=65.0)
    """
    if from_zero:
        low, high = min(low, 0.0), max(high, 0.0)
    width = high - low
    if width <= abs(high + low) * 1e-9:
        width = abs(high) * 0.2 or 1.0
        low, high = low - width / 2, high + width / 2
        if from_zero:
            low, high = min(low, 0.0), max(high, 0.0)
    padded_low = low if low == 0.0 else low - _ROOM * width
    padded_high = high if high == 0.0 else high + _ROOM * width
    step = nice_step(padded_high - padded_low)
    return Span(
        float(f"{math.floor(padded_low / step + 1e-9) * step:.12g}"),
        float(f"{math.ceil(padded_high / step - 1e-9) * step:.12g}"),
    )


def held_span(held: Span | None, low: float, high: float, *, from_zero: bool = False) -> Span:
    """The held range while it fits the data, else a new nice one.

    Examples
    --------
    >>> first = held_span(None, 0.0, 37.0)
    >>> held_span(first, 0.0, 30.0) is first, held_span(first, 0.0, 41.0).high
    (True, 45.0)
    """
    wanted = nice_span(low, high, from_zero=from_zero)
    if held is None:
        return wanted
    fits = held.holds(Span(min(low, high), max(low, high)))
    if fits and wanted.width >= _NARROW_BELOW * held.width:
        return held
    return wanted
