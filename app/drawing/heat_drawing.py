"""The way of the heat from junction to air, drawn with the temperature at each place."""

from __future__ import annotations

import math
from typing import Final

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QColor, QFont, QFontMetricsF, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QWidget

from burstwise.app.drawing.frame import DrawingFrame
from burstwise.app.theme import Theme, mark
from burstwise.core.assembly.symbol_style import SymbolStyle
from burstwise.core.limits.ratings import verdict_of
from burstwise.core.studies.cooling import HeatWay, Place
from burstwise.core.units import shown

_WAITING: Final = "The way of the heat appears with the first evaluation."
_LEAST: Final = QSize(420, 170)
_DOT: Final = 7.0
_BODY: Final = QSize(54, 16)
_TEETH: Final = 3


def temperature_text(celsius: float) -> str:
    """Temperature, or that there is none to settle at.

    Examples
    --------
    >>> temperature_text(83.24), temperature_text(math.inf)
    ('83.2 °C', 'runs away')
    """
    return shown(celsius, "°C", digits=3) if math.isfinite(celsius) else "runs away"


def margin_of(place: Place, ambient: float) -> float | None:
    """Part of the rise up to a place's limit that is left; None where it has none.

    Examples
    --------
    >>> margin_of(Place("Heat sink", 55.0, 6.0, 85.0), 25.0)
    0.5
    """
    if place.limit is None or place.limit <= ambient:
        return None
    return (place.limit - place.temperature) / (place.limit - ambient)


class HeatDrawing(DrawingFrame):
    """Places as dots on a line, resistances as bodies between them.

    Parameters
    ----------
    theme : Theme
        Colours, followed when they change.
    """

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(
            theme, parent, name="Way of the heat", width=_LEAST.width(), height=_LEAST.height()
        )
        self._empty = _WAITING
        self._theme = theme
        theme.symbols_changed.connect(self.update)
        self.way: HeatWay | None = None

    def show_way(self, way: HeatWay) -> None:
        """Show another state."""
        self.way = way
        self.setAccessibleDescription(self.describe())
        self.update()

    def describe(self) -> str:
        """All places and temperatures in words."""
        if self.way is None:
            return self._empty
        places = "; ".join(
            f"{place.name} {temperature_text(place.temperature)}" for place in self.way.places
        )
        return f"{_heat_text(self.way)}; {places}; {_peak_text(self.way)}"

    def paintEvent(self, event: QPaintEvent) -> None:
        """Draw line, bodies, dots and words."""
        super().paintEvent(event)
        with QPainter(self) as painter:
            painter.setRenderHint(QPainter.RenderHint.Antialiasing)
            if self.way is None:
                self.paint_empty(painter)
                return
            self._paint_way(painter, self.way)

    def _paint_way(self, painter: QPainter, way: HeatWay) -> None:
        ink, muted = QColor(self._tokens.text), QColor(self._tokens.muted)
        step = self.width() / len(way.places)
        xs = [step * (place + 0.5) for place in range(len(way.places))]
        y = 0.5 * self.height() + 4
        painter.setPen(QPen(ink, 1.5))
        painter.drawLine(QPointF(xs[0], y), QPointF(xs[-1], y))
        ambient = way.places[-1].temperature
        for x, place in zip(xs, way.places, strict=True):
            self._paint_place(painter, QPointF(x, y), place, margin_of(place, ambient))
        for left, right, place, after in zip(xs, xs[1:], way.places, way.places[1:], strict=False):
            self._paint_resistance(painter, QPointF(0.5 * (left + right), y), place, after)
        painter.setPen(muted)
        foot = QRectF(0, self.height() - 30, self.width(), 20)
        words = f"{_heat_text(way)} · {_peak_text(way)}"
        painter.drawText(foot, Qt.AlignmentFlag.AlignCenter, words)

    def _paint_place(
        self, painter: QPainter, at: QPointF, place: Place, margin: float | None
    ) -> None:
        severity = None if margin is None else verdict_of(margin).severity
        colour = QColor(self._tokens.text if margin is None else self._tokens.severity(severity))
        painter.setPen(QPen(colour, 2))
        painter.setBrush(QColor(self._tokens.panel))
        painter.drawEllipse(at, _DOT, _DOT)
        glyph = "" if margin is None else f"{mark(severity).glyph} "
        bold = QFont(self.font())
        bold.setWeight(QFont.Weight.DemiBold)
        painter.setFont(bold)
        self._word(painter, at - QPointF(0, 24), f"{glyph}{temperature_text(place.temperature)}")
        painter.setFont(self.font())
        painter.setPen(QColor(self._tokens.text))
        self._word(painter, at - QPointF(0, 44), place.name)
        if place.limit is not None:
            painter.setPen(QColor(self._tokens.muted))
            limit = f"limit {shown(place.limit, '°C', digits=3)}"
            self._word(painter, at + QPointF(0, 24), limit)

    def _paint_resistance(self, painter: QPainter, at: QPointF, place: Place, after: Place) -> None:
        painter.setPen(QPen(QColor(self._tokens.text), 1.5))
        painter.setBrush(QColor(self._tokens.panel))
        body = QRectF(0, 0, _BODY.width(), _BODY.height())
        body.moveCenter(at)
        if self._theme.symbols is SymbolStyle.IEC:
            painter.drawRect(body)
        else:
            painter.fillRect(body, QColor(self._tokens.panel))
            painter.drawPolyline(zigzag(body))
        painter.setPen(QColor(self._tokens.muted))
        self._word(painter, at + QPointF(0, 42), shown(place.resistance, "K/W", digits=3))
        rise = place.temperature - after.temperature
        if math.isfinite(rise):
            self._word(painter, at + QPointF(0, 22), f"+{shown(rise, 'K', digits=3)}")

    def _word(self, painter: QPainter, centre: QPointF, text: str) -> None:
        size = QFontMetricsF(painter.font()).size(0, text)
        room = QRectF(0, 0, size.width() + 4, size.height())
        room.moveCenter(centre)
        room.moveLeft(min(max(room.left(), 2.0), self.width() - room.width() - 2.0))
        painter.drawText(room, Qt.AlignmentFlag.AlignCenter, text)


def zigzag(body: QRectF) -> list[QPointF]:
    """Corners of a resistor's zigzag from the left to the right end of a body.

    Examples
    --------
    >>> corners = zigzag(QRectF(0, 0, 12, 4))
    >>> corners[0].y() == corners[-1].y() == 2.0
    True
    """
    step = body.width() / (2 * _TEETH)
    peaks = [
        QPointF(body.left() + (place + 0.5) * step, body.bottom() if place % 2 else body.top())
        for place in range(2 * _TEETH)
    ]
    middle = body.center().y()
    return [QPointF(body.left(), middle), *peaks, QPointF(body.right(), middle)]


def _heat_text(way: HeatWay) -> str:
    if not math.isfinite(way.heat):
        return "No heat at which it settles"
    return f"Mean heat of the device {shown(way.heat, 'W', digits=3)}"


def _peak_text(way: HeatWay) -> str:
    return f"junction at its peak {temperature_text(way.junction_peak)}"
