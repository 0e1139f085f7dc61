"""Map of regions over two fields: fill, pattern and words per region, frontier, point, cursor.

Regions differ by pattern and by their words, so that a print in grey reads as well; beyond the
frontier the ground is darker too.
"""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray
from PySide6.QtCore import QPointF, QRect, QRectF, QSize, Qt, Signal
from PySide6.QtGui import (
    QColor,
    QFont,
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QPen,
    QPixmap,
    QResizeEvent,
)
from PySide6.QtWidgets import QFrame, QSizePolicy, QWidget
from scipy.ndimage import distance_transform_edt

from burstwise.app.plots.map_picture import Regions, map_picture, ticks
from burstwise.app.plots.ranges import Span
from burstwise.app.theme import Theme, Tokens
from burstwise.app.widgets.drag import ARROWS, Drag, round_step, snapped
from burstwise.app.widgets.restyle import set_style_property
from burstwise.core.arrays import Array

LEFT, TOP, RIGHT, BOTTOM = 66, 10, 16, 40
_LABEL_PAD: Final = 3
_NEAR: Final = 12.0
"""Distance from the present point at which the mouse takes hold of it [px]."""


class MapPlot(QFrame):
    """Regions over two axes; a click or Return goes to the point under the cursor.

    Arrow keys move the cursor (with Shift ten steps), Return goes there, Escape hides it.
    The present point is dragged by its ring, or moved by Ctrl with the arrow keys; `drag.moved`
    carries both values, at round steps.

    Parameters
    ----------
    theme : Theme
        Colours, followed when they change.
    """

    cursor_moved = Signal(object)
    chosen = Signal(float, float)

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._tokens = theme.tokens
        self._regions: Regions | None = None
        self._picture: QPixmap | None = None
        self._labels: list[tuple[QRectF, str]] = []
        self._point: tuple[float, float] | None = None
        self._pinned: tuple[float, float] | None = None
        self._cursor: tuple[float, float] | None = None
        self.drag = Drag(self)
        self.drag.ended.connect(self._redraw)
        self.drag.given_up.connect(self._redraw)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setMouseTracking(True)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.setMinimumSize(360, 220)
        self.setAccessibleName("Map of the first limit")
        set_style_property(self, "role", "panel")
        theme.changed.connect(self._recolour)

    @property
    def cursor_at(self) -> tuple[float, float] | None:
        """Point under the cursor in the axes' units, None if it is not shown."""
        return self._cursor

    @property
    def point(self) -> tuple[float, float] | None:
        """Present point in the axes' units."""
        return self._point

    @property
    def regions(self) -> Regions | None:
        """What is shown."""
        return self._regions

    @property
    def labels(self) -> tuple[str, ...]:
        """Words written into the map."""
        self._prepare()
        return tuple(text for _, text in self._labels)

    def sizeHint(self) -> QSize:
        """Comfortable size."""
        return QSize(640, 400)

    def show_regions(self, regions: Regions | None) -> None:
        """Show a map, or nothing."""
        self._regions = regions
        self._picture = None
        self.update()

    def set_point(self, x: float, y: float) -> None:
        """Mark the present point."""
        if (x, y) != self._point:
            self._point = (x, y)
            if not self.drag.active:  # words keep their places while a hand is on the point
                self._picture = None
            self.update()

    def set_pinned(self, point: tuple[float, float] | None) -> None:
        """Mark the point of a pinned design, or none."""
        if point != self._pinned:
            self._pinned = point
            self.update()

    def pixel(self, x: float, y: float) -> QPointF:
        """Place of a point in the widget."""
        area, found = self._area(), self._regions
        assert found is not None
        across = _share(x, found.xs, log=found.x_log)
        up = _share(y, found.ys, log=found.y_log)
        return QPointF(area.left() + across * area.width(), area.bottom() - up * area.height())

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint the map, its axes and marks."""
        super().paintEvent(event)
        with QPainter(self) as painter:
            painter.setRenderHint(QPainter.RenderHint.Antialiasing)
            if self._regions is None:
                painter.setPen(QColor(self._tokens.muted))
                painter.drawText(self.rect(), Qt.AlignmentFlag.AlignCenter, "No map yet")
                return
            self._prepare()
            assert self._picture is not None
            area = self._area()
            painter.drawPixmap(area.toRect(), self._picture)
            self._paint_axes(painter, area)
            self._paint_labels(painter)
            if self._pinned is not None:
                self._paint_pinned(painter, area)
            if self._point is not None:
                self._paint_point(painter, area)
            if self._cursor is not None:
                self._paint_cursor(painter, area)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Draw afresh at the new size."""
        super().resizeEvent(event)
        self._picture = None

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Cursor follows the mouse, and the point where it is held."""
        if self.drag.active:
            fine = bool(event.modifiers() & Qt.KeyboardModifier.ShiftModifier)
            self._drag_to(event.position(), fine=fine)
            return
        if self._is_point(event.position()):
            self.setCursor(Qt.CursorShape.SizeAllCursor)
        else:
            self.unsetCursor()
        self._set_cursor(self._value_at(event.position()))

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Take hold of the present point, or go to the point clicked."""
        if event.button() is not Qt.MouseButton.LeftButton:
            return
        at = self._value_at(event.position())
        if self._is_point(event.position()):
            self._set_cursor(None)
            self.drag.begin()
        elif at is not None:
            self.chosen.emit(*at)

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        """Let go of the point."""
        self.drag.end()

    def leaveEvent(self, event: object) -> None:
        """Hide the cursor."""
        self._set_cursor(None)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Move the cursor, go there, hide it."""
        found, key, moves = self._regions, event.key(), ARROWS
        if found is None or (key not in moves and self._cursor is None):
            super().keyPressEvent(event)
        elif key in moves and event.modifiers() & Qt.KeyboardModifier.ControlModifier:
            ten = bool(event.modifiers() & Qt.KeyboardModifier.ShiftModifier)
            self._nudge_point(found, moves[Qt.Key(key)], 10 if ten else 1)
        elif key in moves:
            steps = 10 if event.modifiers() & Qt.KeyboardModifier.ShiftModifier else 1
            start = self._cursor or self._point or (float(found.xs[0]), float(found.ys[0]))
            across, up = moves[Qt.Key(key)]
            self._set_cursor(
                (
                    _stepped(start[0], found.xs, across * steps),
                    _stepped(start[1], found.ys, up * steps),
                )
            )
        elif key in (Qt.Key.Key_Return, Qt.Key.Key_Enter) and self._cursor is not None:
            self.chosen.emit(*self._cursor)
        elif key == Qt.Key.Key_Escape:
            self._set_cursor(None)
        else:
            super().keyPressEvent(event)

    def _set_cursor(self, at: tuple[float, float] | None) -> None:
        if at != self._cursor:
            self._cursor = at
            self.cursor_moved.emit(at)
            self.update()

    def _redraw(self) -> None:
        self._picture = None
        self.update()

    def _is_point(self, place: QPointF) -> bool:
        if self._regions is None or self._point is None:
            return False
        away = place - self.pixel(*self._point)
        return away.x() ** 2 + away.y() ** 2 <= _NEAR**2

    def _drag_to(self, place: QPointF, *, fine: bool) -> None:
        found, area = self._regions, self._area()
        if found is None:
            return
        inside = QPointF(
            min(max(place.x(), area.left()), area.right()),
            min(max(place.y(), area.top()), area.bottom()),
        )
        x = _value((inside.x() - area.left()) / area.width(), found.xs, log=found.x_log)
        y = _value((area.bottom() - inside.y()) / area.height(), found.ys, log=found.y_log)
        across, up = self._per_pixel(x, y)
        self._bring(found, snapped(x, across, fine=fine), snapped(y, up, fine=fine))

    def _nudge_point(self, found: Regions, moves: tuple[int, int], steps: int) -> None:
        if self._point is None:
            return
        self.drag.begin(by_keys=True)
        moved = [
            value + move * steps * round_step(pixel) if move else value
            for value, move, pixel in zip(
                self._point, moves, self._per_pixel(*self._point), strict=True
            )
        ]
        self._bring(found, *(float(f"{value:.12g}") for value in moved))

    def _bring(self, found: Regions, x: float, y: float) -> None:
        """Tell the place, within the map."""
        ends = ((x, found.xs), (y, found.ys))
        inside = (min(max(value, float(at[0])), float(at[-1])) for value, at in ends)
        self.drag.move(tuple(inside))

    def _per_pixel(self, x: float, y: float) -> tuple[float, float]:
        """What one pixel is worth at a point, on either axis."""
        found, area = self._regions, self._area()
        assert found is not None
        return (
            _worth(x, found.xs, log=found.x_log) / area.width(),
            _worth(y, found.ys, log=found.y_log) / area.height(),
        )

    def _area(self) -> QRectF:
        return QRectF(
            LEFT, TOP, max(self.width() - LEFT - RIGHT, 10), max(self.height() - TOP - BOTTOM, 10)
        )

    def _value_at(self, place: QPointF) -> tuple[float, float] | None:
        area, found = self._area(), self._regions
        if found is None or not area.contains(place):
            return None
        across = (place.x() - area.left()) / area.width()
        up = (area.bottom() - place.y()) / area.height()
        return (
            _value(across, found.xs, log=found.x_log),
            _value(up, found.ys, log=found.y_log),
        )

    def _prepare(self) -> None:
        if self._picture is not None or self._regions is None:
            return
        area = self._area().toRect()
        self._picture, which = map_picture(self._regions, area.width(), area.height(), self._tokens)
        self._labels = self._placed(which, area)

    def _placed(self, which: NDArray[np.intp], area: QRect) -> list[tuple[QRectF, str]]:
        """Words in the middle of the widest part of each region that has room for them."""
        assert self._regions is not None
        metrics = self.fontMetrics()
        found = []
        taken = np.zeros(which.shape, dtype=bool)
        if self._point is not None:
            at = self.pixel(*self._point)
            row, column = int(at.y()) - area.top(), int(at.x()) - area.left()
            rows = slice(max(row - 10, 0), max(row + 10, 0))
            taken[rows, max(column - 12, 0) : max(column + 75, 0)] = True
        for region in np.unique(which).tolist():
            text = self._regions.names[region]
            width = metrics.horizontalAdvance(text) + 2 * _LABEL_PAD
            height = metrics.height()
            # Distances count across in units of the words' shape, so that wide words find room.
            thin = max(round(width / height), 1)
            mask = np.pad((which[:, ::thin] == region) & ~taken[:, ::thin], 1)
            far = distance_transform_edt(mask)[1:-1, 1:-1]
            line, place = divmod(int(np.argmax(far)), far.shape[1])
            if far[line, place] >= 0.55 * height:
                middle = QPointF(area.left() + place * thin, area.top() + line)
                box = QRectF(0, 0, width, height)
                box.moveCenter(middle)
                box.moveLeft(min(max(box.left(), area.left()), area.right() - width))
                found.append((box, text))
        return found

    def _paint_labels(self, painter: QPainter) -> None:
        ground = QColor(self._tokens.panel)
        ground.setAlpha(225)
        for box, text in self._labels:
            painter.fillRect(box, ground)
            painter.setPen(QColor(self._tokens.text))
            painter.drawText(box, Qt.AlignmentFlag.AlignCenter, text)

    def _paint_axes(self, painter: QPainter, area: QRectF) -> None:
        found = self._regions
        assert found is not None
        small = QFont(self.font())
        small.setPointSizeF(max(self.font().pointSizeF() - 1.5, 7.0))
        painter.setFont(small)
        painter.setPen(QPen(QColor(self._tokens.line), 1))
        painter.drawRect(area)
        painter.setPen(QColor(self._tokens.muted))
        scale, _ = found.x.scale(Span(float(found.xs[0]), float(found.xs[-1])))
        for value in ticks(float(found.xs[0]), float(found.xs[-1]), log=found.x_log):
            at = self.pixel(value, float(found.ys[0])).x()
            box = QRectF(at - 40, area.bottom() + 2, 80, 16)
            painter.drawText(box, Qt.AlignmentFlag.AlignHCenter, f"{value * scale:.4g}")
        scale, _ = found.y.scale(Span(float(found.ys[0]), float(found.ys[-1])))
        for value in ticks(float(found.ys[0]), float(found.ys[-1]), log=found.y_log):
            at = self.pixel(float(found.xs[0]), value).y()
            box = QRectF(18, at - 8, LEFT - 24, 16)
            side = Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter
            painter.drawText(box, side, f"{value * scale:.4g}")
        across = found.x.caption(Span(float(found.xs[0]), float(found.xs[-1])))
        up = found.y.caption(Span(float(found.ys[0]), float(found.ys[-1])))
        painter.setPen(QColor(self._tokens.text))
        below = QRectF(area.left(), area.bottom() + 18, area.width(), 18)
        painter.drawText(below, Qt.AlignmentFlag.AlignHCenter, across)
        painter.save()
        painter.translate(4, area.center().y())
        painter.rotate(-90)
        beside = QRectF(-area.height() / 2, 0, area.height(), 18)
        painter.drawText(beside, Qt.AlignmentFlag.AlignHCenter, up)
        painter.restore()
        painter.setFont(self.font())

    def _paint_point(self, painter: QPainter, area: QRectF) -> None:
        assert self._point is not None
        at = self.pixel(*self._point)
        inside = QPointF(
            min(max(at.x(), area.left()), area.right()), min(max(at.y(), area.top()), area.bottom())
        )
        painter.setPen(QPen(QColor(self._tokens.panel), 5))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.drawEllipse(inside, 7.0, 7.0)
        painter.setPen(QPen(QColor(self._tokens.accent), 2.5))
        painter.drawEllipse(inside, 7.0, 7.0)
        painter.drawPoint(inside)
        text = "present" if inside == at else "present, outside"
        width = self.fontMetrics().horizontalAdvance(text) + 6
        left = (
            inside.x() + 11 if inside.x() + 15 + width < area.right() else inside.x() - 11 - width
        )
        box = QRectF(left, inside.y() - 10, width, 20)
        painter.fillRect(box, QColor(self._tokens.panel))
        painter.setPen(QColor(self._tokens.text))
        painter.drawText(box, Qt.AlignmentFlag.AlignCenter, text)

    def _paint_pinned(self, painter: QPainter, area: QRectF) -> None:
        assert self._pinned is not None
        at = self.pixel(*self._pinned)
        if area.contains(at):
            painter.setPen(QPen(QColor(self._tokens.text), 1.5, Qt.PenStyle.DotLine))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawEllipse(at, 9.0, 9.0)

    def _paint_cursor(self, painter: QPainter, area: QRectF) -> None:
        assert self._cursor is not None
        at = self.pixel(*self._cursor)
        painter.setPen(QPen(QColor(self._tokens.text), 1, Qt.PenStyle.DashLine))
        painter.drawLine(QPointF(area.left(), at.y()), QPointF(area.right(), at.y()))
        painter.drawLine(QPointF(at.x(), area.top()), QPointF(at.x(), area.bottom()))

    def _recolour(self, tokens: Tokens) -> None:
        self._tokens = tokens
        self._picture = None
        self.update()


def _share(value: float, values: Array, *, log: bool) -> float:
    low, high = float(values[0]), float(values[-1])
    if log:
        return float(np.log(max(value, 1e-300) / low) / np.log(high / low))
    return (value - low) / (high - low)


def _value(share: float, values: Array, *, log: bool) -> float:
    low, high = float(values[0]), float(values[-1])
    return float(low * (high / low) ** share) if log else low + share * (high - low)


def _worth(value: float, values: Array, *, log: bool) -> float:
    """Slope of an axis at a value, over its whole length."""
    low, high = float(values[0]), float(values[-1])
    return float(max(value, low) * np.log(high / low)) if log else high - low


def _stepped(value: float, values: Array, steps: int) -> float:
    if not steps:
        return value
    place = int(np.argmin(np.abs(values - value))) + steps
    return float(values[min(max(place, 0), len(values) - 1)])
