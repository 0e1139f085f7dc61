"""Handles of a plot: its operating point dragged along, a level dragged up and down."""

from __future__ import annotations

from typing import Final

from PySide6.QtCore import QEvent, QObject, QPointF, Qt
from PySide6.QtGui import QColor, QKeyEvent, QMouseEvent, QPen
from PySide6.QtWidgets import QGraphicsLineItem

from burstwise.app.plots.line_plot import LinePlot
from burstwise.app.plots.overlay import Tag
from burstwise.app.theme import Tokens
from burstwise.app.widgets.drag import ARROWS, Drag, round_step, snapped

NEAR: Final = 9.0
"""Distance at which the mouse takes hold [px]."""


class Grip(QObject):
    """Base of both: mouse and Ctrl with the arrow keys, along one axis of a plot.

    `drag.moved` carries the value; with Shift the steps are ten times finer.

    Parameters
    ----------
    plot : LinePlot
        Plot that is dragged in.
    low, high : float
        Values that the drag stays between.
    """

    shape = Qt.CursorShape.SizeHorCursor
    place = 0
    """Which of an arrow key's two directions counts."""

    def __init__(self, plot: LinePlot, *, low: float, high: float) -> None:
        super().__init__(plot)
        self.plot, self.low, self.high = plot, low, high
        self.drag = Drag(plot)
        self.offered = True
        self._viewport = plot.view.viewport()
        self._viewport.installEventFilter(self)
        plot.installEventFilter(self)

    @property
    def value(self) -> float | None:
        """Where it is now, None where there is nothing to hold."""
        raise NotImplementedError

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Take mouse and keys that concern the grip; all else goes on."""
        if not self.offered:
            return False
        if watched is self.plot:
            return isinstance(event, QKeyEvent) and self._take_key(event)
        return isinstance(event, QMouseEvent) and self._take_mouse(event)

    def _take_mouse(self, event: QMouseEvent) -> bool:
        at = self.plot.view.mapToScene(event.position().toPoint())
        kind = event.type()
        if kind == QEvent.Type.MouseMove and self.drag.active:
            fine = bool(event.modifiers() & Qt.KeyboardModifier.ShiftModifier)
            self._bring(snapped(self._value_at(at), self._per_pixel(), fine=fine))
            return True
        near = self._is_near(at)
        if kind == QEvent.Type.MouseMove:
            if near:
                self._viewport.setCursor(self.shape)
            else:
                self._viewport.unsetCursor()
        elif kind == QEvent.Type.MouseButtonPress and near:
            if event.button() == Qt.MouseButton.LeftButton:
                self.drag.begin()
                return True
        elif kind == QEvent.Type.MouseButtonRelease and self.drag.active:
            self.drag.end()
            return True
        return False

    def _take_key(self, event: QKeyEvent) -> bool:
        control = bool(event.modifiers() & Qt.KeyboardModifier.ControlModifier)
        moves = ARROWS.get(Qt.Key(event.key()))
        if event.type() != QEvent.Type.KeyPress or not control or moves is None:
            return False
        value, steps = self.value, moves[self.place]
        if value is None or not steps:
            return False
        self.drag.begin(by_keys=True)
        step = round_step(self._per_pixel())
        if event.modifiers() & Qt.KeyboardModifier.ShiftModifier:
            step *= 10
        self._bring(float(f"{(round(value / step) + steps) * step:.12g}"))
        return True

    def _bring(self, value: float) -> None:
        self.drag.move(min(max(value, self.low), self.high))

    def _is_near(self, at: QPointF) -> bool:
        raise NotImplementedError

    def _value_at(self, at: QPointF) -> float:
        raise NotImplementedError

    def _per_pixel(self) -> float:
        raise NotImplementedError


class PointGrip(Grip):
    """The operating point, dragged along the horizontal axis by its dot or its line."""

    @property
    def value(self) -> float | None:
        """Horizontal value of the operating point."""
        return self.plot.point_x

    def _is_near(self, at: QPointF) -> bool:
        frame, value = self.plot.frame, self.value
        inside = frame.rect.adjusted(-NEAR, 0, NEAR, 0).contains(at)
        return value is not None and inside and abs(at.x() - frame.left(value)) <= NEAR

    def _value_at(self, at: QPointF) -> float:
        return self.plot.frame.value(at.x())

    def _per_pixel(self) -> float:
        frame = self.plot.frame
        return frame.x.width / max(frame.rect.width(), 1.0)


class LevelGrip(Grip):
    """A level on the vertical axis, drawn as a dashed line with its words, dragged up and down."""

    shape = Qt.CursorShape.SizeVerCursor
    place = 1

    def __init__(self, plot: LinePlot, tokens: Tokens, *, low: float, high: float) -> None:
        super().__init__(plot, low=low, high=high)
        self._level: float | None = None
        self._words = ""
        self._line, self._tag = QGraphicsLineItem(), Tag(plot.font())
        self._line.setZValue(6.0)
        for item in (self._line, self._tag):
            item.setAcceptedMouseButtons(Qt.MouseButton.NoButton)
            plot.view.scene().addItem(item)
        self.recolour(tokens)
        plot.box.sigRangeChanged.connect(self._place)
        plot.box.sigResized.connect(self._place)
        self._place()

    @property
    def value(self) -> float | None:
        """The level."""
        return self._level

    @property
    def words(self) -> str:
        """Words on the line."""
        return self._words

    def show_level(self, level: float, words: str) -> None:
        """Put the line at a level."""
        self._level, self._words = level, words
        self._tag.write(words, self._tokens.accent, self._tokens.panel)
        self._place()

    def recolour(self, tokens: Tokens) -> None:
        """Take the colours of a look."""
        self._tokens = tokens
        pen = QPen(QColor(tokens.accent), 1.5, Qt.PenStyle.DashLine)
        self._line.setPen(pen)
        self._tag.write(self._words, tokens.accent, tokens.panel)

    def _place(self, *_changed: object) -> None:
        frame, level = self.plot.frame, self._level
        seen = level is not None and not self.plot.blank
        self._line.setVisible(seen)
        self._tag.setVisible(seen)
        if level is None or not seen:
            return
        top = min(max(frame.top(level), frame.rect.top()), frame.rect.bottom())
        self._line.setLine(frame.rect.left(), top, frame.rect.right(), top)
        size = self._tag.rect()
        self._tag.place(frame.rect.right() - size.width(), top - size.height() - 1, frame.rect)

    def _is_near(self, at: QPointF) -> bool:
        frame, level = self.plot.frame, self._level
        if level is None or not self._line.isVisible():
            return False
        return frame.rect.contains(at) and abs(at.y() - self._line.line().y1()) <= NEAR

    def _value_at(self, at: QPointF) -> float:
        frame = self.plot.frame
        return frame.y.low + (frame.rect.bottom() - at.y()) * self._per_pixel()

    def _per_pixel(self) -> float:
        frame = self.plot.frame
        return frame.y.width / max(frame.rect.height(), 1.0)
