"""What a plot is drawn on: view, box of the curves, axes, and the overlay above them."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Final

import pyqtgraph as pg
from PySide6.QtCore import Qt
from PySide6.QtGui import QFont, QFontMetrics, QPen
from PySide6.QtWidgets import QFrame, QGraphicsPathItem, QWidget

from burstwise.app.plots.axis import TickAxis
from burstwise.app.plots.overlay import Overlay

_LEFT_WIDTH: Final = 54
_STRIP_LEFT_WIDTH: Final = 44


class Canvas:
    """Items of one plot, laid out and linked.

    Parameters
    ----------
    owner : QWidget
        Widget that the view belongs to; its font, a little smaller, is that of the ticks.
    names : sequence of str
        Names of the curves.
    zoomable : bool
        Let wheel and drag change the range.
    """

    def __init__(self, owner: QWidget, names: Sequence[str], *, zoomable: bool) -> None:
        self.view: Any = pg.GraphicsView(owner)
        self.view.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.view.setFrameShape(QFrame.Shape.NoFrame)
        self.view.setAntialiasing(True)
        self.view.setCacheMode(pg.GraphicsView.CacheModeFlag.CacheNone)
        self.box: Any = pg.ViewBox(enableMenu=False, defaultPadding=0.0)
        self.box.disableAutoRange()
        self.box.setMouseEnabled(x=zoomable, y=zoomable)
        self.left: Any = TickAxis("left")
        self.bottom: Any = TickAxis("bottom")
        inner = pg.GraphicsLayout()
        inner.layout.setContentsMargins(0, 9, 16, 0)  # half a tick text beyond each end
        inner.layout.setSpacing(0)
        inner.addItem(self.left, 0, 0)
        inner.addItem(self.box, 0, 1)
        inner.addItem(self.bottom, 1, 1)
        self.view.setCentralItem(inner)
        small = QFont(owner.font())
        small.setPointSizeF(owner.font().pointSizeF() - 1.5)
        for axis in (self.left, self.bottom):
            axis.linkToView(self.box)
            axis.enableAutoSIPrefix(False)
            axis.setStyle(tickFont=small, tickLength=0, maxTickLevel=0, hideOverlappingLabels=False)
        self.left.setWidth(_LEFT_WIDTH)
        self.bottom.label.setFont(small)
        self.curves: list[Any] = [pg.PlotCurveItem(antialias=True, connect="finite") for _ in names]
        for curve in self.curves:
            self.box.addItem(curve)
        self.overlay = Overlay(self.view.scene(), names, small)

    def strip_down(self, *, x_ticks: bool) -> None:
        """Make it one strip of a stack."""
        self.box.parentItem().layout.setContentsMargins(0, 6, 16, 5)
        self.left.setWidth(_STRIP_LEFT_WIDTH)
        if not x_ticks:
            self.bottom.hide()
            self.bottom.setHeight(0)

    def enlarge(self, times: float, font: QFont) -> None:
        """Ticks and words in a larger type, with the room that they take."""
        small = QFont(font)
        small.setPointSizeF(0.85 * font.pointSizeF())
        for axis in (self.left, self.bottom):
            axis.setStyle(tickFont=small)
        self.left.setWidth(round(_LEFT_WIDTH * times))
        self.bottom.label.setFont(small)
        self.bottom.setHeight(round(2.3 * QFontMetrics(small).height()))
        self.overlay.set_font(small)

    def add_ghost(self) -> Any:
        """One more curve, behind all others, for a pinned design."""
        ghost: Any = pg.PlotCurveItem(antialias=True, connect="finite")
        ghost.setZValue(-1.0)
        self.box.addItem(ghost)
        return ghost

    def add_band(self) -> QGraphicsPathItem:
        """An area behind all curves, drawn in the data's own units."""
        band = QGraphicsPathItem()
        band.setPen(QPen(Qt.PenStyle.NoPen))
        band.setZValue(-2.0)
        self.box.addItem(band, ignoreBounds=True)
        return band
