"""Plot of a few curves over one axis, quick enough to follow a drag."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from typing import Any, Final

import numpy as np
from numpy.typing import ArrayLike
from PySide6.QtCore import QEvent, QPointF, QSize, Qt, Signal
from PySide6.QtGui import (
    QAction,
    QColor,
    QFont,
    QKeyEvent,
    QKeySequence,
    QMouseEvent,
    QPainterPath,
    QPen,
    QResizeEvent,
)
from PySide6.QtWidgets import QFrame, QGraphicsPathItem, QSizePolicy, QVBoxLayout, QWidget

from burstwise.app.plots.axis import Axis, with_minus
from burstwise.app.plots.canvas import Canvas
from burstwise.app.plots.curves import Shade, curve_pixels, data_ends
from burstwise.app.plots.direct_labels import Line, label_places
from burstwise.app.plots.overlay import Frame, Limit
from burstwise.app.plots.ranges import Span, few_ticks, held_span
from burstwise.app.plots.readout import readout_text
from burstwise.app.theme import Theme, Tokens
from burstwise.app.widgets.restyle import set_style_property
from burstwise.app.widgets.text_label import TextLabel
from burstwise.core.arrays import Array

_ZOOMING: Final = (QEvent.Type.Wheel, QEvent.Type.MouseButtonPress, QEvent.Type.MouseMove)
_EMPTY: Final[Array] = np.zeros(0)
_TAG_ROOM: Final = 0.14
"""Room for the words of limits above the range, over the data's height."""
_LEAST: Final = QSize(160, 150)
"""Smallest plot that can be read, with its title, read-out and axis [px]."""
_LEAST_STRIP: Final = 40
_LIMIT_REACH: Final = 1.5
"""A limit is brought into the range when it is at most this many times the data's end."""


class _Readout(TextLabel):
    """Words that wrap where they must; the plot, not the layout, sees to their height."""

    def hasHeightForWidth(self) -> bool:
        return False


