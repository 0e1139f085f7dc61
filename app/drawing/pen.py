"""Painter of dimension lines, text on a ground, and hatching."""

from __future__ import annotations

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QFontMetricsF, QPainter, QPainterPath, QPen

from burstwise.app.theme import Tokens

ARROW = 5.0
_PAD = 3.0


class Draughtsman:
    """Draws with a painter in the colours of a look.

    Parameters
    ----------
    painter : QPainter
        Active painter.
    tokens : Tokens
        Colours.
    """

    def __init__(self, painter: QPainter, tokens: Tokens) -> None:
        self._painter = painter
        self._tokens = tokens
        self._metrics = QFontMetricsF(painter.font())

    def text_size(self, text: str) -> QRectF:
        """Room of a text on its ground, at the origin."""
        width = self._metrics.horizontalAdvance(text) + 2 * _PAD
        return QRectF(0.0, 0.0, width, self._metrics.height())

    def label(self, text: str, centre: QPointF, *, colour: str | None = None) -> QRectF:
        """Text centred at a point on a ground of the panel's colour; returns its room."""
        room = self.text_size(text)
        room.moveCenter(centre)
        ground = QColor(self._tokens.panel)
        ground.setAlpha(225)
        self._painter.fillRect(room, ground)
        self._painter.setPen(QColor(colour or self._tokens.text))
        self._painter.drawText(room, Qt.AlignmentFlag.AlignCenter, text)
        return room

    def thin(self, colour: str | None = None, dashes: tuple[float, ...] = ()) -> QPen:
        """Hair line, muted by default."""
        pen = QPen(QColor(colour or self._tokens.muted), 1.0)
        if dashes:
            pen.setDashPattern(dashes)
        return pen

    def upright(self, x: float, bottom: float, top: float, text: str, *, side: int) -> None:
        """Vertical dimension line with arrows at both ends and its value beside the middle.

        The value stands at the left with `side` -1, at the right with 1.
        """
        self._painter.setPen(self.thin())
        self._painter.drawLine(QPointF(x, bottom), QPointF(x, top))
        room = bottom - top
        if room > 3 * ARROW:
            self._arrow(QPointF(x, bottom), QPointF(0, -1))
            self._arrow(QPointF(x, top), QPointF(0, 1))
        away = side * (_PAD + 0.5 * self.text_size(text).width())
        self.label(text, QPointF(x + away, 0.5 * (bottom + top)))

    def level(self, y: float, left: float, right: float, text: str) -> None:
        """Horizontal dimension line with arrows at both ends and its value in the middle."""
        self._painter.setPen(self.thin())
        self._painter.drawLine(QPointF(left, y), QPointF(right, y))
        if right - left > 3 * ARROW:
            self._arrow(QPointF(left, y), QPointF(1, 0))
            self._arrow(QPointF(right, y), QPointF(-1, 0))
        width = self.text_size(text).width()
        middle = 0.5 * (left + right)
        beside = right + ARROW + 0.5 * width
        self.label(text, QPointF(middle if width < right - left else beside, y))

    def witness(self, start: QPointF, end: QPointF) -> None:
        """Fine line from a body to its dimension line."""
        self._painter.setPen(self.thin(self._tokens.line))
        self._painter.drawLine(start, end)

    def earth(self, left: float, right: float, y: float) -> None:
        """Earth plane: a line with slanted strokes below."""
        self._painter.setPen(QPen(QColor(self._tokens.text), 1.5))
        self._painter.drawLine(QPointF(left, y), QPointF(right, y))
        self._painter.setPen(self.thin())
        strokes = QPainterPath()
        at = left
        while at < right - 4.0:
            strokes.moveTo(at + 7.0, y + 1.0)
            strokes.lineTo(at, y + 8.0)
            at += 9.0
        self._painter.drawPath(strokes)

    def _arrow(self, tip: QPointF, inward: QPointF) -> None:
        across = QPointF(-inward.y(), inward.x())
        base = tip + inward * ARROW
        path = QPainterPath(tip)
        path.lineTo(base + across * (0.4 * ARROW))
        path.lineTo(base - across * (0.4 * ARROW))
        path.closeSubpath()
        self._painter.fillPath(path, QColor(self._tokens.muted))
