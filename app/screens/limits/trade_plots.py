"""Curve of a trade-off, with points to click on."""

from __future__ import annotations

from typing import Any

import numpy as np
from PySide6.QtCore import QEvent, Qt, Signal
from PySide6.QtGui import QMouseEvent
from PySide6.QtWidgets import QVBoxLayout, QWidget

from burstwise.app.plots.axis import Axis
from burstwise.app.plots.line_plot import LinePlot
from burstwise.app.theme import Theme
from burstwise.core.design.document import field_info
from burstwise.core.search import Free, Sweep, TradeOff, Wish
from burstwise.core.search.wish import MARGIN, name_in_words, unit_of

_HEIGHTS = 160, 200


class _Picked(LinePlot):
    """Plot that tells where it was clicked."""

    clicked = Signal(float)

    def eventFilter(self, watched: Any, event: QEvent) -> bool:
        """Tell a click's place on the horizontal axis."""
        pressed = event.type() == QEvent.Type.MouseButtonPress
        if (
            pressed
            and isinstance(event, QMouseEvent)
            and event.button() == Qt.MouseButton.LeftButton
        ):
            self._mouse_moved(self.view.mapToScene(event.position().toPoint()))
            if self._cursor is not None:
                self.clicked.emit(self._cursor)
        return super().eventFilter(watched, event)


class TradePlots(QWidget):
    """Holds the plot of the present trade-off; hidden where there is none."""

    picked = Signal(int)

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._theme = theme
        self._trade: TradeOff | None = None
        self.plot: LinePlot | None = None
        self._layout = QVBoxLayout(self)
        self._layout.setContentsMargins(0, 0, 0, 0)
        self.setMinimumHeight(_HEIGHTS[0])
        self.setMaximumHeight(_HEIGHTS[1])
        self.hide()

    def show_trade(self, wish: Wish | None, trade: TradeOff | None) -> None:
        """Draw a trade-off; None hides the plot."""
        self._trade = trade
        points = [] if trade is None else [one for one in trade.points if one.found is not None]
        self.setVisible(len(points) > 0)
        if trade is None or wish is None or not points:
            return
        plot = self._plot_for(trade.sweep, wish)
        plot.set_data(
            np.array([point.value for point in points]),
            np.array([point.found.objective for point in points if point.found is not None]),
        )

    def mark(self, row: int) -> None:
        """Mark the point of a row."""
        if self._trade is None or self.plot is None:
            return
        point = self._trade.points[row]
        if point.found is None:
            self.plot.set_point(None)
        else:
            self.plot.set_point(point.value, (point.found.objective,))

    def _plot_for(self, sweep: Sweep, wish: Wish) -> LinePlot:
        if self.plot is not None:
            self._layout.removeWidget(self.plot)
            self.plot.deleteLater()
        name = wish.objective.name
        made = _Picked(
            self._theme,
            x=_axis(sweep),
            y=Axis(_capital(name_in_words(name)), _unit(name)),
            curves=("",),
            parent=self,
        )
        made.clicked.connect(self._pick)
        self._layout.addWidget(made)
        self.plot = made
        return made

    def _pick(self, x: float) -> None:
        """Choose the point that is nearest to a place."""
        if self._trade is not None:
            steps = [abs(point.value - x) for point in self._trade.points]
            self.picked.emit(int(np.argmin(steps)))


def _axis(sweep: Sweep) -> Axis:
    if isinstance(sweep.what, Free):
        path = sweep.what.path
        return Axis(sweep.title, str(field_info(path).get("shown_unit", "")))
    return Axis(_capital(sweep.title), _unit(sweep.name))


def _unit(name: str) -> str:
    return "%" if name.split(".")[0] == MARGIN else unit_of(name)


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