class LinePlot(QFrame):
    """Title with unit, read-out, curves, grid, limits, operating point and labels.

    Ranges hold still until the data leave them or fill less than half of them. Left and Right move
    the cursor when the plot has the focus, Escape hides it, Home shows everything again.

    Parameters
    ----------
    theme : Theme
        Colours, followed when they change.
    x, y : Axis
        What the axes show.
    curves : sequence of str
        Names of the curves; one empty name means no label.
    zoomable : bool
        Let wheel and drag change the range; Home or a double click bring it back.
    strip : bool
        One strip of a stack: no frame, no title and no read-out of its own.
    x_ticks : bool
        Show the horizontal axis; off for the upper strips of a stack.
    """

    cursor_moved = Signal(object)

    def __init__(
        self,
        theme: Theme,
        *,
        x: Axis,
        y: Axis,
        curves: Sequence[str],
        zoomable: bool = False,
        strip: bool = False,
        x_ticks: bool = True,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self.x_axis, self.y_axis, self.names = x, y, tuple(curves)
        self._data: list[tuple[Array, Array]] = [(_EMPTY, _EMPTY)] * len(curves)
        self._x_span = self._y_span = Span(0.0, 1.0)
        self._x_fixed: Span | None = None
        self._held = False
        self._zoomed = False
        self._limits: tuple[Limit, ...] = ()
        self._point: tuple[float | None, tuple[float, ...]] = (None, ())
        self._cursor: float | None = None
        self._batching = False
        self._thick = 1.0
        self._pinning = False
        self._pinned: list[tuple[Array, Array]] = []
        self._pinned_at: tuple[float | None, tuple[float, ...]] = (None, ())
        self._ghosts: list[Any] = []
        self._shades: tuple[Shade | None, ...] = ()
        self._bands: list[QGraphicsPathItem] = []
        self._gridded: Frame | None = None
        self._blank = False
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setContextMenuPolicy(Qt.ContextMenuPolicy.ActionsContextMenu)
        self._build(zoomable)
        self._strip = strip
        if strip:
            self._strip_down(x_ticks)
            set_style_property(self, "role", "bare")
        else:
            set_style_property(self, "role", "panel")
        self._offer("Save picture or data…", "Ctrl+E", self._save)
        if zoomable:
            self._offer("Show everything", "Home", self.show_all)
        self._show_blank(True)
        theme.changed.connect(self.recolour)
        self.recolour(theme.tokens)

    def _build(self, zoomable: bool) -> None:
        self._title = TextLabel(self, role="title")
        self._readout = _Readout(self)
        set_style_property(self._readout, "role", "muted")
        for label in (self._title, self._readout):
            label.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)
        self._readout.setWordWrap(True)
        canvas = self._canvas = Canvas(self, self.names, zoomable=zoomable)
        self.view, self.box, self.overlay = canvas.view, canvas.box, canvas.overlay
        self._left, self._bottom, self._curves = canvas.left, canvas.bottom, canvas.curves
        self._layout = layout = QVBoxLayout(self)
        layout.setContentsMargins(8, 6, 8, 4)
        layout.setSpacing(0)
        for widget in (self._title, self._readout, self.view):
            layout.addWidget(widget)
        self.box.sigRangeChangedManually.connect(self._zoom_by_hand)
        self.box.sigRangeChanged.connect(self._range_changed)
        self.box.sigResized.connect(self._arrange)
        self.view.viewport().installEventFilter(self)

    def _strip_down(self, x_ticks: bool) -> None:
        self._title.hide()
        self._readout.hide()
        self._layout.setContentsMargins(0, 0, 0, 0)
        self._canvas.strip_down(x_ticks=x_ticks)

    def enlarge(self, font: QFont, times: float) -> None:
        """Ticks in a larger type and thicker lines, for a room; labels follow the style sheet."""
        self._canvas.enlarge(times, font)
        self._thick = times
        self.recolour(self._tokens)

    @property
    def x_span(self) -> Span:
        """Range of the horizontal axis."""
        return self._x_span

    @property
    def y_span(self) -> Span:
        """Range of the vertical axis."""
        return self._y_span

    @property
    def point_x(self) -> float | None:
        """Horizontal value of the operating point, None without one."""
        return self._point[0]

    @property
    def blank(self) -> bool:
        """Whether there is nothing to draw."""
        return self._blank

    @property
    def readout(self) -> str:
        """Text of the read-out: at the cursor if there is one, else at the operating point."""
        return self._readout.text()

    @property
    def title(self) -> str:
        """Caption of the vertical axis with its unit."""
        return self._title.text()

    def curve(self, index: int) -> tuple[Array, Array]:
        """Data of a curve as drawn."""
        xs, ys = self._curves[index].getData()
        return (_EMPTY, _EMPTY) if xs is None else (xs, ys)

    @contextmanager
    def batch(self) -> Iterator[None]:
        """Arrange the plot once, after several settings."""
        self._batching = True
        try:
            yield
        finally:
            self._batching = False
            self._fit()

    @contextmanager
    def as_pinned(self) -> Iterator[None]:
        """Take what is drawn meanwhile as the pinned design's: ghosts behind the live curves."""
        self._pinning = True
        try:
            yield
        finally:
            self._pinning = False
            self._fit()

    def clear_pinned(self) -> None:
        """Take the ghosts away."""
        self._pinned, self._pinned_at = [], (None, ())
        for item in self._ghosts:
            item.setData([], [])
        self._fit()

    @property
    def pinned(self) -> list[tuple[Array, Array]]:
        """Curves of the pinned design, empty without one."""
        return list(self._pinned)

    def set_shades(self, shades: Sequence[Shade | None]) -> None:
        """Shade an area under each curve, in the order of their names; none takes all away."""
        if not shades and not self._shades:
            return
        self._shades = tuple(shades)
        while len(self._bands) < len(shades):
            self._bands.append(self._canvas.add_band())
        self._colour_bands()
        empty = QPainterPath()
        for place, item in enumerate(self._bands):
            shade = shades[place] if place < len(shades) else None
            item.setPath(empty if shade is None else shade.path)
        self._fit()

    @property
    def shades(self) -> tuple[Shade | None, ...]:
        """Areas under the curves, empty without any."""
        return self._shades

    def _colour_bands(self) -> None:
        for index, item in enumerate(self._bands):
            item.setBrush(self._tokens.series_shade(index))

    def _pin(self, data: list[tuple[Array, Array]]) -> None:
        self._pinned = data
        while len(self._ghosts) < len(data):
            self._ghosts.append(self._canvas.add_ghost())
        self._colour_ghosts()
        for item, (xs, ys) in zip(self._ghosts, data, strict=True):
            item.setData(xs, ys)

    def _colour_ghosts(self) -> None:
        for index, item in enumerate(self._ghosts):
            item.setPen(self._tokens.ghost_pen(index))

    def set_data(self, x: ArrayLike, *ys: ArrayLike) -> None:
        """Draw curves over a common axis, in the order of their names."""
        self.set_curves([(x, y) for y in ys])

    def set_curves(self, curves: Sequence[tuple[ArrayLike, ArrayLike]]) -> None:
        """Draw each curve over an axis of its own; those not given are emptied."""
        data = [(np.asarray(x, float), np.asarray(y, float)) for x, y in curves]
        data += [(_EMPTY, _EMPTY)] * (len(self.names) - len(data))
        if self._pinning:
            self._pin(data)
            return
        self._data = data
        for item, (xs, ys) in zip(self._curves, data, strict=True):
            item.setData(xs, ys)
        self._fit()

    def set_point(self, x: float | None, ys: Sequence[float] = ()) -> None:
        """Mark the operating point: one dot per curve at `x`; None takes it away."""
        if self._pinning:
            self._pinned_at = (x, tuple(ys))
            return
        self._point = (x, tuple(ys))
        self._fit()

    def set_limits(self, limits: Sequence[Limit]) -> None:
        """Draw limits as lines with their words."""
        if self._pinning:
            return
        self._limits = tuple(limits)
        self.overlay.set_limits(self._limits)
        self._fit()

    def set_x_range(self, low: float, high: float) -> None:
        """Fix the horizontal range instead of fitting it to the data."""
        if self._pinning:
            return
        self._x_fixed = Span(low, high)
        self._fit()

    def set_cursor(self, x: float | None) -> None:
        """Show the cursor at a value of the horizontal axis, or hide it."""
        inside = x is not None and self._x_span.low <= x <= self._x_span.high
        at = x if inside else None
        if at == self._cursor:
            return
        self._cursor = at
        self.overlay.place_cursor(self.frame, at)
        self._write_readout()
        self.cursor_moved.emit(at)

    def values_at(self, x: float) -> tuple[float, ...]:
        """Value of each curve at a place of the horizontal axis, nan for an empty one."""
        return tuple(
            float(np.interp(x, xs, ys)) if len(xs) else float("nan") for xs, ys in self._data
        )

    def pinned_values(self, x: float) -> tuple[float, ...]:
        """Values of the pinned design to set beside those read out, empty without one.

        At the cursor they are those of the same place; at the operating point those of the pinned
        design's own point.
        """
        if self._cursor is None and self._pinned_at[0] is not None:
            return self._pinned_at[1]
        return tuple(
            float(np.interp(x, xs, ys)) if len(xs) else float("nan") for xs, ys in self._pinned
        )

    def show_all(self) -> None:
        """Undo a zoom and fit the ranges afresh."""
        self._zoomed = self._held = False
        self._fit()

    def recolour(self, tokens: Tokens) -> None:
        """Take the colours of a look."""
        self._tokens = tokens
        self.view.setBackground(QColor(tokens.panel))
        self._colour_ghosts()
        self._colour_bands()
        for index, item in enumerate(self._curves):
            item.setPen(tokens.series_pen(index, width=1.5 * self._thick))
        for axis in (self._left, self._bottom):
            axis.setPen(QPen(QColor(tokens.line), 1))
            axis.setTextPen(QPen(QColor(tokens.muted), 1))
        self.overlay.recolour(tokens)
        self._arrange()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Move or hide the cursor."""
        key = event.key()
        if key in (Qt.Key.Key_Left, Qt.Key.Key_Right):
            start = self._cursor
            if start is None:
                start = self._point[0] if self._point[0] is not None else self._x_span.low
            move = self._x_span.width / 100 * (1 if key == Qt.Key.Key_Right else -1)
            self.set_cursor(min(max(start + move, self._x_span.low), self._x_span.high))
        elif key == Qt.Key.Key_Escape and self._cursor is not None:
            self.set_cursor(None)
        else:
            super().keyPressEvent(event)

    def eventFilter(self, watched: Any, event: QEvent) -> bool:
        """Follow what the mouse does over the view."""
        if event.type() in _ZOOMING:
            # The box maps the mouse by its last painted range; a newer one may wait for its paint.
            self.box.updateMatrix()
        if isinstance(event, QMouseEvent) and event.type() == QEvent.Type.MouseMove:
            self._mouse_moved(self.view.mapToScene(event.position().toPoint()))
        elif event.type() == QEvent.Type.Leave:
            self.set_cursor(None)
        elif event.type() == QEvent.Type.MouseButtonDblClick:
            self.show_all()
        return super().eventFilter(watched, event)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Rearrange what lies over the curves."""
        super().resizeEvent(event)
        self._readout.setFixedHeight(self._readout.fontMetrics().height())
        self._fit_readout()
        self._arrange()

    def minimumSizeHint(self) -> QSize:
        """Room for the title and for a plot that can be read."""
        if self._strip:
            return QSize(_LEAST.width(), _LEAST_STRIP)
        title = self._title.fontMetrics().horizontalAdvance(self._title.text())
        sides = self._layout.contentsMargins()
        return _LEAST.expandedTo(QSize(title + sides.left() + sides.right() + 2, 0))

    def _fit_readout(self) -> None:
        """Let a long read-out take two lines; it grows at one width, but does not shrink."""
        needed = self._readout.heightForWidth(self._readout.width())
        if needed > self._readout.height():
            self._readout.setFixedHeight(needed)

    def _fit(self) -> None:
        if self._batching or self._pinning:
            return
        if self._zoomed:
            self._arrange()
            return
        x_held = self._x_span if self._held else None
        y_held = self._y_span if self._held else None
        xs = data_ends([x for x, _ in self._data])
        ghosts = () if xs is None else (y for _, y in self._pinned)
        shaded = (y for each in self._shades if each is not None for y in (each.low, each.high))
        point = np.asarray(self._point[1], float)
        ys = data_ends([*(y for _, y in self._data), *ghosts, *shaded, point])
        self._show_blank(xs is None or ys is None)
        if xs is None or ys is None:
            self._arrange()
            return
        x_span = self._x_fixed or held_span(
            x_held, xs.low, xs.high, from_zero=self.x_axis.from_zero
        )
        ys = self._with_limits(ys)
        y_span = held_span(y_held, ys.low, ys.high, from_zero=self.y_axis.from_zero)
        self._held = True
        if (x_span, y_span) != (self._x_span, self._y_span):
            self.box.setRange(
                xRange=(x_span.low, x_span.high), yRange=(y_span.low, y_span.high), padding=0
            )
        self._arrange()

    def _show_blank(self, blank: bool) -> None:
        """Without data there are no ticks, which would look like a measured range."""
        if blank == self._blank:
            return
        self._blank = blank
        self._gridded = None
        for axis in (self._left, self._bottom):
            axis.setOpacity(0.0 if blank else 1.0)

    def _with_limits(self, ys: Span) -> Span:
        low, high = ys.low, ys.high
        level = [limit.value for limit in self._limits if not limit.vertical]
        high = max([high, *(value for value in level if value <= _LIMIT_REACH * high)])
        if any(value > high for value in level):
            high += _TAG_ROOM * (high - (min(low, 0.0) if self.y_axis.from_zero else low))
        return Span(low, high)

    def _offer(self, text: str, keys: str, act: Callable[[], None]) -> None:
        action = QAction(text, self)
        action.setShortcut(QKeySequence(keys))
        action.setShortcutContext(Qt.ShortcutContext.WidgetWithChildrenShortcut)
        action.triggered.connect(lambda: act())
        self.addAction(action)

    def _save(self) -> None:
        from burstwise.app.plots.export import ask_and_export

        ask_and_export(self)

    def _zoom_by_hand(self) -> None:
        self._zoomed = True

    def _range_changed(self) -> None:
        (x_low, x_high), (y_low, y_high) = self.box.viewRange()
        self._x_span, self._y_span = Span(x_low, x_high), Span(y_low, y_high)
        factor = self.y_axis.scale(self._y_span)[0]
        self._left.setScale(factor)
        if self._strip:
            marks = [(at, with_minus(f"{at * factor:g}")) for at in few_ticks(self._y_span)]
            self._left.setTicks([marks])
        self._bottom.setScale(self.x_axis.scale(self._x_span)[0])
        self._bottom.setLabel(self.x_axis.caption(self._x_span))
        self._arrange()

    @property
    def frame(self) -> Frame:
        """Where values lie in the view."""
        return Frame(self.box.sceneBoundingRect(), self._x_span, self._y_span)

    def _arrange(self) -> None:
        frame = self.frame
        if frame != self._gridded:
            self._gridded = frame
            self._title.setText(self.y_axis.caption(self._y_span))
            self._draw_grid(frame)
        taken = self.overlay.place_limits(frame)
        self.overlay.place_point(frame, *self._point)
        self.overlay.place_cursor(frame, self._cursor)
        self._place_labels(frame, taken)
        self._write_readout()

    def _draw_grid(self, frame: Frame) -> None:
        if self._blank:
            self.overlay.draw_grid(frame, (), ())
        else:
            across = _ticks(self._bottom, frame.x, frame.rect.width())
            height = frame.rect.height()
            up = few_ticks(frame.y) if self._strip else _ticks(self._left, frame.y, height)
            self.overlay.draw_grid(frame, across, up)
        self.overlay.show_blank(frame, self._blank and not self._strip)

    def _place_labels(self, frame: Frame, taken: list[Any]) -> None:
        labels = self.overlay.labels
        lines: list[Line | None] = [
            curve_pixels(frame, xs, ys) if name else None
            for name, (xs, ys) in zip(self.names, self._data, strict=True)
        ]
        sizes = [label.rect().size() for label in labels]
        places = label_places(lines, sizes, frame.rect, taken)
        for label, place in zip(labels, places, strict=True):
            label.setVisible(place is not None)
            if place is not None:
                label.place(place.left(), place.top(), frame.rect)

    def _mouse_moved(self, at: QPointF) -> None:
        frame = self.frame
        self.set_cursor(frame.value(at.x()) if frame.rect.contains(at) else None)

    def _write_readout(self) -> None:
        metrics = self._readout.fontMetrics()
        if self._cursor is not None:
            word, at = "at", self._cursor
            values = list(self.values_at(at))
        elif self._point[0] is not None:
            word, at, values = "now", self._point[0], list(self._point[1])
        else:
            self._readout.setText(" ")
            return
        self._readout.setText(
            readout_text(
                f"{word} {self.x_axis.text(at)}",
                self.names,
                values,
                axis=self.y_axis,
                pinned=self.pinned_values(at),
                within=[
                    (math.nan, math.nan) if shade is None else shade.ends_at(at)
                    for shade in self._shades
                ],
                fits=lambda text: metrics.horizontalAdvance(text) <= self._readout.width(),
            )
        )
        self._fit_readout()
        self.setAccessibleDescription(self._readout.text())
        self.setAccessibleName(self._title.text())


def _ticks(axis: Any, span: Span, length: float) -> list[float]:
    levels = axis.tickValues(span.low, span.high, max(length, 1.0))
    return [float(value) for _, values in levels[:1] for value in values]
