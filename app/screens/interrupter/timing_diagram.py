"""Timing diagram: signals in lanes over one common time, painted in one go to follow a drag."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Final

import numpy as np
import pyqtgraph as pg
from PySide6.QtCore import QEvent, QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QColor, QMouseEvent, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QFrame, QSizePolicy, QWidget

from burstwise.app.theme import Theme, Tokens
from burstwise.app.widgets.restyle import set_style_property
from burstwise.core.arrays import Array
from burstwise.core.units import shown

_NAMES: Final = 150
_RIGHT: Final = 18
_TOP: Final = 8
_AXIS: Final = 40
_GAP: Final = 10
_TICKS: Final = 6
_NOTHING: Final = 1e-3
"""Share of the highest value below which the lowest is told as zero."""


@dataclass(frozen=True, slots=True)
class Lane:
    """One signal: its name, its unit (``"%"`` for shares, ``""`` for a state), its top value."""

    name: str
    unit: str
    values: Array
    top: float
    marks: tuple[float, ...] = ()

    def text(self, value: float) -> str:
        """One value with its unit; a state as a word."""
        if not self.unit:
            return "on" if value > 0.5 else "off"
        return _text(value, self.unit)


@lru_cache(maxsize=512)
def _text(value: float, unit: str) -> str:
    """Value with three figures, remembered: in a drag the same ones come again and again."""
    return shown(value, unit, digits=3)


def tick_step(span: float) -> float:
    """Round distance of ticks, 1, 2 or 5 times a power of ten, for at most `_TICKS` of them.

    Examples
    --------
    >>> tick_step(0.0132), tick_step(0.9)
    (0.005, 0.2)
    """
    least = span / _TICKS
    power = 10.0 ** np.floor(np.log10(least))
    return float(next(m * power for m in (1.0, 2.0, 5.0, 10.0) if m * power >= least * (1 - 1e-9)))


class TimingDiagram(QFrame):
    """Lanes of signals; the mouse shows the values at its place.

    Parameters
    ----------
    theme : Theme
        Colours, followed when they change.
    """

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._tokens = theme.tokens
        self._time: Array = np.zeros(0)
        self._lanes: tuple[Lane, ...] = ()
        self._cursor: float | None = None
        self.setMouseTracking(True)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.setMinimumHeight(220)
        self.setAccessibleName("Timing diagram")
        set_style_property(self, "role", "panel")
        theme.changed.connect(self._recolour)

    @property
    def lanes(self) -> tuple[Lane, ...]:
        """Signals in view."""
        return self._lanes

    def show_lanes(self, time: Array, *lanes: Lane) -> None:
        """Replace the signals."""
        self._time, self._lanes = time, lanes
        self.update()

    def sizeHint(self) -> QSize:
        """Room for four lanes."""
        return QSize(700, 320)

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Show the values at the mouse."""
        area = self._area()
        inside = self._time.size and area.contains(event.position())
        share = (event.position().x() - area.left()) / area.width()
        self._cursor = share * float(self._time[-1]) if inside else None
        self.update()

    def leaveEvent(self, event: QEvent) -> None:
        """Hide the cursor."""
        super().leaveEvent(event)
        self._cursor = None
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint grid, lanes and cursor."""
        super().paintEvent(event)
        with QPainter(self) as painter:
            if self._time.size < 2:
                painter.setPen(QColor(self._tokens.muted))
                words = "No bursts: this set does not run in every build."
                painter.drawText(self.rect(), Qt.AlignmentFlag.AlignCenter, words)
                return
            painter.setRenderHint(QPainter.RenderHint.Antialiasing)
            area = self._area()
            self._paint_axis(painter, area)
            across = area.left() + self._time * (area.width() / float(self._time[-1]))
            height = area.height() / len(self._lanes)
            for place, lane in enumerate(self._lanes):
                top = area.top() + place * height
                box = QRectF(area.left(), top, area.width(), height - _GAP)
                self._paint_lane(painter, box, lane, across)
            if self._cursor is not None:
                left = area.left() + self._cursor / float(self._time[-1]) * area.width()
                painter.setPen(QPen(QColor(self._tokens.muted), 1, Qt.PenStyle.DotLine))
                painter.drawLine(QPointF(left, area.top()), QPointF(left, area.bottom()))

    def _area(self) -> QRectF:
        return QRectF(
            _NAMES, _TOP, max(self.width() - _NAMES - _RIGHT, 10),
            max(self.height() - _TOP - _AXIS, 10),
        )  # fmt: skip

    def _paint_axis(self, painter: QPainter, area: QRectF) -> None:
        end = float(self._time[-1])
        step = tick_step(end)
        foot = area.bottom() - _GAP
        for place in range(int(end / step + 1e-9) + 1):
            left = area.left() + place * step / end * area.width()
            painter.setPen(QColor(self._tokens.grid))
            painter.drawLine(QPointF(left, area.top()), QPointF(left, foot))
            painter.setPen(QColor(self._tokens.muted))
            painter.drawText(
                QRectF(left - 50, foot + 3, 100, 20),
                Qt.AlignmentFlag.AlignHCenter,
                _text(place * step, "s"),
            )
        painter.drawText(
            QRectF(area.left(), foot + 22, area.width(), 20), Qt.AlignmentFlag.AlignHCenter, "Time"
        )

    def _paint_lane(self, painter: QPainter, box: QRectF, lane: Lane, across: Array) -> None:
        scale = (box.height() - 3) / max(lane.top, 1e-30)
        painter.setPen(QColor(self._tokens.line))
        painter.drawLine(box.bottomLeft(), box.bottomRight())
        pen = QPen(QColor(self._tokens.muted), 1, Qt.PenStyle.DashLine)
        painter.setPen(pen)
        for mark in lane.marks:
            level = box.bottom() - mark * scale
            painter.drawLine(QPointF(box.left(), level), QPointF(box.right(), level))
        heights = box.bottom() - lane.values * scale
        painter.setPen(QPen(QColor(self._tokens.accent), 1.5))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.drawPath(pg.arrayToQPath(across, heights))
        painter.setPen(QColor(self._tokens.text))
        side = QRectF(10, box.top(), _NAMES - 20, box.height())
        painter.drawText(side, Qt.AlignmentFlag.AlignTop, lane.name)
        painter.setPen(QColor(self._tokens.muted))
        painter.drawText(
            side.adjusted(0, painter.fontMetrics().height(), 0, 0), 0, self._side(lane)
        )

    def _side(self, lane: Lane) -> str:
        if self._cursor is not None:
            value = float(np.interp(self._cursor, self._time, lane.values))
            return f"{lane.text(value)} at {_text(self._cursor, 's')}"
        if not lane.unit:
            return "on, off"
        low, high = float(lane.values.min()), float(lane.values.max())
        if abs(low) < _NOTHING * abs(high):
            low = 0.0
        return f"{lane.text(low)} to {lane.text(high)}"

    def _recolour(self, tokens: Tokens) -> None:
        self._tokens = tokens
        self.update()
