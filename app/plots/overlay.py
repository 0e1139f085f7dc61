"""What lies over and under the curves: grid, limit lines, operating point, labels, cursor.

All are plain Qt items in scene pixels that move only when range, size or data change, so that a
frame costs no more than its curves.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, TypeVar

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QBrush, QColor, QFont, QPainterPath, QPen
from PySide6.QtWidgets import (
    QGraphicsEllipseItem,
    QGraphicsItem,
    QGraphicsLineItem,
    QGraphicsPathItem,
    QGraphicsRectItem,
    QGraphicsScene,
    QGraphicsSimpleTextItem,
)

from burstwise.app.plots.ranges import Span
from burstwise.app.theme import Tokens, mark
from burstwise.core.findings import Severity

_UNDER, _OVER, _TOP = -5.0, 5.0, 10.0
_DOT = 4.5
BLANK: Final = "no data yet"
Item = TypeVar("Item", bound=QGraphicsItem)


@dataclass(frozen=True, slots=True)
class Limit:
    """A limit drawn as a line with its words.

    Parameters
    ----------
    value : float
        In the axis' SI unit.
    text : str
        E.g. ``"junction limit 150 °C"``.
    severity : Severity, optional
        How far the design is from it; None for a limit that is kept.
    vertical : bool
        A limit of the horizontal axis.
    """

    value: float
    text: str
    severity: Severity | None = None
    vertical: bool = False


@dataclass(frozen=True, slots=True)
class Frame:
    """Map from data to scene pixels."""

    rect: QRectF
    x: Span
    y: Span

    def left(self, x: float) -> float:
        """Horizontal pixel of a value."""
        return self.rect.left() + (x - self.x.low) / self.x.width * self.rect.width()

    def top(self, y: float) -> float:
        """Vertical pixel of a value."""
        return self.rect.bottom() - (y - self.y.low) / self.y.width * self.rect.height()

    def point(self, x: float, y: float) -> QPointF:
        """Pixel of a pair of values."""
        return QPointF(self.left(x), self.top(y))

    def value(self, left: float) -> float:
        """Horizontal value of a pixel."""
        return self.x.low + (left - self.rect.left()) / self.rect.width() * self.x.width


class Tag(QGraphicsRectItem):
    """Text on a ground of the panel's colour."""

    def __init__(self, font: QFont) -> None:
        super().__init__()
        self._text = QGraphicsSimpleTextItem(self)
        self._text.setFont(font)
        self.setPen(QPen(Qt.PenStyle.NoPen))
        self.setZValue(_OVER)

    @property
    def text(self) -> str:
        """Words on the tag."""
        return self._text.text()

    def set_font(self, font: QFont) -> None:
        """Change the type; the words are written anew afterwards."""
        self._text.setFont(font)

    def write(self, text: str, ink: str, ground: str) -> None:
        """Set words and colours."""
        self._text.setText(text)
        self._text.setBrush(QBrush(QColor(ink)))
        back = QColor(ground)
        back.setAlpha(215)
        self.setBrush(back)
        self.setRect(self._text.boundingRect().adjusted(-2, 0, 2, 0))

    def place(self, left: float, top: float, inside: QRectF) -> QRectF:
        """Put the tag there or as near as fits inside; returns where it is."""
        size = self.rect()
        left = min(max(left, inside.left()), max(inside.right() - size.width(), inside.left()))
        top = min(max(top, inside.top()), max(inside.bottom() - size.height(), inside.top()))
        self.setPos(left - size.left(), top - size.top())
        return QRectF(left, top, size.width(), size.height())


