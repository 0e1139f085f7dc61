"""Waveforms: one carrier cycle, ring-up and ring-down, one interrupter period, warm-up."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QHBoxLayout, QStackedWidget, QTabBar, QVBoxLayout, QWidget

from burstwise.app.plots.axis import Axis
from burstwise.app.plots.band_words import band_words, shade_of, tell_band
from burstwise.app.plots.grips import LevelGrip
from burstwise.app.plots.line_plot import LinePlot
from burstwise.app.plots.overlay import Limit as Line
from burstwise.app.plots.strip_stack import StripStack
from burstwise.app.plots.temperature_plots import WarmUpPlot
from burstwise.app.session import Session
from burstwise.app.theme import Theme
from burstwise.app.widgets.drag import edit_by_drag
from burstwise.app.widgets.text_label import TextLabel, set_tip
from burstwise.core.design.document import field_info
from burstwise.core.findings import Severity
from burstwise.core.units import shown

if TYPE_CHECKING:
    from burstwise.core.evaluate.results import Results
    from burstwise.core.studies.bands import Bands

TITLES = ("Carrier cycle", "Ring-up and ring-down", "Interrupter period", "Warm-up")
CYCLE, RING_UP, PERIOD, WARM_UP = range(len(TITLES))
SUPPLY = "supply.voltage"
DRAG = "Drag the supply's line, or Ctrl with Up and Down. Escape restores."
_DRAIN = 1
"""Place of the drain voltage among the strips of the cycle."""


class Waves(QWidget):
    """Views behind tabs, of full results; only the one in view is drawn.

    The supply is dragged on the drain voltage's scale.
    """

    def __init__(self, session: Session, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._document = session.document
        self.tabs = QTabBar(self)
        self.tabs.setAccessibleName("Waveforms")
        self.tabs.setDrawBase(False)
        self.tabs.setExpanding(False)
        for title in TITLES:
            self.tabs.addTab(title)
        time = Axis("Time", "s")
        self.cycle = StripStack(
            theme,
            x=time,
            signals=(
                Axis("Gate voltage", "V"),
                Axis("Drain voltage", "V"),
                Axis("Primary current", "A"),
                Axis("Top voltage", "V"),
            ),
        )
        self.ring_up = LinePlot(
            theme,
            x=Axis("Time since switching", "s", from_zero=True),
            y=Axis("Top voltage, peak of each cycle", "V", from_zero=True),
            curves=("after switching on", "after switching off"),
        )
        self.period = StripStack(
            theme,
            x=time,
            signals=(
                Axis("Supply current", "A", from_zero=True),
                Axis("Bus voltage", "V"),
                Axis("Junction", "°C"),
            ),
        )
        self.warm_up = WarmUpPlot(theme)
        self.legend = TextLabel("▒ 8 in 10 builds", self, role="muted")
        small = self.legend.font()
        small.setPointSizeF(small.pointSizeF() - 1.5)
        self.legend.setFont(small)
        self._shaded = False
        self._fit_legend()
        self.stack = QStackedWidget(self)
        self._views: tuple[StripStack | LinePlot, ...] = (
            self.cycle, self.ring_up, self.period, self.warm_up,
        )  # fmt: skip
        for view in self._views:
            self.stack.addWidget(view)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(4)
        heading = QHBoxLayout()
        heading.addWidget(self.tabs)
        heading.addStretch(1)
        heading.addWidget(self.legend)
        layout.addLayout(heading)
        layout.addWidget(self.stack, 1)
        self._full: Results | None = None
        self._pinned: Results | None = None
        self._draw: tuple[Callable[[], None], ...] = (
            self._draw_cycle,
            self._draw_ring_up,
            self._draw_period,
            self._draw_warm_up,
        )
        self.tabs.currentChanged.connect(self._switch)
        self.supply = self._supply_grip(theme)

    def _supply_grip(self, theme: Theme) -> LevelGrip:
        info = field_info(SUPPLY)
        strip = self.cycle.strips[_DRAIN]
        grip = LevelGrip(strip, theme.tokens, low=float(info["low"]), high=float(info["high"]))
        edit_by_drag(
            self._document, grip.drag, lambda volts: {SUPPLY: volts}, text=str(info["title"])
        )
        tell_band(strip, DRAG, None)
        theme.changed.connect(grip.recolour)
        self._document.changed.connect(self._follow)
        return grip

    def _follow(self, _design: object = None) -> None:
        volts = float(self._document.value(SUPPLY))
        self.supply.show_level(volts, f"↕ supply {shown(volts, 'V', digits=3)}")

    def show_full(self, results: Results) -> None:
        """Show full results."""
        self._full = results
        self._draw_current()

    def show_pinned(self, results: Results | None) -> None:
        """Keep the waveforms of some results as ghosts behind the live ones, or none."""
        self._pinned = results
        if results is None:
            for view in self._views:
                view.clear_pinned()
        self._draw_current()

    def show_bands(self, bands: Bands | None) -> None:
        """Shade what most builds keep within, or nothing."""
        from burstwise.core.studies.bands import SIGNALS

        runs = None if bands is None else bands.runs
        cycle = {} if bands is None else bands.cycle
        self.cycle.set_shades([shade_of(cycle[signal]) for signal in SIGNALS] if cycle else [])
        for place, strip in enumerate(self.cycle.strips):
            tell_band(strip, DRAG if place == _DRAIN else "", runs)
        self.ring_up.set_shades(
            [] if bands is None else [shade_of(bands.ring_up), shade_of(bands.ring_down)]
        )
        tell_band(self.ring_up, "", runs)
        period = {} if bands is None else bands.period
        self.period.set_shades([shade_of(band) for band in period.values()])
        for strip in self.period.strips:
            tell_band(strip, "", None if bands is None else bands.builds)
        self.warm_up.show_bands(bands)
        self._shaded = bands is not None
        if bands is not None:
            set_tip(self.legend, band_words(bands.builds))
        self._fit_legend()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Name the areas where there is room; the tips do so in any case."""
        super().resizeEvent(event)
        self._fit_legend()

    def _fit_legend(self) -> None:
        room = self.width() - self.tabs.sizeHint().width()
        self.legend.setVisible(self._shaded and self.legend.sizeHint().width() < room)

    def _switch(self, index: int) -> None:
        self.stack.setCurrentIndex(index)
        self._draw_current()

    def _draw_current(self) -> None:
        if self._full is None:
            return
        place = self.tabs.currentIndex()
        if self._pinned is not None:
            live, self._full = self._full, self._pinned
            with self._views[place].as_pinned():
                self._draw[place]()
            self._full = live
        self._draw[place]()

    def _draw_cycle(self) -> None:
        from burstwise.core.stage.elements import Monitor

        trace = None if self._full is None else self._full.carrier.trace
        if trace is None or len(trace.time) < 2:
            self.cycle.set_data((), (), (), (), ())
            return
        self.cycle.set_data(
            trace.time - trace.time[0],
            *(
                trace.signal(signal)
                for signal in (
                    Monitor.GATE,
                    Monitor.DRAIN,
                    Monitor.PRIMARY_CURRENT,
                    Monitor.TOP,
                )
            ),
        )
        self._follow()

    def _draw_ring_up(self) -> None:
        if self._full is None:
            return
        run = self._full.carrier
        up, down = run.envelope[run.envelope[:, 0] <= run.ring_up.time[-1]], run.ring_down
        with self.ring_up.batch():
            self.ring_up.set_x_range(0.0, max(_last(up[:, 0]), _last(down.time)) or 1e-3)
            self.ring_up.set_curves([(up[:, 0], up[:, 1]), (down.time, down.top)])
            lines = [_breakout_line(self._full)]
            if run.oscillates and run.time_to_90_percent > 0.0:
                reach = shown(run.time_to_90_percent, "s", digits=2)
                words = f"90 % after {reach}, {run.cycles_to_90_percent:.0f} cycles"
                lines.append(Line(run.time_to_90_percent, words, Severity.NOTE, vertical=True))
            self.ring_up.set_limits(lines)

    def _draw_period(self) -> None:
        if self._full is None:
            return
        course = self._full.course
        self.period.set_data(
            course.time, course.supply_current, course.bus_voltage, course.junction
        )

    def _draw_warm_up(self) -> None:
        if self._full is not None:
            self.warm_up.show_results(self._full)


def _last(time: NDArray[np.float64]) -> float:
    return float(time[-1]) if len(time) else 0.0


def _breakout_line(results: Results) -> Line:
    volts = results.coil.breakout_voltage
    return Line(volts, f"breakout {shown(volts, 'V', digits=3)}", Severity.NOTE)
