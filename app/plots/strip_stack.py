"""Several signals over one axis, a strip for each, with one cursor through all of them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import ExitStack, contextmanager
from typing import Final

import numpy as np
from numpy.typing import ArrayLike
from PySide6.QtCore import QSize
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QFrame, QVBoxLayout, QWidget

from burstwise.app.plots.axis import Axis, with_minus
from burstwise.app.plots.curves import Shade, data_ends
from burstwise.app.plots.line_plot import LinePlot
from burstwise.app.plots.overlay import Limit
from burstwise.app.plots.readout import difference_text
from burstwise.app.theme import Theme
from burstwise.app.widgets.restyle import set_style_property
from burstwise.app.widgets.text_label import TextLabel
from burstwise.app.widgets.words import plain, unbroken

NAME_WIDTH: Final = 152
"""Room for the names and figures left of the strips."""
_AXIS_HEIGHT: Final = 36
_MARGIN: Final = 8


class StripStack(QFrame):
    """Strips above each other that share their horizontal axis.

    Left of each strip stand its name, its unit and the range of the signal, or, while the cursor is
    in any strip, its value there.

    Parameters
    ----------
    theme : Theme
        Colours.
    x : Axis
        The common axis.
    signals : sequence of Axis
        What each strip shows, from top to bottom.
    """

    def __init__(
        self, theme: Theme, *, x: Axis, signals: Sequence[Axis], parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        set_style_property(self, "role", "panel")
        last = len(signals) - 1
        self.x_axis = x
        self.strips = [
            LinePlot(
                theme, x=x, y=axis, curves=("",), strip=True, x_ticks=place == last, parent=self
            )
            for place, axis in enumerate(signals)
        ]
        self._names = [TextLabel(axis.name, self) for axis in signals]
        self._figures = [TextLabel(self) for _ in signals]
        self._sides = []
        for name, figure in zip(self._names, self._figures, strict=True):
            set_style_property(figure, "role", "muted")
            figure.setWordWrap(True)
            side = QWidget(self)
            down = QVBoxLayout(side)
            down.setContentsMargins(0, 2, 0, 0)
            down.setSpacing(0)
            down.addWidget(name)
            down.addWidget(figure)
            down.addStretch(1)
            self._sides.append(side)
        self._pinning = False
        self._cursor: float | None = None
        self._data: tuple[np.ndarray, ...] = ()
        for strip in self.strips:
            strip.cursor_moved.connect(self._follow)

    @contextmanager
    def as_pinned(self) -> Iterator[None]:
        """Take what is drawn meanwhile as the pinned design's."""
        with ExitStack() as all_strips:
            for strip in self.strips:
                all_strips.enter_context(strip.as_pinned())
            self._pinning = True
            try:
                yield
            finally:
                self._pinning = False
        self._write()

    def clear_pinned(self) -> None:
        """Take the ghosts away."""
        for strip in self.strips:
            strip.clear_pinned()
        self._write()

    def set_data(self, x: ArrayLike, *ys: ArrayLike) -> None:
        """Show the signals over a common axis, in the order of the strips."""
        if self._pinning:
            for strip, y in zip(self.strips, ys, strict=True):
                strip.set_data(x, y)
            return
        self._data = tuple(np.asarray(y, float) for y in ys)
        at = np.asarray(x, float)
        for strip, y in zip(self.strips, self._data, strict=True):
            with strip.batch():
                if len(at):
                    strip.set_x_range(float(at[0]), float(at[-1]))
                strip.set_data(at, y)
        self._write()

    def set_limits(self, limits: Sequence[Sequence[Limit]]) -> None:
        """Limit lines of each strip."""
        for strip, lines in zip(self.strips, limits, strict=True):
            strip.set_limits(lines)

    def set_shades(self, shades: Sequence[Shade | None]) -> None:
        """Shade an area under each signal, or none."""
        for place, strip in enumerate(self.strips):
            strip.set_shades(shades[place : place + 1])

    def figure(self, index: int) -> str:
        """Text beside a strip."""
        return plain(self._figures[index].text())

    def minimumSizeHint(self) -> QSize:
        """Two lines of words beside each strip."""
        lines = 2 * self.fontMetrics().height() + 4
        high = len(self.strips) * lines + 2 * _MARGIN + _AXIS_HEIGHT
        return QSize(2 * NAME_WIDTH + 2 * _MARGIN, high)

    def sizeHint(self) -> QSize:
        """The least, and a half more."""
        least = self.minimumSizeHint()
        return QSize(2 * least.width(), 3 * least.height() // 2)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Share the height out; the last strip has the axis below it as well."""
        super().resizeEvent(event)
        whole = self.height() - 2 * _MARGIN - _AXIS_HEIGHT
        count = len(self.strips)
        for place, (side, strip) in enumerate(zip(self._sides, self.strips, strict=True)):
            top = _MARGIN + whole * place // count
            height = _MARGIN + whole * (place + 1) // count - top
            side.setGeometry(_MARGIN, top, NAME_WIDTH, height)
            extra = _AXIS_HEIGHT if place == count - 1 else 0
            width = self.width() - NAME_WIDTH - 2 * _MARGIN
            strip.setGeometry(_MARGIN + NAME_WIDTH, top, width, height + extra)

    def _follow(self, x: float | None) -> None:
        if x == self._cursor:
            return
        self._cursor = x
        for strip in self.strips:
            strip.set_cursor(x)
        self._write()

    def _write(self) -> None:
        for strip, name in zip(self.strips, self._names, strict=True):
            name.setText(strip.title)
        for place, (strip, label) in enumerate(zip(self.strips, self._figures, strict=True)):
            if self._cursor is not None:
                value = strip.values_at(self._cursor)[0]
                text = strip.y_axis.text(value)
                for old in strip.pinned_values(self._cursor)[:1]:
                    text += difference_text(value, old, strip.y_axis)
                label.setText(unbroken(f"{text} at {self.x_axis.text(self._cursor)}"))
                continue
            signal = self._data[place] if self._data else np.zeros(0)
            finite = signal[np.isfinite(signal)]
            if not finite.size:
                label.setText("—")
                continue
            low, high = float(finite.min()), float(finite.max())
            ends = (with_minus(strip.y_axis.text(end)) for end in (low, high))
            told = "".join(
                difference_text(high, old.high, strip.y_axis)
                for old in [data_ends([y for _, y in strip.pinned])]
                if old is not None
            )
            label.setText(unbroken(" to ".join(ends) + told))
        words = "; ".join(
            f"{strip.y_axis.name} {plain(label.text())}"
            for strip, label in zip(self.strips, self._figures, strict=True)
        )
        self.setAccessibleDescription(words)
