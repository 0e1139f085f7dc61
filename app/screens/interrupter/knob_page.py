"""Page with the knob: duty and frequency with their bands, timing diagram, scope reading."""

from __future__ import annotations

import math
from typing import Final

import numpy as np
from PySide6.QtCore import QTimer
from PySide6.QtGui import QShowEvent
from PySide6.QtWidgets import QGridLayout, QHBoxLayout, QVBoxLayout, QWidget

from burstwise.app.binding import bind_value
from burstwise.app.plots.axis import Axis
from burstwise.app.plots.line_plot import LinePlot
from burstwise.app.screens.interrupter.chosen import Chosen
from burstwise.app.screens.interrupter.knob import Knob
from burstwise.app.screens.interrupter.timing_diagram import Lane, TimingDiagram
from burstwise.app.session import Evaluated
from burstwise.app.theme import Theme
from burstwise.app.widgets.figure_table import Figure, FigureTable, Group
from burstwise.app.widgets.quantity_field import QuantityField
from burstwise.app.widgets.reflow import Reflow
from burstwise.app.widgets.text_label import TextLabel
from burstwise.app.widgets.throttle import Throttle
from burstwise.core.evaluate.results import Results
from burstwise.core.interrupter.courses import timing_courses
from burstwise.core.interrupter.resolve import knob_curve, travel_for_duty
from burstwise.core.interrupter.sets import Band
from burstwise.core.interrupter.tolerance import TravelBands
from burstwise.core.interrupter.waveform import scope_reading
from burstwise.core.units import shown

_SCOPE_REST_MS: Final = 150
"""Quiet time after a turn before the scope reading is worked out."""
_MARK_MS: Final = 40
"""Shortest time between two moves of the marks on the curves; knob and diagram do not wait."""
_SIDE_WIDTH: Final = 336
_PLOTS_WIDTH: Final = 400


def stage_group(results: Results) -> Group:
    """What the stage does at the knob's place."""
    drain, source = results.load.drain_current_peak, results.operation.bus.source_peak
    return Group(
        "The stage at this duty",
        (
            Figure("Average power", shown(results.average_power, "W", digits=3)),
            Figure("Peak drain current", shown(float(drain), "A", digits=3)),
            Figure("Peak supply current", shown(source, "A", digits=3)),
            Figure("Junction, peak", junction_text(results.junction_peak)),
        ),
    )


def junction_text(celsius: float) -> str:
    """Temperature, or that there is none to settle at.

    Examples
    --------
    >>> junction_text(83.24), junction_text(float("inf"))
    ('83.2 °C', 'runs away')
    """
    return shown(celsius, "°C", digits=3) if math.isfinite(celsius) else "runs away"


def band_text(band: Band, unit: str) -> str:
    """Nominal value and its worst case.

    Examples
    --------
    >>> band_text(Band(15.1, 11.2, 21.2), "Hz")
    '15.1 Hz (11.2 to 21.2 Hz)'
    """
    low, high = (shown(side, unit, digits=3) for side in (band.low, band.high))
    if low.split(" ")[1:] == high.split(" ")[1:]:
        low = low.split(" ")[0]
    return f"{shown(band.nominal, unit, digits=3)} ({low} to {high})"