class Overlay:
    """The items, made once and moved.

    Parameters
    ----------
    scene : QGraphicsScene
        Scene of the plot.
    names : sequence of str
        Names of the curves.
    font : QFont
        Font of labels.
    """

    def __init__(self, scene: QGraphicsScene, names: Sequence[str], font: QFont) -> None:
        self._scene, self._names, self._font = scene, tuple(names), font
        self._grid = self._add(QGraphicsPathItem(), _UNDER)
        self._drop = self._add(QGraphicsLineItem(), _UNDER + 1)
        self._cursor = self._add(QGraphicsLineItem(), _TOP)
        self._dots = [self._add(QGraphicsEllipseItem(), _TOP) for _ in names]
        self.labels = [self._add(Tag(font), _OVER) for _ in names]
        self._blank = self._add(Tag(font), _OVER)
        self._lines: list[QGraphicsLineItem] = []
        self.limit_tags: list[Tag] = []
        self._limits: tuple[Limit, ...] = ()
        self._cursor.hide()
        self._drop.hide()
        for item in (*self._dots, *self.labels, self._blank):
            item.hide()

    def _add(self, item: Item, z: float) -> Item:
        item.setZValue(z)
        item.setAcceptedMouseButtons(Qt.MouseButton.NoButton)
        self._scene.addItem(item)
        return item

    def set_font(self, font: QFont) -> None:
        """Write labels and limits in another type."""
        self._font = font
        for tag in (*self.labels, self._blank, *self.limit_tags):
            tag.set_font(font)

    def recolour(self, tokens: Tokens) -> None:
        """Take the colours of a look."""
        self._tokens = tokens
        self._grid.setPen(QPen(QColor(tokens.grid), 1))
        self._drop.setPen(QPen(QColor(tokens.muted), 1, Qt.PenStyle.DotLine))
        self._cursor.setPen(QPen(QColor(tokens.text), 1))
        for index, (dot, label) in enumerate(zip(self._dots, self.labels, strict=True)):
            colour = tokens.series[index % len(tokens.series)]
            dot.setPen(QPen(QColor(colour), 2))
            dot.setBrush(QColor(tokens.panel))
            label.write(self._names[index], colour, tokens.panel)
        self._blank.write(BLANK, tokens.muted, tokens.panel)
        self._write_limits()

    def set_limits(self, limits: Sequence[Limit]) -> None:
        """Replace the limit lines."""
        if tuple(limits) == self._limits:
            return
        self._limits = tuple(limits)
        while len(self._lines) < len(self._limits):
            self._lines.append(self._add(QGraphicsLineItem(), _OVER - 1))
            self.limit_tags.append(self._add(Tag(self._font), _OVER))
        for spare in range(len(self._limits), len(self._lines)):
            self._lines[spare].hide()
            self.limit_tags[spare].hide()
        self._write_limits()

    def _write_limits(self) -> None:
        for limit, line, tag in zip(self._limits, self._lines, self.limit_tags, strict=False):
            colour = self._tokens.severity(limit.severity)
            line.setPen(QPen(QColor(colour), 1.5))
            tag.write(f"{mark(limit.severity).glyph} {limit.text}", colour, self._tokens.panel)

    def draw_grid(self, frame: Frame, xs: Sequence[float], ys: Sequence[float]) -> None:
        """Draw the grid at the ticks."""
        path = QPainterPath()
        for x in xs:
            left = round(frame.left(x)) + 0.5
            path.moveTo(left, frame.rect.top())
            path.lineTo(left, frame.rect.bottom())
        for y in ys:
            top = round(frame.top(y)) + 0.5
            path.moveTo(frame.rect.left(), top)
            path.lineTo(frame.rect.right(), top)
        self._grid.setPath(path)

    def show_blank(self, frame: Frame, blank: bool) -> None:
        """Say in the middle that there is nothing to draw yet, or take the words away."""
        self._blank.setVisible(blank)
        size, middle = self._blank.rect(), frame.rect.center()
        self._blank.place(middle.x() - size.width() / 2, middle.y() - size.height() / 2, frame.rect)

    def place_limits(self, frame: Frame) -> list[QRectF]:
        """Move limit lines and tags; a limit out of the range shows its tag at the edge."""
        taken: list[QRectF] = []
        rect = frame.rect
        for limit, line, tag in zip(self._limits, self._lines, self.limit_tags, strict=False):
            span = frame.x if limit.vertical else frame.y
            inside = span.low <= limit.value <= span.high
            line.setVisible(inside)
            tag.show()
            size = tag.rect()
            if limit.vertical:
                left = frame.left(min(max(limit.value, span.low), span.high))
                line.setLine(left, rect.top(), left, rect.bottom())
                taken.append(_placed_clear(tag, left + 3, rect.top(), rect, taken))
                continue
            top = frame.top(min(max(limit.value, span.low), span.high))
            line.setLine(rect.left(), top, rect.right(), top)
            arrow = "" if inside else ("↑ " if limit.value > span.high else "↓ ")
            words = f"{arrow}{mark(limit.severity).glyph} {limit.text}"
            if tag.text != words:
                tag.write(words, self._tokens.severity(limit.severity), self._tokens.panel)
            above = top - size.height() - 2
            taken.append(_placed_clear(tag, rect.left() + 4, above, rect, taken))
        return taken

    def place_point(self, frame: Frame, x: float | None, ys: Sequence[float]) -> None:
        """Move the operating point: a dot on each curve and a line down to the axis."""
        seen = x is not None and bool(frame.x.low <= x <= frame.x.high)
        self._drop.setVisible(seen)
        if x is not None and seen:
            left = frame.left(x)
            self._drop.setLine(left, frame.rect.top(), left, frame.rect.bottom())
        for index, dot in enumerate(self._dots):
            y = ys[index] if index < len(ys) else math.nan
            shown = seen and bool(frame.y.low <= y <= frame.y.high)
            dot.setVisible(shown)
            if x is not None and shown:
                at = frame.point(x, y)
                dot.setRect(at.x() - _DOT, at.y() - _DOT, 2 * _DOT, 2 * _DOT)

    def place_cursor(self, frame: Frame, x: float | None) -> None:
        """Move the cursor line, or hide it."""
        self._cursor.setVisible(x is not None)
        if x is not None:
            left = frame.left(x)
            self._cursor.setLine(left, frame.rect.top(), left, frame.rect.bottom())


def _placed_clear(
    tag: Tag, left: float, top: float, inside: QRectF, taken: Sequence[QRectF]
) -> QRectF:
    """Put a tag there, or below what is there already while there is room; returns where it is."""
    spot = tag.place(left, top, inside)
    while any(spot.intersects(other) for other in taken):
        spot = tag.place(left, spot.bottom() + 1, inside)
        if spot.bottom() >= inside.bottom():
            break
    return spot
