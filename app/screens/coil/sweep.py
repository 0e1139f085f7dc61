"""Sweep view: one geometry field over a range against f0, k, Q and breakout voltage."""

from __future__ import annotations

from typing import Final

from PySide6.QtWidgets import (
    QComboBox,
    QGridLayout,
    QHBoxLayout,
    QVBoxLayout,
    QWidget,
)

from burstwise.app.plots.axis import Axis
from burstwise.app.plots.line_plot import LinePlot
from burstwise.app.refusals import refusal
from burstwise.app.screens.coil.work import CoilState
from burstwise.app.session import Session
from burstwise.app.theme import Theme
from burstwise.app.widgets.long_work import LongWork
from burstwise.app.widgets.quantity_field import QuantityField
from burstwise.app.widgets.text_label import TextLabel
from burstwise.app.worker import Task
from burstwise.core.design.document import field_info
from burstwise.core.studies.coil_sweep import GeometrySweep, geometry_sweep

FIELDS: Final = (
    ("secondary.turns", "Secondary turns"),
    ("secondary.winding_length", "Secondary winding length"),
    ("secondary.former_diameter", "Former diameter"),
    ("secondary.wire_diameter", "Secondary wire"),
    ("secondary.spacing", "Gap between turns"),
    ("primary.start_height", "Primary start height"),
    ("primary.inner_radius", "Primary radius"),
    ("primary.turns", "Primary turns"),
    ("primary.tap", "Primary tap"),
    ("primary.pitch", "Primary pitch"),
    ("primary.cone_angle", "Rise of the cone"),
    ("primary.conductor.diameter", "Primary conductor"),
    ("primary.conductor.wall", "Wall of the primary's tube"),
    ("primary.conductor.width", "Width of the primary's strip"),
    ("primary.conductor.thickness", "Thickness of the primary's strip"),
    ("top_load.diameter", "Top load diameter"),
    ("top_load.thickness", "Top load tube or thickness"),
    ("top_load.centre_height", "Top load, middle above winding"),
    ("top_load.roughness", "Top load surface"),
    ("base_height", "Bottom turn above earth"),
    ("air_pressure", "Air pressure"),
)
_SHOWN: Final = (
    ("Resonance f0", "Hz", "resonance"),
    ("Coupling k", "", "coupling"),
    ("Q, copper only", "", "quality_factor"),
    ("Breakout, peak", "V", "breakout_voltage"),
)


class SweepView(QWidget):
    """Field, range, run and stop, and four plots with the present coil marked.

    Parameters
    ----------
    session : Session
        Holder of the design.
    theme : Theme
        Colours.
    """

    def __init__(self, session: Session, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._session, self._theme = session, theme
        self.sweep: GeometrySweep | None = None
        self._present: CoilState | None = None
        self.field = QComboBox(self)
        self.field.setAccessibleName("Swept field")
        for path, words in FIELDS:
            self.field.addItem(words, f"coil.geometry.{path}")
        self.work = LongWork(
            "Run",
            name="sweep",
            stacked=True,
            stopped="Stopped; the plots show the last finished sweep.",
            parent=self,
        )
        self.work.start.setToolTip("Compute the coil over the range")
        self.work.say("Choose a field and a range, then run.")
        self.low = self.high = QuantityField("")
        self._ends = QHBoxLayout()
        self._lay_out()
        self.field.currentIndexChanged.connect(self._choose)
        self.work.asked.connect(self.start)
        self.work.done.connect(self._take)
        self._choose()

    @property
    def path(self) -> str:
        """Dotted path of the swept field."""
        return str(self.field.currentData())

    def show_state(self, state: CoilState) -> None:
        """Mark the present coil in the plots."""
        self._present = state
        self._mark()

    def start(self) -> None:
        """Compute the sweep of the chosen field and range."""
        design, path = self._session.document.design, self.path
        low, high = self.low.value, self.high.value

        def work(task: Task) -> GeometrySweep:
            return geometry_sweep(design, path, low, high, progress=task.progress)

        self.work.submit(work)

    def _lay_out(self) -> None:
        grid = QGridLayout()
        grid.setSpacing(6)
        self.plots: dict[str, LinePlot] = {}
        for index, (words, unit, name) in enumerate(_SHOWN):
            plot = LinePlot(
                self._theme, x=Axis("", ""), y=Axis(words, unit), curves=("",), zoomable=True
            )
            self.plots[name] = plot
            grid.addWidget(plot, index // 2, index % 2)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 6, 0, 0)
        layout.addWidget(self.field)
        layout.addLayout(self._ends)
        layout.addWidget(self.work)
        layout.addLayout(grid, 1)

    def _choose(self, _index: int = 0) -> None:
        info = field_info(self.path)
        now = self._session.document.value(self.path)
        low, high = float(info["low"]), float(info["high"])
        start, end = _first_range(now, low, high)
        while self._ends.count():
            item = self._ends.takeAt(0)
            widget = item.widget() if item is not None else None
            if widget is not None:
                widget.hide()
                widget.deleteLater()
        unit = str(info["unit"])
        self.low = QuantityField(unit, name="From", value=start, low=low, high=high, digits=4)
        self.high = QuantityField(unit, name="To", value=end, low=low, high=high, digits=4)
        for words, field in (("from", self.low), ("to", self.high)):
            self._ends.addWidget(TextLabel(words))
            self._ends.addWidget(field, 1)

    def _take(self, sweep: GeometrySweep) -> None:
        self.sweep = sweep
        self._draw(sweep)

    def _draw(self, sweep: GeometrySweep) -> None:
        info = field_info(sweep.path)
        words = next(words for path, words in FIELDS if sweep.path.endswith(path))
        unit = str(info["unit"])
        axis = Axis(words, "" if unit == "turns" else unit)
        for name, plot in self.plots.items():
            plot.x_axis = axis
            with plot.batch():
                plot.set_x_range(float(sweep.values[0]), float(sweep.values[-1]))
                plot.set_data(sweep.values, getattr(sweep, name))
            plot.show_all()
        self._mark()

    def _mark(self) -> None:
        """Mark the present coil where it lies on the curves, or say that it is another one."""
        sweep, state = self.sweep, self._present
        if sweep is None or state is None:
            return
        constants = state.coil.constants
        now = None if constants is None else sweep.place_of(state.design)
        for name, plot in self.plots.items():
            plot.set_point(now, () if now is None else (float(getattr(constants, name)),))
        if self.work.worker.busy:
            return
        text = f"{len(sweep.values)} values, from geometry alone."
        if sweep.refused:
            text += f" {len(sweep.refused)} cannot be built: {refusal(sweep.refused[0].error)}."
        if now is None:
            text += " The coil is another one by now: run again for its curves and its place."
        self.work.say(text)


def _first_range(now: float | None, low: float, high: float) -> tuple[float, float]:
    """Range around the present value: half to twice of it, or its neighbourhood about zero."""
    if now is None:
        return low, high
    if now > 0.0 and low >= 0.0:
        start, end = 0.5 * now, 2.0 * now
    else:
        reach = max(2.0 * abs(now), 0.05 * min(high - low, 2.0))
        start, end = now - reach, now + reach
    return max(float(f"{start:.4g}"), low), min(float(f"{end:.4g}"), high)
