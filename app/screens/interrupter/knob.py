"""Rotary knob for a travel of 0 to 1, turned by mouse, wheel and keys."""

from __future__ import annotations

import math
from typing import Final

from PySide6.QtCore import QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import (
    QColor,
    QFont,
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QPen,
    QWheelEvent,
)
from PySide6.QtWidgets import QSizePolicy, QWidget

from burstwise.app.theme import Theme, Tokens
from burstwise.core.units import shown

SWEEP: Final = 270.0
"""Angle between the end stops [degrees]."""
_START: Final = 225.0
"""Angle of the low end stop, counted from the right, anticlockwise [degrees]."""
_FINE, _COARSE = 0.01, 0.10
_MARKS: Final = 11
_DEAD: Final = 8.0
"""Distance from the middle within which the mouse has no angle [px]."""
_STEPS: Final = {
    Qt.Key.Key_Right: _FINE,
    Qt.Key.Key_Up: _FINE,
    Qt.Key.Key_Left: -_FINE,
    Qt.Key.Key_Down: -_FINE,
    Qt.Key.Key_PageUp: _COARSE,
    Qt.Key.Key_PageDown: -_COARSE,
}


def knob_angle(travel: float) -> float:
    """Angle of the pointer [degrees], anticlockwise from the right.

    Examples
    --------
    >>> knob_angle(0.0), knob_angle(0.5), knob_angle(1.0)
    (225.0, 90.0, -45.0)
    """
    return _START - SWEEP * travel


