"""Mapping between a slider's whole positions and values, linear or logarithmic."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from burstwise.core.errors import InputError

POSITIONS: Final = 2000
"""Whole positions of a slider, more than it has pixels."""


@dataclass(frozen=True, slots=True)
class SliderScale:
    """Closed range of a slider and how its length is shared out.

    Values read from a position are rounded to a step that is small against one position, so that
    a drag gives 36.2 V and not 36.1957 V.

    Examples
    --------
    >>> SliderScale(0.0, 100.0).value(1000)
    50.0
    >>> SliderScale(1.0, 10e3, log=True).value(1000)
    100.0
    """

    low: float
    high: float
    log: bool = False

    def __post_init__(self) -> None:
        if not self.low < self.high:
            raise InputError("high", self.high, f"above low ({self.low})")
        if self.log and self.low <= 0.0:
            raise InputError("low", self.low, "above 0 on a logarithmic scale")

    def position(self, value: float) -> int:
        """Nearest whole position of a value, clipped to the ends."""
        inside = min(max(value, self.low), self.high)
        if self.log:
            share = math.log(inside / self.low) / math.log(self.high / self.low)
        else:
            share = (inside - self.low) / (self.high - self.low)
        return round(share * POSITIONS)

    def value(self, position: int) -> float:
        """Value of a position; both ends are exact."""
        if position <= 0:
            return self.low
        if position >= POSITIONS:
            return self.high
        share = position / POSITIONS
        if self.log:
            exact = self.low * (self.high / self.low) ** share
            spacing = exact * math.log(self.high / self.low) / POSITIONS
        else:
            exact = self.low + share * (self.high - self.low)
            spacing = (self.high - self.low) / POSITIONS
        step = 10.0 ** math.floor(math.log10(spacing) + 1e-9)
        rounded = float(f"{round(exact / step) * step:.12g}")
        return min(max(rounded, self.low), self.high)
