"""Average power, peak current and device temperature against duty, with point and limits."""

from __future__ import annotations

from contextlib import ExitStack
from typing import TYPE_CHECKING, Final

import numpy as np
from PySide6.QtWidgets import QWidget

from burstwise.app.plots.axis import Axis
from burstwise.app.plots.band_words import shade_of, tell_band
from burstwise.app.plots.grips import PointGrip
from burstwise.app.plots.line_plot import LinePlot
from burstwise.app.plots.overlay import Limit as Line
from burstwise.app.plots.temperature_plots import limit_named
from burstwise.app.session import Session
from burstwise.app.theme import Theme
from burstwise.app.widgets.drag import edit_by_drag
from burstwise.app.widgets.reflow import Reflow
from burstwise.core.design.document import field_info
from burstwise.core.findings import Severity
from burstwise.core.interrupter.resolve import duty_reach, edits_in_use
from burstwise.core.units import shown

if TYPE_CHECKING:
    from burstwise.core.evaluate.results import Results
    from burstwise.core.studies.bands import Bands


DRAG: Final = "Drag the point, or Ctrl with the arrow keys: the duty. Escape restores."
DUTY: Final = "interrupter.duty"
LOWEST_DUTY: Final = float(field_info(DUTY)["low"])


class DutyPlots(Reflow):
    """The three plots side by side over one axis of duty; the point is dragged in any of them.

    Parameters
    ----------
    session : Session
        Whose document a drag edits.
    theme : Theme
        Look.
    """

    def __init__(self, session: Session, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(spacing=8, parent=parent)
        self._document = session.document
        duty = Axis("Duty", "%")
        self.power = LinePlot(
            theme, x=duty, y=Axis("Average power", "W", from_zero=True), curves=("",)
        )
        self.current = LinePlot(
            theme, x=duty, y=Axis("Peak drain current", "A", from_zero=True), curves=("",)
        )
        self.temperature = LinePlot(
            theme, x=duty, y=Axis("Junction temperature", "°C"), curves=("peak", "mean")
        )
        for plot in (self.power, self.current, self.temperature):
            plot.set_x_range(0.0, 1.0)
            self.add(plot)
        self.grips = [self._grip(plot) for plot in (self.power, self.current, self.temperature)]
        self._document.changed.connect(self._follow)
        self._follow()

    def _grip(self, plot: LinePlot) -> PointGrip:
        grip = PointGrip(plot, low=0.0, high=1.0)
        edit_by_drag(
            self._document,
            grip.drag,
            lambda duty: edits_in_use(self._document.design, {DUTY: duty}),
            text=str(field_info(DUTY)["title"]),
        )
        tell_band(plot, DRAG, None)
        return grip

    def _follow(self, _design: object = None) -> None:
        """The point goes as far as the interrupter does; without one it is no handle."""
        design = self._document.design
        low, high = duty_reach(design)
        for grip in self.grips:
            grip.offered = bool(design.interrupter.enabled) and low < high
            grip.low, grip.high = max(low, LOWEST_DUTY), high

    def show_pinned(self, results: Results | None) -> None:
        """Keep the curves of some results as ghosts, or none."""
        plots = (self.power, self.current, self.temperature)
        if results is None:
            for plot in plots:
                plot.clear_pinned()
            return
        with ExitStack() as pinning:
            for plot in plots:
                pinning.enter_context(plot.as_pinned())
            self.show_results(results)

    def show_bands(self, bands: Bands | None) -> None:
        """Shade what most builds keep within, or nothing."""
        for plot, name in (
            (self.power, "average_power"),
            (self.current, "peak_current"),
            (self.temperature, "junction_peak"),
        ):
            plot.set_shades([] if bands is None else [shade_of(bands.duty_curves[name])])
            tell_band(plot, DRAG, None if bands is None else bands.builds)

    def show_results(self, results: Results) -> None:
        """Show curves, operating point and limits of some results."""
        curves, at = results.curves, results.duty
        with self.power.batch():
            self.power.set_data(curves.duty, curves.average_power)
            self.power.set_point(at, (results.average_power,))
            self.power.set_limits(_power_lines(results))
        with self.current.batch():
            self.current.set_data(curves.duty, curves.peak_current)
            self.current.set_point(at, (results.carrier.drain_current_peak,))
            self.current.set_limits(_current_lines(results))
        with self.temperature.batch():
            self.temperature.set_data(curves.duty, curves.junction_peak, curves.junction_mean)
            self.temperature.set_point(at, (results.junction_peak, results.junction_mean))
            self.temperature.set_limits(_temperature_lines(results))


def _power_lines(results: Results) -> tuple[Line, ...]:
    fuse = limit_named(results, "fuse")
    if fuse is None:
        return ()
    power = fuse.limit * results.operation.voltage
    words = f"fuse {shown(fuse.limit, 'A', digits=3)}: {shown(power, 'W', digits=3)}"
    return (Line(power, words, fuse.severity),)


def _current_lines(results: Results) -> tuple[Line, ...]:
    pulsed = limit_named(results, "pulsed_current")
    if pulsed is None:
        return ()
    words = f"pulsed rating {shown(pulsed.limit, 'A', digits=3)}"
    return (Line(pulsed.limit, words, pulsed.severity),)


def _temperature_lines(results: Results) -> tuple[Line, ...]:
    lines = []
    junction = limit_named(results, "junction_peak")
    if junction is not None:
        words = f"limit {shown(junction.limit, '°C', digits=3)}"
        lines.append(Line(junction.limit, words, junction.severity))
    away = ~np.isfinite(results.curves.junction_mean)
    if away.any():
        duty = float(results.curves.duty[int(np.argmax(away))])
        words = f"runs away from {shown(duty, '%', digits=3)}"
        lines.append(Line(duty, words, Severity.STOP, vertical=True))
    return tuple(lines)
