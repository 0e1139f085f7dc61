"""What an axis of a plot shows: name, unit, and the SI prefix that its range calls for."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import pyqtgraph as pg

from burstwise.app.plots.ranges import Span
from burstwise.core.units import shown

_WITHOUT_PREFIX = frozenset({"", "%", "°C", "K", "turns", "dB", "K/W", "min"})


@dataclass(frozen=True, slots=True)
class Axis:
    """One axis.

    Parameters
    ----------
    name : str
        What is plotted, e.g. ``"Average power"``.
    unit : str
        SI unit of the data; ``"%"`` for ratios shown in percent; ``""`` for plain numbers.
    from_zero : bool
        Keep zero within the range.
    """

    name: str
    unit: str = ""
    from_zero: bool = False

    def scale(self, span: Span) -> tuple[float, str]:
        """Factor from data to tick text, and the unit with its prefix."""
        if self.unit == "%":
            return 100.0, "%"
        if self.unit in _WITHOUT_PREFIX:
            return 1.0, self.unit
        factor, prefix = pg.siScale(max(abs(span.low), abs(span.high)))
        return float(factor), f"{prefix}{self.unit}".replace("μ", "µ")

    def caption(self, span: Span) -> str:
        """Name with the unit as the ticks have it."""
        unit = self.scale(span)[1]
        return f"{self.name} [{unit}]" if unit else self.name

    def text(self, value: float, *, digits: int = 3) -> str:
        """One value with its unit."""
        if self.unit == "min":
            return f"{value:.{digits}g} min"
        return shown(value, self.unit, digits=digits)


def with_minus(text: str) -> str:
    """Text with the minus sign that stands elsewhere, in place of the hyphen.

    Examples
    --------
    >>> with_minus("-10")
    '−10'
    """
    return text.replace("-", "−")


class TickAxis(pg.AxisItem):  # type: ignore[misc]
    """Axis whose negative ticks have a true minus sign."""

    def tickStrings(self, values: Sequence[float], scale: float, spacing: float) -> list[Any]:
        """Texts of the ticks."""
        return [with_minus(text) for text in super().tickStrings(values, scale, spacing)]
