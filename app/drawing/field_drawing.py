"""Map of the field around a coil to scale: half a cross-section, contours, a person for size."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QColor, QPainter, QPainterPath, QPaintEvent, QPen
from PySide6.QtWidgets import QWidget

from burstwise.app.drawing.coil_drawing import outline
from burstwise.app.drawing.frame import DrawingFrame
from burstwise.app.drawing.pen import Draughtsman
from burstwise.app.drawing.scale import ToScale, bar_length
from burstwise.app.drawing.section import CoilSection
from burstwise.app.theme import Theme
from burstwise.core.coil.arrays import Floats
from burstwise.core.units import shown

_LEFT: Final = 14.0
_RIGHT: Final = 12.0
_BELOW: Final = 34.0
_SAMPLE: Final = 30.0
_PERSON: Final = 1.75
"""Height of the person drawn for size [m]."""
REACH_OF_ARM: Final = 0.12 * _PERSON
"""From the middle of that person to a hand at its side [m]."""


@dataclass(frozen=True, slots=True, eq=False)
class FieldLine:
    """One level: words for the legend and its lines in metres, x from the axis, y from earth."""

    words: str
    lines: tuple[Floats, ...]


@dataclass(frozen=True, slots=True, eq=False)
class FieldPicture:
    """What a map shows.

    Parameters
    ----------
    section : CoilSection
        The coil; its bottom turn is at y = 0.
    levels : tuple of FieldLine
        Contours with their words.
    keep : float
        Distance from the axis beyond which the person stands, hands and all [m].
    reach, height : float
        Size of the map [m].
    """

    section: CoilSection
    levels: tuple[FieldLine, ...]
    keep: float
    reach: float
    height: float


class FieldDrawing(DrawingFrame):
    """Half-plane from the coil's axis outwards; without a picture a sentence says why.

    Parameters
    ----------
    theme : Theme
        Colours, followed when they change.
    """

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        name = "Field around the coil, to scale"
        super().__init__(theme, parent, name=name, width=280, height=260)
        self._picture: FieldPicture | None = None

    @property
    def picture(self) -> FieldPicture | None:
        """What is drawn."""
        return self._picture

    @property
    def empty(self) -> str:
        """Sentence in place of a picture."""
        return self._empty

    def show_picture(self, picture: FieldPicture) -> None:
        """Draw a map."""
        self._picture, self._empty = picture, ""
        self.setAccessibleDescription("; ".join(level.words for level in picture.levels))
        self.update()

    def show_nothing(self, why: str) -> None:
        """Draw no map and say why."""
        self._picture, self._empty = None, why
        self.setAccessibleDescription(why)
        self.update()

    def sizeHint(self) -> QSize:
        """Room for legend and map."""
        return QSize(390, 460)

    def scale(self) -> ToScale:
        """Pixels of a place: x from the axis, y from the earth plane, both in metres."""
        found = self._picture
        assert found is not None
        above = 12.0 + self.fontMetrics().height() * len(found.levels) + 6.0
        wide = max(self.width() - _LEFT - _RIGHT, 10.0)
        high = max(self.height() - above - _BELOW, 10.0)
        return ToScale(min(wide / found.reach, high / found.height), _LEFT, self.height() - _BELOW)

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint legend, earth, coil, contours, person and scale."""
        super().paintEvent(event)
        with QPainter(self) as painter:
            painter.setRenderHint(QPainter.RenderHint.Antialiasing)
            if self._picture is None:
                self.paint_empty(painter)
                return
            self._legend(painter, self._picture)
            self._map(painter, self._picture, self.scale())

    def _legend(self, painter: QPainter, picture: FieldPicture) -> None:
        line = self.fontMetrics().height()
        for index, level in enumerate(picture.levels):
            y = 12.0 + line * index
            painter.setPen(self._tokens.series_pen(index, width=2.0))
            middle = y + 0.5 * line
            painter.drawLine(QPointF(_LEFT, middle), QPointF(_LEFT + _SAMPLE, middle))
            painter.setPen(QColor(self._tokens.text))
            left = _LEFT + _SAMPLE + 8.0
            room = QRectF(left, y, self.width() - left - 6.0, line)
            painter.drawText(room, Qt.AlignmentFlag.AlignLeft, level.words)

    def _map(self, painter: QPainter, picture: FieldPicture, to: ToScale) -> None:
        hand = Draughtsman(painter, self._tokens)
        top = to.y(picture.height)
        painter.setPen(hand.thin(self._tokens.line, (9.0, 3.0, 2.0, 3.0)))
        painter.drawLine(QPointF(to.x(0.0), top), QPointF(to.x(0.0), to.y(0.0)))
        self._person(painter, picture.keep + REACH_OF_ARM, to)
        painter.save()
        painter.setClipRect(QRectF(to.x(0.0), top, to.per_metre * picture.reach, to.y(0.0) - top))
        for index, level in enumerate(picture.levels):
            painter.setPen(self._tokens.series_pen(index, width=2.0))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            for places in level.lines:
                painter.drawPath(_polyline(places, to))
        self._coil(painter, picture.section, to)
        painter.restore()
        hand.earth(to.x(0.0), self.width() - _RIGHT, to.y(0.0))
        length = bar_length(to.per_metre, 110.0)
        y = self.height() - 12.0
        painter.setPen(QPen(QColor(self._tokens.text), 2.0))
        right = _LEFT + to.per_metre * length
        painter.drawLine(QPointF(_LEFT, y), QPointF(right, y))
        text = shown(length, "m")
        hand.label(text, QPointF(right + 4.0 + 0.5 * hand.text_size(text).width(), y))

    def _coil(self, painter: QPainter, section: CoilSection, to: ToScale) -> None:
        foot = ToScale(to.per_metre, to.left, to.top + to.per_metre * section.earth)
        painter.setPen(QPen(QColor(self._tokens.text), 1.0))
        painter.setBrush(QColor(self._tokens.line))
        for shape in section.top:
            painter.drawPath(outline(shape, foot))
        for index, shapes in (
            (0, section.winding),
            (1, tuple(turn.shape for turn in section.turns if turn.used)),
        ):
            colour = QColor(self._tokens.series[index])
            painter.setPen(QPen(colour, 1.0))
            painter.setBrush(colour)
            for shape in shapes:
                painter.drawPath(outline(shape, foot))

    def _person(self, painter: QPainter, distance: float, to: ToScale) -> None:
        size = to.per_metre * _PERSON
        ground = to.point(distance, 0.0)
        head = 0.07 * size
        painter.setPen(QPen(QColor(self._tokens.muted), 1.2))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.drawEllipse(QPointF(ground.x(), ground.y() - size + head), head, head)
        hip = QPointF(ground.x(), ground.y() - 0.48 * size)
        neck = QPointF(ground.x(), ground.y() - size + 2.0 * head)
        painter.drawLine(neck, hip)
        for side in (-1.0, 1.0):
            painter.drawLine(hip, ground + QPointF(side * 0.08 * size, 0.0))
            across = side * to.per_metre * REACH_OF_ARM
            hand = QPointF(ground.x() + across, ground.y() - 0.5 * size)
            painter.drawLine(QPointF(ground.x(), ground.y() - 0.8 * size), hand)


def _polyline(places: Floats, to: ToScale) -> QPainterPath:
    path = QPainterPath()
    for index, (x, y) in enumerate(np.asarray(places)):
        point = to.point(float(x), float(y))
        if index:
            path.lineTo(point)
        else:
            path.moveTo(point)
    return path