class KnobPage(QWidget):
    """Knob and figures on the left, timing diagram and curves over the travel on the right."""

    def __init__(self, chosen: Chosen, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._chosen = chosen
        self.knob = Knob(theme, "Duty knob", self)
        self.duty = QuantityField("%", name="Duty", low=0.0, high=1.0, digits=3, parent=self)
        self.duty.setToolTip("Type a duty: the knob goes to where the parts give it.")
        self.speed = QuantityField("%", name="Frequency knob", low=0.0, high=1.0, parent=self)
        self.figures = FigureTable(theme, self)
        self.status = TextLabel(self, wraps=True, role="muted")
        self.diagram = TimingDiagram(theme, self)
        travel = Axis("Travel of the knob", "%")
        bands = ("", "least", "most")
        self.duty_plot = LinePlot(
            theme, x=travel, y=Axis("Duty", "%", from_zero=True), curves=bands
        )
        self.frequency_plot = LinePlot(theme, x=travel, y=Axis("Frequency", "Hz"), curves=bands)
        for plot in (self.duty_plot, self.frequency_plot):
            plot.set_x_range(0.0, 1.0)
        self._now = self._stage = self._scope = Group("", ())
        self._marks = Throttle(self._mark, _MARK_MS, self)
        self._scope_rest = QTimer(self)
        self._scope_rest.setSingleShot(True)
        self._scope_rest.setInterval(_SCOPE_REST_MS)
        self._scope_rest.timeout.connect(self._show_scope)
        self._lay_out()
        self._connect()

    def _lay_out(self) -> None:
        side = QWidget(self)
        down = QVBoxLayout(side)
        down.setContentsMargins(0, 0, 0, 0)
        down.setSpacing(6)
        beside = QGridLayout()
        beside.setHorizontalSpacing(6)
        beside.addWidget(self.knob, 0, 0, 6, 1)
        self._speed_label = TextLabel("Frequency knob", self)
        for row, widget in enumerate(
            (TextLabel("Duty", self), self.duty, self._speed_label, self.speed), start=1
        ):
            beside.addWidget(widget, row, 1)
        beside.setRowStretch(0, 1)
        beside.setRowStretch(5, 1)
        down.addLayout(beside)
        down.addWidget(self.figures)
        down.addWidget(self.status)
        down.addStretch(1)
        curves = QHBoxLayout()
        curves.addWidget(self.duty_plot)
        curves.addWidget(self.frequency_plot)
        plots = QWidget(self)
        plots.setMinimumWidth(_PLOTS_WIDTH)
        right = QVBoxLayout(plots)
        right.setContentsMargins(0, 0, 0, 0)
        right.addWidget(self.diagram, 5)
        right.addLayout(curves, 4)
        both = Reflow(parent=self)
        both.add(side, 0, width=_SIDE_WIDTH)
        both.add(plots)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 8, 0, 0)
        layout.addWidget(both)

    def _connect(self) -> None:
        chosen = self._chosen
        self.knob.moved.connect(chosen.turn)
        self.knob.released.connect(chosen.let_go)
        self.duty.value_changed.connect(self._to_duty)
        self.duty.edit_finished.connect(chosen.let_go)
        bind_value(
            chosen.session.document,
            "interrupter.parts.frequency_travel",
            self.speed,
            text="Frequency knob",
        )
        chosen.set_changed.connect(self.refresh)
        chosen.turned.connect(self._turned)
        chosen.stage_changed.connect(self._show_diagram)
        chosen.session.document.changed.connect(self._tell_use)
        chosen.session.glimpsed.connect(self._take)
        chosen.session.evaluated.connect(self._take)
        if chosen.session.latest is not None:
            self._take(chosen.session.latest)

    def showEvent(self, event: QShowEvent) -> None:
        """Show what changed while the page was hidden."""
        super().showEvent(event)
        self.refresh()

    def refresh(self) -> None:
        """Show another set of parts."""
        if not self.isVisible():
            return
        one = self._chosen.set
        two_timer = one.circuit == "two-timer"
        self._speed_label.setVisible(two_timer)
        self.speed.setVisible(two_timer)
        if self._chosen.runs:
            curve = knob_curve(one)
            with self.duty_plot.batch():
                self.duty_plot.set_data(curve.travel, curve.duty, curve.duty_low, curve.duty_high)
            with self.frequency_plot.batch():
                self.frequency_plot.set_data(
                    curve.travel, curve.frequency, curve.frequency_low, curve.frequency_high
                )
            self.knob.set_stops(
                f"duty {shown(float(curve.duty[0]), '%', digits=3)}",
                f"duty {shown(float(curve.duty[-1]), '%', digits=3)}",
            )
        else:
            for plot in (self.duty_plot, self.frequency_plot):
                plot.set_curves([])
                plot.set_point(None)
            self.knob.set_stops("", "")
        self._turned(self._chosen.parts.travel)
        self._tell_use()

    def _turned(self, travel: float) -> None:
        if not self.isVisible():
            return
        self.knob.set_travel(travel)
        self._show_diagram()
        if not self._chosen.runs:
            self.figures.show_groups([])
            return
        curve = knob_curve(self._chosen.set)
        duty, frequency = self._bands(curve, travel)
        self.duty.set_value(duty.nominal)
        self._marks.submit(travel)
        on = duty.nominal / frequency.nominal
        self._now = Group(
            f"Knob at {shown(travel, '%', digits=3)}",
            (
                Figure("Duty", band_text(duty, "%")),
                Figure("Frequency", band_text(frequency, "Hz")),
                Figure("On-time, nominal", shown(on, "s")),
            ),
        )
        self._show_figures()
        self._scope_rest.start()

    def _take(self, evaluated: Evaluated) -> None:
        """Power, current and temperature of quick pictures and full results, where they apply."""
        results, use = evaluated.results, self._chosen.interrupter
        follows = use.enabled and use.given_by == "parts" and isinstance(results, Results)
        self._stage = stage_group(results) if follows else Group("", ())
        if self.isVisible() and self._chosen.runs:
            self._show_figures()

    def _show_figures(self) -> None:
        groups = (self._now, self._stage, self._scope)
        self.figures.show_groups([group for group in groups if group.figures])

    def _mark(self, travel: float) -> None:
        """Mark the knob's place on the curves."""
        if not self._chosen.runs:
            return
        for plot, band in zip(
            (self.duty_plot, self.frequency_plot),
            self._bands(knob_curve(self._chosen.set), travel),
            strict=True,
        ):
            plot.set_point(travel, (band.nominal, band.low, band.high))

    def _bands(self, curve: TravelBands, travel: float) -> tuple[Band, Band]:
        def at(*lines: np.ndarray) -> Band:
            return Band(*(float(np.interp(travel, curve.travel, line)) for line in lines))

        return (
            at(curve.duty, curve.duty_low, curve.duty_high),
            at(curve.frequency, curve.frequency_low, curve.frequency_high),
        )

    def _show_diagram(self) -> None:
        chosen = self._chosen
        if not self.isVisible():
            return
        if not chosen.runs:
            self.diagram.show_lanes(np.zeros(0))
            return
        one = chosen.set
        found = timing_courses(
            one,
            travel=chosen.parts.travel,
            ring_up=chosen.ring_up,
            ring_down=chosen.ring_down,
        )
        upper, lower = one.supply * one.timer.upper, one.supply * one.timer.lower
        pulsed = "pulse_capacitor" in one.build()
        levels = (upper,) if pulsed else (upper, lower)
        name = "Pulse capacitor" if pulsed else "Capacitor"
        self.diagram.show_lanes(
            found.time,
            Lane(name, "V", found.capacitor, one.supply, levels),
            Lane("Timer output", "V", found.output, one.supply),
            Lane("Stage enabled", "", found.enable, 1.0),
            Lane("Envelope", "%", found.envelope, 1.0),
        )

    def _show_scope(self) -> None:
        if not self._chosen.runs:
            return
        one = self._chosen.set
        read = scope_reading(one, travel=self._chosen.parts.travel)
        self._scope = Group(
            "What a scope will show",
            (
                Figure("On-time", band_text(read.on_time, "s")),
                Figure("Output high", shown(read.output_high, "V")),
                Figure("Output low", shown(read.output_low, "V")),
                Figure("Capacitor, upper", band_text(read.capacitor_peak, "V")),
                Figure("Capacitor, lower", band_text(read.capacitor_valley, "V")),
            ),
        )
        self._show_figures()

    def _to_duty(self, duty: float) -> None:
        if self._chosen.runs:
            self._chosen.turn(travel_for_duty(self._chosen.set, duty))

    def _tell_use(self, _design: object = None) -> None:
        part = self._chosen.interrupter
        if not self._chosen.runs:
            first = self._chosen.set.findings[0].text if self._chosen.set.findings else ""
            self.status.setText(f"This set does not run in every build. {first}")
        elif not part.enabled:
            self.status.setText("No interrupter is fitted: the stage runs without a pause.")
        elif part.given_by == "numbers":
            self.status.setText(
                "The stage uses the typed numbers; the knob acts on it once the interrupter is "
                "given by timer parts."
            )
        else:
            self.status.setText("The stage follows this knob.")
