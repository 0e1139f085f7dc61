"""Map from metres to pixels with one scale for both axes, and lengths for a scale bar."""

from __future__ import annotations

import math
from dataclasses import dataclass

from PySide6.QtCore import QPointF, QRectF


@dataclass(frozen=True, slots=True)
class ToScale:
    """Pixels per metre, the pixel of the origin, y upwards."""

    per_metre: float
    left: float
    top: float

    def x(self, metres: float) -> float:
        """Horizontal pixel."""
        return self.left + self.per_metre * metres

    def y(self, metres: float) -> float:
        """Vertical pixel."""
        return self.top - self.per_metre * metres

    def point(self, x: float, y: float) -> QPointF:
        """Pixel of a pair."""
        return QPointF(self.x(x), self.y(y))


def fitted_scale(area: QRectF, *, half_width: float, low: float, high: float) -> ToScale:
    """Largest scale at which a figure, even about x = 0, fits into an area.

    Examples
    --------
    >>> to = fitted_scale(QRectF(0, 0, 200, 300), half_width=0.5, low=0.0, high=1.0)
    >>> to.per_metre, to.x(0.0), to.y(0.0)
    (200.0, 100.0, 250.0)
    """
    height = high - low
    per_metre = min(area.width() / (2.0 * half_width), area.height() / height)
    spare = area.height() - per_metre * height
    return ToScale(per_metre, area.center().x(), area.bottom() - 0.5 * spare + per_metre * low)


def bar_length(per_metre: float, widest: float) -> float:
    """Longest of 1, 2, 5 times a power of ten in metres that is at most `widest` pixels.

    Examples
    --------
    >>> bar_length(1000.0, 80.0)
    0.05
    """
    most = widest / per_metre
    decade = 10.0 ** math.floor(math.log10(most))
    return float(f"{max(m for m in (1.0, 2.0, 5.0) if m * decade <= most) * decade:.6g}")
