"""Pen of the build sheet: words, fills and pictures on a page, in points from its upper left."""

from __future__ import annotations

import re
from typing import Final

from PySide6.QtCore import QByteArray, QRectF, QSizeF, Qt
from PySide6.QtGui import QColor, QFont, QPainter, QPen
from PySide6.QtSvg import QSvgRenderer

RESOLUTION: Final = 1200
"""Steps an inch in which the sheet is laid out."""
MILLIMETRE: Final = 72.0 / 25.4
"""[pt]"""
INK: Final = QColor("#1b2421")
MUTED: Final = QColor("#56635e")
LINE: Final = QColor("#c3cac4")
WRAP: Final = int(Qt.TextFlag.TextWordWrap) | int(Qt.AlignmentFlag.AlignLeft)
_UNIT: Final = RESOLUTION / 72.0
_UNIT_BEHIND: Final = re.compile(
    r"(?<=\d) (?=(?:[pnµmkMG]?(?:V|A|Ω|F|H|Hz|W|J|s|m)|K|K/W|°C|%|g|min)(?![\w/²]))"
)
"""Blank between a number and its unit."""
_PER: Final = re.compile(r"(?<=[VAK])/(?=[a-zµW])")
"""Stroke within a unit."""


class Pen:
    """Draws and measures on a painter with `RESOLUTION` steps an inch.

    Parameters
    ----------
    painter : QPainter
        Active on the pages.
    """

    def __init__(self, painter: QPainter) -> None:
        self._painter = painter
        self._heights: dict[tuple[str, float, float, bool], float] = {}

    def height(self, text: str, size: float, width: float, *, bold: bool = False) -> float:
        """Height of wrapped words [pt]."""
        key = (text, size, width, bold)
        if key not in self._heights:
            self._painter.setFont(_font(size, bold))
            box = QRectF(0, 0, width * _UNIT, 1e9)
            needed = self._painter.boundingRect(box, WRAP, bound(text))
            self._heights[key] = float(needed.height()) / _UNIT
        return self._heights[key]

    def word_widths(self, text: str, size: float, *, bold: bool = False) -> list[float]:
        """Widths of the parts of a text that no wrapping divides [pt]."""
        self._painter.setFont(_font(size, bold))
        metrics = self._painter.fontMetrics()
        return [metrics.horizontalAdvance(word) / _UNIT for word in bound(text).split(" ")]

    def words(
        self,
        text: str,
        place: QRectF,
        size: float,
        *,
        bold: bool = False,
        colour: QColor = INK,
        flags: int = WRAP,
    ) -> None:
        """Draw words into a place."""
        self._painter.setFont(_font(size, bold))
        self._painter.setPen(colour)
        self._painter.drawText(_steps(place), flags, bound(text))

    def fill(self, place: QRectF, colour: QColor) -> None:
        """Fill a rectangle."""
        self._painter.fillRect(_steps(place), colour)

    def frame(self, place: QRectF) -> None:
        """Thin line round a rectangle."""
        self._painter.setPen(QPen(LINE, 0.5 * _UNIT))
        self._painter.drawRect(_steps(place))

    def picture(self, svg: str, place: QRectF) -> None:
        """Draw SVG text, its view box over a rectangle."""
        # Its words take from the painter what they do not say themselves, a heading's weight.
        self._painter.setFont(_font(10.0, bold=False))
        _renderer(svg).render(self._painter, _steps(place))


def bound(text: str) -> str:
    """Text in which no number is parted from its unit.

    Examples
    --------
    >>> bound("0 V to 1.5 k\N{GREEK CAPITAL LETTER OMEGA} in 2 rows").count("\N{NO-BREAK SPACE}")
    2
    """
    kept = _UNIT_BEHIND.sub("\N{NO-BREAK SPACE}", text)
    return _PER.sub("/\N{WORD JOINER}", kept)


def natural_size(svg: str) -> QSizeF:
    """Size of the view box of SVG text, in its own units."""
    return _renderer(svg).viewBoxF().size()


def _renderer(svg: str) -> QSvgRenderer:
    return QSvgRenderer(QByteArray(svg.encode("utf-8")))


def _steps(place: QRectF) -> QRectF:
    return QRectF(
        place.x() * _UNIT, place.y() * _UNIT, place.width() * _UNIT, place.height() * _UNIT
    )


def _font(size: float, bold: bool) -> QFont:
    font = QFont("DejaVu Sans")
    font.setStyleHint(QFont.StyleHint.SansSerif)
    font.setPixelSize(round(size * _UNIT))
    font.setBold(bold)
    return font
