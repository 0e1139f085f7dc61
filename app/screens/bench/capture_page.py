"""Capture page: a scope's file, its figures, and the prediction laid over it."""

from __future__ import annotations

from pathlib import Path
from typing import Final

import numpy as np
from PySide6.QtCore import QSignalBlocker, QTimer
from PySide6.QtWidgets import (
    QComboBox,
    QFormLayout,
    QGroupBox,
    QHBoxLayout,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from burstwise.app.file_dialogs import ask_open
from burstwise.app.plots.axis import Axis
from burstwise.app.plots.line_plot import LinePlot
from burstwise.app.screens.bench.capture_words import figure_rows
from burstwise.app.screens.bench.state import BenchState, ShownCapture
from burstwise.app.screens.bench.words import findings_html, paragraph, side_column
from burstwise.app.section_form import FIELD_WIDTH, SectionForm
from burstwise.app.theme import Theme
from burstwise.app.widgets.long_work import LongWork
from burstwise.app.widgets.quantity_field import QuantityField
from burstwise.app.widgets.words import minus
from burstwise.app.worker import Task
from burstwise.core.bench.burst_waveform import Signal
from burstwise.core.bench.capture import Capture, Probe
from burstwise.core.bench.capture_figures import reading_of_capture
from burstwise.core.bench.capture_file import load_capture
from burstwise.core.bench.capture_measure import capture_measures
from burstwise.core.bench.capture_overlay import CaptureOverlay, capture_overlay
from burstwise.core.bench.overlay import plot_line
from burstwise.core.bench.sheet import cells_of
from burstwise.core.errors import InputError

_FILES: Final = "Scope captures (*.csv *.txt);;All files (*)"
_SIDE: Final = 330
_COARSE: Final = 400


class CapturePage(QWidget):
    """Plot with the figures beside it.

    Parameters
    ----------
    state : BenchState
        Receives the capture.
    theme : Theme
        Colours.
    """

    def __init__(self, state: BenchState, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._state, self._theme = state, theme
        self.raw: Capture | None = None
        self.overlay: CaptureOverlay | None = None
        self._name = ""
        self._fresh, self._drawing = True, False
        self.work = LongWork("Open capture…", name="capture", parent=self)
        self.measuring = LongWork("Overlay prediction", name="overlay", parent=self)
        self.channel = QComboBox(self)
        self.signal = QComboBox(self)
        for signal in Signal:
            self.signal.addItem(signal.label, signal)
        self.signal.setCurrentIndex(list(Signal).index(Signal.TOP))
        self.supply = QuantityField(
            "V", name="Supply", value=state.design.supply.voltage, low=0.5, high=1000.0
        )
        self.to_table = QPushButton("Add as a row", self)
        self.figures = paragraph(self, role="plain")
        self.findings = paragraph(self, role="plain")
        self.plot = LinePlot(
            theme,
            x=Axis("Time", "s"),
            y=Axis("Signal", "V"),
            curves=("measured", "predicted"),
            zoomable=True,
        )
        self._lay_out()
        self._connect()
        self._show_nothing()

    def load(self, path: Path) -> None:
        """Read a capture off the GUI thread."""
        self._name = path.name

        def work(task: Task) -> Capture:
            return load_capture(path, progress=task.progress)

        self.work.submit(work)

    def _lay_out(self) -> None:
        document = self._state.session.document
        taken = QGroupBox("Capture", self)
        form = QFormLayout(taken)
        for widget, words in (
            (self.channel, "Channel"),
            (self.signal, "Probe on"),
            (self.supply, "Supply"),
        ):
            widget.setAccessibleName(words)
            widget.setMaximumWidth(FIELD_WIDTH)
            form.addRow(words, widget)
        probe = SectionForm(
            document, "Probe", ["readings.probe.attenuation", "readings.probe.offset"]
        )
        parts = [taken, probe, self.figures, self.findings, self.to_table]
        area = side_column(parts, width=_SIDE, parent=self)
        left = QVBoxLayout()
        left.addWidget(self.work)
        left.addWidget(self.measuring)
        left.addWidget(self.plot, 1)
        layout = QHBoxLayout(self)
        layout.setContentsMargins(0, 8, 0, 0)
        layout.setSpacing(12)
        layout.addLayout(left, 1)
        layout.addWidget(area)

    def _connect(self) -> None:
        self.work.asked.connect(self._ask_open)
        self.work.done.connect(self._take)
        self.measuring.asked.connect(self._lay_over)
        self.measuring.done.connect(self._take_overlay)
        self.channel.currentIndexChanged.connect(self._measure)
        self.signal.currentIndexChanged.connect(self._measure)
        self.supply.value_changed.connect(self._measure)
        self.to_table.clicked.connect(self._add_row)
        self._state.sheet_changed.connect(self._probe_changed)
        self._probe = self._state.design.readings.probe
        # In a turn of its own: the plot itself must know first that it was zoomed by hand.
        self._later = QTimer(self)
        self._later.setSingleShot(True)
        self._later.setInterval(0)
        self._later.timeout.connect(self._draw)
        self.plot.box.sigRangeChanged.connect(self._range_changed)

    def _ask_open(self) -> None:
        file = ask_open(self, "Open capture", _FILES)
        if file is not None:
            self.load(file)

    def _take(self, raw: Capture) -> None:
        self.raw = raw
        with QSignalBlocker(self.channel):
            self.channel.clear()
            self.channel.addItems([channel.name for channel in raw.channels])
        self._measure()
        if self._state.shown_capture is not None:
            self.work.say(f"{raw.count} samples from {self._name}.")

    def _probe_changed(self) -> None:
        probe = self._state.design.readings.probe
        if probe != self._probe:
            self._probe = probe
            self._measure()

    def _measure(self, *_: object) -> None:
        """Figures of the channel in view, probe taken into account."""
        raw, name = self.raw, self.channel.currentText()
        if raw is None or not name:
            return
        self.overlay = None
        given = self._state.design.readings.probe
        try:
            probe = Probe(given.attenuation, given.offset)
            true = raw.channel(name).through(probe)
            capture = Capture(raw.start, raw.step, (true,), raw.findings)
            measures = capture_measures(capture, name)
        except InputError as error:
            self._state.take(None)
            self._show_nothing()
            self.work.say(str(error), bad=True)
            return
        signal: Signal = Signal(self.signal.currentData())
        self._state.take(ShownCapture(capture, name, measures, signal, self.supply.value))
        rows = "".join(
            f"<tr><td>{words}&nbsp;&nbsp;</td><td align=right>{minus(value)}</td></tr>"
            for words, value in figure_rows(measures)
        )
        self.figures.set_markup(f"<table width='100%'>{rows}</table>")
        said = [*raw.findings, *measures.findings]
        self.findings.set_markup(findings_html(said, self._theme.tokens))
        self.measuring.start.setEnabled(True)
        self.to_table.setEnabled(signal in (Signal.SHUNT, Signal.DRAIN))
        self._fresh = True
        self.plot.show_all()
        self._draw()

    def _show_nothing(self) -> None:
        self.measuring.start.setEnabled(False)
        self.to_table.setEnabled(False)
        self.figures.setText(
            "Open a CSV file of the scope: two or more columns, of one burst with its ring-down "
            "or of a stretch of the carrier. A loose wire near the coil shows carrier and "
            "ring-down best; its height then means nothing."
        )
        self.findings.setText("")
        self.plot.set_curves([])

    def _range_changed(self, *_: object) -> None:
        if not self._drawing:
            self._later.start()

    @property
    def redraws(self) -> bool:
        """Whether finer lines of the range in view are still to be drawn."""
        return self._later.isActive()

    def _draw(self) -> None:
        """Lines as fine as the plot is wide, with every peak."""
        taken = self._state.shown_capture
        if taken is None:
            return
        capture = taken.capture
        values = capture.channel(taken.name).values
        first, last = 0, len(values)
        if not self._fresh:
            span = self.plot.x_span
            first = int(np.clip((span.low - capture.start) / capture.step, 0, len(values) - 2))
            last = int(np.clip((span.high - capture.start) / capture.step + 2, first + 2, last))
        fine = max(self.plot.view.width(), 200)
        # Coarse outside of the view, so that 'show everything' has everything to show.
        parts = [
            plot_line(values, first=begin, last=end, buckets=buckets)
            for begin, end, buckets in (
                (0, first, _COARSE),
                (first, last, fine),
                (last, len(values), _COARSE),
            )
            if end > begin
        ]
        at = np.concatenate([part.positions for part in parts])
        drawn = np.concatenate([part.values for part in parts])
        curves = [(capture.start + capture.step * at, drawn)]
        if self.overlay is not None:
            curves.append((self.overlay.time, self.overlay.predicted))
        self._drawing = True
        self.plot.set_curves(curves)
        self._drawing = self._fresh = False

    def _lay_over(self) -> None:
        taken, design = self._state.shown_capture, self._state.design
        if taken is None:
            return

        def work(_task: Task) -> CaptureOverlay:
            return capture_overlay(
                design,
                taken.capture,
                taken.name,
                taken.measures,
                signal=taken.signal,
                supply=taken.supply,
            )

        self.measuring.submit(work)

    def _take_overlay(self, overlay: CaptureOverlay) -> None:
        self.overlay = overlay
        shift = overlay.shift
        height = (
            f"measured {shift.gain:.3g} times as high as predicted"
            if overlay.gain == 1.0
            else "height fitted"
        )
        self.measuring.say(
            f"Likeness of the first cycles {shift.likeness:.2f}, {height}. "
            "Turn the wheel over the plot to look closer."
        )
        self._draw()

    def _add_row(self) -> None:
        taken = self._state.shown_capture
        if taken is None:
            return
        try:
            row = reading_of_capture(
                taken.measures, signal=taken.signal, supply=taken.supply, note=self._name
            )
            rows = (*self._state.design.readings.rows, cells_of(row))
            self._state.session.document.edit("readings.rows", rows, text="Row from capture")
            self.work.say(f"Added as row {len(rows)}.")
        except InputError as error:
            self.work.say(str(error), bad=True)
