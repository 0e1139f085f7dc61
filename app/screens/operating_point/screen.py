"""The screen: controls on top, duty plots and waveforms below them, figures at the side."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QFrame, QHBoxLayout, QScrollArea, QVBoxLayout, QWidget

from burstwise.app.explain_panel import offer_explanation
from burstwise.app.screens.operating_point.controls import Controls
from burstwise.app.screens.operating_point.duty_plots import DutyPlots
from burstwise.app.screens.operating_point.figures import figure_groups, loss_shares, loss_title
from burstwise.app.screens.operating_point.waves import Waves
from burstwise.app.session import Evaluated, Session
from burstwise.app.theme import Theme
from burstwise.app.widgets.caution import caution_line
from burstwise.app.widgets.figure_table import FigureTable
from burstwise.app.widgets.in_view import ShownInView
from burstwise.app.widgets.reflow import Reflow
from burstwise.app.widgets.restyle import set_style_property
from burstwise.app.widgets.share_bars import ShareBars
from burstwise.app.widgets.text_label import TextLabel

if TYPE_CHECKING:
    from burstwise.core.studies.bands import Bands

FIGURES_WIDTH = 340
PLOTS_WIDTH = 640
"""Width from which the plots stand beside the figures [px]."""
FIGURES_MS = 60
"""Shortest time between two quick pictures in figures [ms]; nobody reads faster."""


class OperatingPoint(QWidget):
    """Follows quick pictures and full results alike; holds no figure of its own.

    Parameters
    ----------
    session : Session
        Document and results.
    theme : Theme
        Look.
    """

    def __init__(self, session: Session, theme: Theme) -> None:
        super().__init__()
        self.controls = Controls(session, self)
        self.duty_plots = DutyPlots(session, theme, self)
        self.waves = Waves(session, theme, self)
        self.figures = FigureTable(theme, self)
        self.losses = ShareBars(theme, self)
        for table in (self.figures, self.losses):
            small = table.font()
            small.setPointSizeF(small.pointSizeF() - 0.5)
            table.setFont(small)
        self._losses_title = TextLabel(self, role="title")
        self._losses_note = TextLabel("solid: in the device", self, role="muted")
        explain = offer_explanation(self.figures, session, lambda: self.figures.chosen_key)
        self.figures.asked.connect(explain.trigger)
        self._lay_out()
        self._plotted: ShownInView[Evaluated] = ShownInView(self, self._show_plots)
        self._read: ShownInView[Evaluated] = ShownInView(
            self, self._show_figures, pace_ms=FIGURES_MS
        )
        self._drawn: ShownInView[Evaluated] = ShownInView(self, self._show_waves)
        self._banded: ShownInView[Bands | None] = ShownInView(self, self._show_bands)
        session.banded.connect(self._banded.put)
        session.glimpsed.connect(self.show_quick)
        session.evaluated.connect(self.show_full)
        for signal in (session.glimpsed, session.evaluated, session.looked_ahead):
            signal.connect(self._mark_breaks)
        session.pin_changed.connect(self._show_pinned)
        self._session = session
        known = session.latest_complete
        if known is not None:
            self.show_full(known)
            self._mark_breaks(known)
        if session.pinned is not None:
            self._show_pinned()
        if session.bands is not None:
            self._banded.put(session.bands)

    def _lay_out(self) -> None:
        caution = caution_line("operating point", self)
        panel = QFrame(self)
        set_style_property(panel, "role", "panel")
        down = QVBoxLayout(panel)
        down.setContentsMargins(12, 6, 12, 6)
        down.setSpacing(3)
        heading = QHBoxLayout()
        heading.addWidget(self._losses_title, 1)
        heading.addWidget(self._losses_note)
        hint = TextLabel("Double click or F1 explains a figure.", panel, role="muted")
        down.addWidget(self.figures)
        down.addLayout(heading)
        down.addWidget(self.losses)
        down.addWidget(hint)
        down.addStretch(1)
        side = QScrollArea(self)
        side.setWidget(panel)
        side.setWidgetResizable(True)
        side.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        side.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        plots = QWidget(self)
        left = QVBoxLayout(plots)
        left.setContentsMargins(0, 0, 0, 0)
        left.setSpacing(8)
        left.addWidget(self.duty_plots, 4)
        left.addWidget(self.waves, 5)
        across = Reflow(spacing=10, parent=self)
        across.add(plots, row_width=PLOTS_WIDTH)
        across.add(side, 0, width=FIGURES_WIDTH)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(14, 8, 14, 10)
        layout.setSpacing(8)
        layout.addWidget(self.controls)
        layout.addWidget(caution)
        layout.addWidget(across, 1)

    def show_quick(self, evaluated: Evaluated) -> None:
        """Show a quick picture: plots at once, figures at a pace that can be read."""
        self._plotted.put(evaluated)
        self._read.offer(evaluated)

    def show_full(self, evaluated: Evaluated) -> None:
        """Show full results."""
        self._plotted.put(evaluated)
        self._read.put(evaluated)
        self._drawn.put(evaluated)

    def _mark_breaks(self, evaluated: Evaluated) -> None:
        self.controls.show_breaks(evaluated.summary.breaks)

    def _show_pinned(self) -> None:
        pinned = self._session.pinned
        results = None if pinned is None else pinned.results
        self.duty_plots.show_pinned(results)
        self.waves.show_pinned(results)

    def _show_bands(self, bands: Bands | None) -> None:
        self.duty_plots.show_bands(bands)
        self.waves.show_bands(bands)

    def _show_plots(self, evaluated: Evaluated) -> None:
        self.duty_plots.show_results(evaluated.results)

    def _show_waves(self, evaluated: Evaluated) -> None:
        self.waves.show_full(evaluated.results)

    def _show_figures(self, evaluated: Evaluated) -> None:
        results = evaluated.results
        self.figures.show_groups(figure_groups(results))
        self._losses_title.setText(loss_title(results))
        self.losses.show_shares(loss_shares(results))
