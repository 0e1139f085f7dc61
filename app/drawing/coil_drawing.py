"""Widget with the coil's cross-section to scale, dimension lines and resonance."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from PySide6.QtCore import QEvent, QPointF, QRectF, QSize, Qt
from PySide6.QtGui import (
    QColor,
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPainterPath,
    QPaintEvent,
    QPen,
    QTransform,
)
from PySide6.QtWidgets import QWidget

from burstwise.app.drawing.coil_grips import CoilGrip, grips_of, nearest
from burstwise.app.drawing.frame import DrawingFrame
from burstwise.app.drawing.pen import Draughtsman
from burstwise.app.drawing.scale import ToScale, bar_length, fitted_scale
from burstwise.app.drawing.section import Ball, Box, CoilSection, Turn
from burstwise.app.theme import MARKS, Theme
from burstwise.app.widgets.drag import ARROWS, Drag, round_step
from burstwise.app.widgets.text_label import set_tip
from burstwise.core.findings import Severity
from burstwise.core.units import shown

_SIDE: Final = 94.0
_ABOVE: Final = 74.0
_BELOW: Final = 68.0
_OUT: Final = 20.0
_LEAST_WIRE: Final = 3.0
"""Smallest pitch of wires that is drawn turn by turn [pixels]."""


@dataclass(frozen=True, slots=True)
class Dimensions:
    """Lengths that are written into the drawing [m]; a top load's are 0 without one."""

    former_diameter: float
    winding_length: float
    base_height: float
    inner_radius: float
    start_height: float
    top_diameter: float
    top_height: float


@dataclass(frozen=True, slots=True)
class Caption:
    """Words over the drawing: what the coil does, and a remark on how it was computed."""

    figures: str
    remark: str = ""
    warning: bool = False


@dataclass(frozen=True, slots=True)
class Pull:
    """Where a held edge is pulled to [m], what a pixel is worth there, and whether finely."""

    grip: CoilGrip
    x: float
    y: float
    pixel: float
    fine: bool = False