class Knob(QWidget):
    """Knob with end stops; turning with the mouse is relative, so that a press moves nothing.

    The wheel turns it by 1 %, with Shift by 0.1 %; arrow keys by 1 %, Page Up and Page Down by
    10 %, Home and End to the stops.
    """

    moved = Signal(float)
    released = Signal()

    def __init__(self, theme: Theme, name: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._tokens = theme.tokens
        self._travel = 0.0
        self._angle: float | None = None
        self._stops = ("", "")
        self.setAccessibleName(name)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setCursor(Qt.CursorShape.OpenHandCursor)
        self.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)
        theme.changed.connect(self._recolour)

    @property
    def travel(self) -> float:
        """Where the knob stands, 0 to 1."""
        return self._travel

    @property
    def dragging(self) -> bool:
        """Whether the mouse holds the knob."""
        return self._angle is not None

    def set_travel(self, travel: float) -> None:
        """Show a place, without a signal."""
        self._travel = min(max(travel, 0.0), 1.0)
        self.setAccessibleDescription(f"at {shown(self._travel, '%', digits=3)} of its travel")
        self.update()

    def set_stops(self, low: str, high: str) -> None:
        """Words at the end stops."""
        self._stops = (low, high)
        self.update()

    def sizeHint(self) -> QSize:
        """Square with room for the words at the stops."""
        return QSize(196, 196)

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Take hold."""
        if event.button() == Qt.MouseButton.LeftButton:
            self._angle = self._angle_at(event.position())
            if self._angle is None:
                self._angle = knob_angle(self._travel)
            self.setCursor(Qt.CursorShape.ClosedHandCursor)

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Turn by the angle that the mouse moved around the middle."""
        now = self._angle_at(event.position())
        if self._angle is None or now is None:
            return
        turned = (self._angle - now + 180.0) % 360.0 - 180.0
        self._angle = now
        self._turn(turned / SWEEP)

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        """Let go."""
        if event.button() == Qt.MouseButton.LeftButton and self._angle is not None:
            self._angle = None
            self.setCursor(Qt.CursorShape.OpenHandCursor)
            self.released.emit()

    def wheelEvent(self, event: QWheelEvent) -> None:
        """Turn by notches, only while the knob has the focus, so that a page can be scrolled."""
        if not self.hasFocus():
            event.ignore()
            return
        notches = (event.angleDelta().y() or event.angleDelta().x()) / 120.0
        fine = bool(event.modifiers() & Qt.KeyboardModifier.ShiftModifier)
        self._turn(notches * _FINE * (0.1 if fine else 1.0))
        self.released.emit()
        event.accept()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Turn by steps or to a stop."""
        key = Qt.Key(event.key())
        if key in _STEPS:
            self._turn(_STEPS[key])
        elif key in (Qt.Key.Key_Home, Qt.Key.Key_End):
            self._turn(-1.0 if key == Qt.Key.Key_Home else 1.0)
        else:
            super().keyPressEvent(event)

    def keyReleaseEvent(self, event: QKeyEvent) -> None:
        """End of a run of steps."""
        super().keyReleaseEvent(event)
        if not event.isAutoRepeat():
            self.released.emit()

    def paintEvent(self, event: QPaintEvent) -> None:
        """Dial, end stops, pointer, travel in per cent."""
        tokens = self._tokens
        middle, radius = self._middle(), 62.0
        ring = QRectF(middle.x() - radius, middle.y() - radius, 2 * radius, 2 * radius)
        with QPainter(self) as painter:
            painter.setRenderHint(QPainter.RenderHint.Antialiasing)
            pen = QPen(QColor(tokens.line), 7)
            pen.setCapStyle(Qt.PenCapStyle.FlatCap)
            painter.setPen(pen)
            painter.drawArc(ring, round(16 * knob_angle(1.0)), round(16 * SWEEP))
            pen.setColor(QColor(tokens.accent))
            painter.setPen(pen)
            painter.drawArc(ring, round(16 * _START), round(-16 * SWEEP * self._travel))
            painter.setPen(QPen(QColor(tokens.muted), 1.2))
            for place in range(_MARKS):
                angle = knob_angle(place / (_MARKS - 1))
                painter.drawLine(_at(middle, angle, radius + 7), _at(middle, angle, radius + 12))
            painter.setPen(QPen(QColor(tokens.accent if self.hasFocus() else tokens.line), 2))
            painter.setBrush(QColor(tokens.panel))
            painter.drawEllipse(middle, radius - 12, radius - 12)
            angle = knob_angle(self._travel)
            pen = QPen(QColor(tokens.text), 4)
            pen.setCapStyle(Qt.PenCapStyle.RoundCap)
            painter.setPen(pen)
            painter.drawLine(_at(middle, angle, radius - 30), _at(middle, angle, radius - 17))
            self._write(painter, middle)

    def _write(self, painter: QPainter, middle: QPointF) -> None:
        painter.setPen(QColor(self._tokens.text))
        large = QFont(self.font())
        large.setPointSizeF(self.font().pointSizeF() + 2)
        painter.setFont(large)
        centre = Qt.AlignmentFlag.AlignCenter
        painter.drawText(
            QRectF(middle.x() - 40, middle.y() - 14, 80, 28),
            centre,
            shown(self._travel, "%", digits=3),
        )
        painter.setFont(self.font())
        painter.setPen(QColor(self._tokens.muted))
        painter.drawText(QRectF(middle.x() - 40, middle.y() + 12, 80, 18), centre, "of travel")
        foot = self.height() - 24.0
        low, high = self._stops
        painter.drawText(QRectF(0, foot, self.width() / 2 - 4, 22), Qt.AlignmentFlag.AlignLeft, low)
        painter.drawText(
            QRectF(self.width() / 2 + 4, foot, self.width() / 2 - 4, 22),
            Qt.AlignmentFlag.AlignRight,
            high,
        )

    def _middle(self) -> QPointF:
        return QPointF(self.width() / 2, (self.height() - 20) / 2)

    def _angle_at(self, at: QPointF) -> float | None:
        away = at - self._middle()
        if math.hypot(away.x(), away.y()) < _DEAD:
            return None
        return math.degrees(math.atan2(-away.y(), away.x()))

    def _turn(self, by: float) -> None:
        before = self._travel
        self.set_travel(round(before + by, 6))
        if self._travel != before:
            self.moved.emit(self._travel)

    def _recolour(self, tokens: Tokens) -> None:
        self._tokens = tokens
        self.update()


def _at(middle: QPointF, angle: float, radius: float) -> QPointF:
    turn = math.radians(angle)
    return QPointF(middle.x() + radius * math.cos(turn), middle.y() - radius * math.sin(turn))