class CoilDrawing(DrawingFrame):
    """Cross-section of a coil to scale; without one a sentence says why.

    Edges are dragged by the mouse, or by Ctrl with the arrow keys, Space choosing the next one;
    `drag.moved` carries a `Pull`. The scale stands still while an edge is held.

    Parameters
    ----------
    theme : Theme
        Colours, followed when they change.
    """

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        name = "Cross-section of the coil, to scale"
        super().__init__(theme, parent, name=name, width=300, height=320)
        self._section: CoilSection | None = None
        self._dimensions: Dimensions | None = None
        self._caption = Caption("")
        self.paints = 0
        self.drag = Drag(self)
        self._held_scale: ToScale | None = None
        self._chosen = ""
        self._pulled = (0.0, 0.0)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setMouseTracking(True)
        for signal in (self.drag.ended, self.drag.given_up):
            signal.connect(self._let_go)

    @property
    def section(self) -> CoilSection | None:
        """What is drawn."""
        return self._section

    @property
    def caption(self) -> Caption:
        """Words over the drawing."""
        return self._caption

    def show_section(self, section: CoilSection, dimensions: Dimensions) -> None:
        """Draw a coil."""
        self._section, self._dimensions, self._empty = section, dimensions, ""
        self._describe()

    def show_caption(self, caption: Caption) -> None:
        """Write the words over the drawing."""
        self._caption = caption
        self._describe()

    def show_nothing(self, why: str) -> None:
        """Draw no coil and say why."""
        self._section, self._dimensions, self._empty = None, None, why
        self._describe()

    def sizeHint(self) -> QSize:
        """Room that shows all dimension lines."""
        return QSize(400, 480)

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint frame, coil and words."""
        super().paintEvent(event)
        with QPainter(self) as painter:
            painter.setRenderHint(QPainter.RenderHint.Antialiasing)
            small = painter.font()
            small.setPointSizeF(small.pointSizeF() - 1.5)
            if self._section is None or self._dimensions is None:
                self.paint_empty(painter)
            else:
                self._words(painter)
                painter.setFont(small)
                self._paint(painter, self._section, self._dimensions)
        self.paints += 1

    @property
    def grips(self) -> tuple[CoilGrip, ...]:
        """Edges that can be held now."""
        return () if self._section is None else grips_of(self._section)

    def place_of(self, name: str) -> QPointF:
        """Where a handle is in the widget."""
        assert self._section is not None
        grip = next(each for each in self.grips if each.name == name)
        return self._scale(self._section).point(grip.x, grip.y)

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Pull what is held; else show what can be held."""
        at = event.position()
        if self._held_scale is not None:
            to = self._held_scale
            fine = bool(event.modifiers() & Qt.KeyboardModifier.ShiftModifier)
            x, y = (at.x() - to.left) / to.per_metre, (to.top - at.y()) / to.per_metre
            self._pull(x, y, fine=fine)
            return
        grip = self._grip_at(at)
        self._choose("" if grip is None else grip.name)
        if grip is None:
            self.unsetCursor()
        else:
            self.setCursor(grip.cursor)

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Take hold of the edge under the mouse."""
        grip = self._grip_at(event.position())
        if event.button() == Qt.MouseButton.LeftButton and grip is not None:
            self._take(grip, by_keys=False)

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        """Let go."""
        self.drag.end()

    def leaveEvent(self, event: QEvent) -> None:
        """Nothing is under the mouse any more."""
        if not self.hasFocus():
            self._choose("")

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Space chooses the next edge, Ctrl with the arrow keys moves it."""
        grips = self.grips
        move = ARROWS.get(Qt.Key(event.key()))
        control = bool(event.modifiers() & Qt.KeyboardModifier.ControlModifier)
        if grips and event.key() == Qt.Key.Key_Space:
            names = [grip.name for grip in grips]
            place = names.index(self._chosen) + 1 if self._chosen in names else 0
            self._choose(names[place % len(names)])
        elif grips and move is not None and control:
            grip = next((each for each in grips if each.name == self._chosen), grips[0])
            ten = bool(event.modifiers() & Qt.KeyboardModifier.ShiftModifier)
            self._nudge(grip, move, 10 if ten else 1)
        else:
            super().keyPressEvent(event)

    def _nudge(self, grip: CoilGrip, move: tuple[int, int], steps: int) -> None:
        self._choose(grip.name)
        if not self.drag.active:
            self._take(grip, by_keys=True)
            self._pulled = (grip.x, grip.y)
        if self._held_scale is not None:
            step = steps * round_step(1.0 / self._held_scale.per_metre)
            x, y = self._pulled
            self._pulled = (x + step * move[0], y + step * move[1])
            self._pull(*self._pulled, fine=False)

    def _take(self, grip: CoilGrip, *, by_keys: bool) -> None:
        if self._section is not None:
            self._held_scale = self._scale(self._section)
            self.drag.begin(grip, by_keys=by_keys)

    def _pull(self, x: float, y: float, *, fine: bool) -> None:
        grip, to = self.drag.grip, self._held_scale
        if isinstance(grip, CoilGrip) and to is not None:
            self.drag.move(Pull(grip, x, y, 1.0 / to.per_metre, fine))

    def _let_go(self) -> None:
        self._held_scale = None
        self.update()

    def _grip_at(self, at: QPointF) -> CoilGrip | None:
        if self._section is None:
            return None
        return nearest(self.grips, at, self._scale(self._section))

    def _choose(self, name: str) -> None:
        if name != self._chosen:
            self._chosen = name
            words = next((grip.words for grip in self.grips if grip.name == name), "")
            set_tip(self, f"Drag: {words}. Escape restores." if words else "")
            self.update()

    def _handles(self, painter: QPainter, to: ToScale) -> None:
        for grip in self.grips:
            chosen = grip.name == self._chosen
            size = 4.5 if chosen else 3.0
            at = to.point(grip.x, grip.y)
            painter.setPen(QPen(QColor(self._tokens.accent), 1.5))
            painter.setBrush(QColor(self._tokens.accent if chosen else self._tokens.panel))
            painter.drawRect(QRectF(at.x() - size, at.y() - size, 2 * size, 2 * size))

    def _describe(self) -> None:
        caption = self._caption
        words = self._empty or ". ".join(part for part in (caption.figures, caption.remark) if part)
        self.setAccessibleDescription(words)
        self.update()

    def _words(self, painter: QPainter) -> None:
        painter.setPen(QColor(self._tokens.text))
        line = painter.fontMetrics().height()
        room = QRectF(self.rect()).adjusted(12, 8, -12, 0)
        painter.drawText(room, Qt.AlignmentFlag.AlignLeft, self._caption.figures)
        if self._caption.remark:
            shape = MARKS[Severity.STOP]
            warned = self._caption.warning
            painter.setPen(QColor(self._tokens.stop if warned else self._tokens.muted))
            words = f"{shape.glyph} {self._caption.remark}" if warned else self._caption.remark
            below = room.adjusted(0, line, 0, 0)
            painter.drawText(below, Qt.AlignmentFlag.AlignLeft, words)

    def _scale(self, section: CoilSection) -> ToScale:
        if self._held_scale is not None:
            return self._held_scale
        area = QRectF(self.rect()).adjusted(_SIDE, _ABOVE, -_SIDE, -_BELOW)
        return fitted_scale(area, half_width=section.reach, low=section.earth, high=section.highest)

    def _paint(self, painter: QPainter, section: CoilSection, sizes: Dimensions) -> None:
        to = self._scale(section)
        hand = Draughtsman(painter, self._tokens)
        self._axis(painter, hand, section, to)
        hand.earth(14.0, self.width() - 14.0, to.y(section.earth))
        self._winding(painter, section, to)
        self._top(painter, section, to)
        self._turns(painter, section.turns, to)
        self._handles(painter, to)
        self._measures(hand, section, sizes, to)
        self._scale_bar(painter, hand, to)

    def _axis(
        self, painter: QPainter, hand: Draughtsman, section: CoilSection, to: ToScale
    ) -> None:
        painter.setPen(hand.thin(self._tokens.line, (9.0, 3.0, 2.0, 3.0)))
        high = to.y(section.highest) - 8.0
        painter.drawLine(QPointF(to.x(0.0), high), QPointF(to.x(0.0), to.y(section.earth)))

    def _winding(self, painter: QPainter, section: CoilSection, to: ToScale) -> None:
        radius, top, foot = section.former_radius, to.y(section.length), to.y(0.0)
        former = QColor(self._tokens.line)
        former.setAlpha(70)
        body = QRectF(QPointF(to.x(-radius), top - 5.0), QPointF(to.x(radius), foot + 5.0))
        painter.fillRect(body, former)
        painter.setPen(QPen(QColor(self._tokens.line), 1.0))
        painter.drawRect(body)
        copper = QColor(self._tokens.series[0])
        pitch = to.per_metre * section.length / section.wires
        for box in section.winding:
            width = max(to.per_metre * box.width, 3.0)
            left = to.x(box.x) - 0.5 * width
            if pitch < _LEAST_WIRE:
                painter.fillRect(QRectF(left, top, width, foot - top), copper)
                continue
            wires, half = QPainterPath(), 0.45 * min(width, pitch)
            for index in range(round(section.wires)):
                middle = foot - pitch * (index + 0.5)
                wires.addEllipse(QPointF(to.x(box.x), middle), half, half)
            painter.fillPath(wires, copper)
        painter.setPen(QPen(copper, 1.5))
        painter.drawLine(to.point(0.0, section.length), to.point(0.0, section.stem))
        if section.top:
            end = QPointF(to.x(section.winding[1].x), top)
            painter.drawLine(end, to.point(0.0, section.length))

    def _top(self, painter: QPainter, section: CoilSection, to: ToScale) -> None:
        ink = QColor(self._tokens.text)
        fill = QColor(self._tokens.line)
        painter.setPen(QPen(ink, 1.3))
        if len(section.top) == 2:
            left, right = section.top
            painter.drawLine(to.point(left.x, left.y), to.point(right.x, right.y))
        painter.setBrush(fill)
        for shape in section.top:
            painter.drawPath(outline(shape, to))
        if section.point is not None:
            painter.drawPath(outline(section.point, to))

    def _turns(self, painter: QPainter, turns: tuple[Turn, ...], to: ToScale) -> None:
        used, unused, bores = QPainterPath(), QPainterPath(), QPainterPath()
        for turn in turns:
            shape = turn.shape
            (used if turn.used else unused).addPath(outline(shape, to))
            if isinstance(shape, Ball) and shape.bore > 0.0:
                bore = to.per_metre * shape.bore
                bores.addEllipse(to.point(shape.x, shape.y), bore, bore)
        colour = QColor(self._tokens.series[1])
        painter.setPen(QPen(colour, 1.3))
        for path, fill in ((used, colour), (unused, QColor(self._tokens.panel))):
            painter.setBrush(fill)
            painter.drawPath(path)
        painter.setBrush(QColor(self._tokens.panel))
        painter.drawPath(bores)

    def _measures(
        self, hand: Draughtsman, section: CoilSection, sizes: Dimensions, to: ToScale
    ) -> None:
        foot, top, earth = to.y(0.0), to.y(section.length), to.y(section.earth)
        radius = section.former_radius
        left = to.x(-section.reach) - _OUT
        for level in (foot, top):
            hand.witness(QPointF(left - 4.0, level), QPointF(to.x(-radius), level))
        hand.upright(left, foot, top, _length(sizes.winding_length), side=-1)
        hand.upright(left, earth, foot, _length(sizes.base_height), side=-1)
        middle = 0.5 * (foot + top)
        hand.level(middle, to.x(-radius), to.x(radius), f"⌀ {_length(sizes.former_diameter)}")
        below = earth + 21.0
        start = to.x(sizes.inner_radius)
        hand.witness(QPointF(start, to.y(sizes.start_height)), QPointF(start, below + 4.0))
        hand.level(below, to.x(0.0), start, f"r {_length(sizes.inner_radius)}")
        right = to.x(section.reach) + _OUT
        if section.top:
            crown = to.y(section.highest) - 14.0
            half = 0.5 * sizes.top_diameter
            hand.level(crown, to.x(-half), to.x(half), f"⌀ {_length(sizes.top_diameter)}")
            hand.witness(to.point(radius, section.length), QPointF(right + 4.0, top))
            hand.witness(
                to.point(0.5 * sizes.top_diameter, section.stem),
                QPointF(right + 4.0, to.y(section.stem)),
            )
            hand.upright(right, top, to.y(section.stem), _length(sizes.top_height), side=1)
        if sizes.start_height != 0.0:
            begin = to.y(sizes.start_height)
            hand.witness(QPointF(to.x(radius), foot), QPointF(right + 4.0, foot))
            hand.witness(QPointF(start, begin), QPointF(right + 4.0, begin))
            low, high = max(begin, foot), min(begin, foot)
            hand.upright(right, low, high, _length(sizes.start_height), side=1)

    def _scale_bar(self, painter: QPainter, hand: Draughtsman, to: ToScale) -> None:
        length = bar_length(to.per_metre, 90.0)
        y, left = self.height() - 14.0, 14.0
        right = left + to.per_metre * length
        painter.setPen(QPen(QColor(self._tokens.text), 2.0))
        painter.drawLine(QPointF(left, y), QPointF(right, y))
        text = _length(length)
        room = hand.text_size(text)
        hand.label(text, QPointF(right + 4.0 + 0.5 * room.width(), y))
        if self._unused:
            words = "○ primary turns not in use"
            wide = hand.text_size(words).width()
            hand.label(words, QPointF(self.width() - 12.0 - 0.5 * wide, y))

    @property
    def _unused(self) -> bool:
        section = self._section
        return section is not None and any(not turn.used for turn in section.turns)


def _length(metres: float) -> str:
    return shown(metres, "m", digits=4)


def outline(shape: Ball | Box, to: ToScale) -> QPainterPath:
    """Path of one shape in pixels, never thinner than a visible line."""
    path = QPainterPath()
    if isinstance(shape, Ball):
        radius = max(to.per_metre * shape.radius, 1.0)
        path.addEllipse(to.point(shape.x, shape.y), radius, radius)
        return path
    width = max(to.per_metre * shape.width, 1.5)
    height = max(to.per_metre * shape.height, 1.5)
    room = QRectF(-0.5 * width, -0.5 * height, width, height)
    if shape.round_ends:
        path.addRoundedRect(room, 0.5 * height, 0.5 * height)
    else:
        path.addRect(room)
    turned = QTransform()
    turned.translate(to.x(shape.x), to.y(shape.y))
    turned.rotate(-math.degrees(shape.tilt))
    return turned.map(path)
