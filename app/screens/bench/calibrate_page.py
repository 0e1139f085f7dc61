"""Calibrate page: what to fit, what came out, predicted against measured, take over."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from PySide6.QtWidgets import (
    QCheckBox,
    QGroupBox,
    QHBoxLayout,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from burstwise.app.messages import Button, ask
from burstwise.app.refusals import refusal
from burstwise.app.screens.bench.state import BenchState
from burstwise.app.screens.bench.words import Rows, findings_html, paragraph
from burstwise.app.theme import Theme, Tokens
from burstwise.app.widgets.long_work import LongWork
from burstwise.app.widgets.page_tabs import PageTabs
from burstwise.app.widgets.reflow import Reflow
from burstwise.app.widgets.text_label import TextLabel
from burstwise.app.worker import Task
from burstwise.core.bench.calibrate import calibrate
from burstwise.core.bench.calibration_result import Calibrated
from burstwise.core.bench.fit_parameters import Parameter
from burstwise.core.design.calibration import COIL_NAMES, DEVICE_NAMES, doubts
from burstwise.core.errors import InputError
from burstwise.core.units import percent, shown

_STRAY: Final = 3.0
_SIDE_WIDTH: Final = 290
_FOUND_WIDTH: Final = 440
_TABS_HEIGHT: Final = 200
_FITTED: Final = ("Parameter", "Design", "Fitted", "±", "Remark")
_COMPARED: Final = ("Where", "Figure", "Measured", "Before", "After", "Deviation", "Residual")


class CalibratePage(QWidget):
    """Fit of the stage to the readings, kept as a layer of the design.

    Parameters
    ----------
    state : BenchState
        Readings and capture.
    theme : Theme
        Colours.
    """

    def __init__(self, state: BenchState, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._state, self._theme = state, theme
        self.result: Calibrated | None = None
        self._source = ""
        self.work = LongWork("Fit", name="calibrate", parent=self)
        self.choices = {name: QCheckBox(name.label, self) for name in Parameter}
        for box in self.choices.values():
            box.setChecked(True)
        self.given = paragraph(self)
        self.layer = paragraph(self, role="plain")
        self.active = QCheckBox("Use the calibration", self)
        self.take_over = QPushButton("Take over", self)
        self.take_over.setToolTip("Lay the fitted values over the design")
        self.remove = QPushButton("Remove", self)
        self.headline = TextLabel(self, wraps=True)
        self.fitted = Rows("Fitted parameters", _FITTED, wide=4, left=(0, 4), parent=self)
        self.compared = Rows(
            "Predicted against measured", _COMPARED, wide=0, left=(0, 1), parent=self
        )
        self.correlation = Rows("Correlation", ("",), wide=0, parent=self)
        self.findings = paragraph(self, role="plain")
        self._lay_out()
        self.work.asked.connect(self.fit)
        self.work.done.connect(self._take)
        self.take_over.clicked.connect(self._take_over)
        self.remove.clicked.connect(self._remove)
        self.active.clicked.connect(self._switch)
        state.session.document.changed.connect(self._follow)
        state.sheet_changed.connect(self._follow)
        state.capture_changed.connect(self._follow)
        theme.changed.connect(self._recolour)
        self._follow()
        self._show_nothing()

    def fit(self) -> None:
        """Fit the chosen parameters to readings and capture."""
        state = self._state
        setup, design = state.setup, state.design
        if setup is None:
            self.work.say(state.setup_error, bad=True)
            return
        chosen = tuple(name for name, box in self.choices.items() if box.isChecked())
        if not chosen:
            self.work.say("Choose at least one parameter.", bad=True)
            return
        rows = state.sheet.table.rows
        capture = None if state.shown_capture is None else state.shown_capture.figures
        with_capture = "" if capture is None else " and a capture"
        self._source = f"{len(rows)} rows{with_capture}"

        def work(task: Task) -> Calibrated:
            return calibrate(
                design,
                rows,
                setup,
                capture=capture,
                parameters=chosen,
                progress=task.progress,
            )

        self.work.submit(work)

    def _lay_out(self) -> None:
        choose = QGroupBox("Parameters to fit", self)
        down = QVBoxLayout(choose)
        for box in self.choices.values():
            down.addWidget(box)
        down.addWidget(self.given)
        kept = QGroupBox("Layer on the design", self)
        inside = QVBoxLayout(kept)
        inside.addWidget(self.layer)
        inside.addWidget(self.active)
        buttons = QHBoxLayout()
        buttons.addWidget(self.take_over)
        buttons.addWidget(self.remove)
        inside.addLayout(buttons)
        left = QVBoxLayout()
        left.addWidget(choose)
        left.addWidget(kept)
        left.addStretch(1)
        side = QWidget(self)
        side.setLayout(left)
        left.setContentsMargins(0, 0, 0, 0)
        self.tabs = PageTabs(self)
        self.tabs.setMinimumHeight(_TABS_HEIGHT)
        self.tabs.addTab(self.fitted, "Parameters")
        self.tabs.addTab(self.compared, "Predicted against measured")
        self.tabs.addTab(self.correlation, "Correlation")
        found = QWidget(self)
        found.setMinimumWidth(_FOUND_WIDTH)
        right = QVBoxLayout(found)
        right.setContentsMargins(0, 0, 0, 0)
        right.addWidget(self.work)
        right.addWidget(self.headline)
        right.addWidget(self.tabs, 1)
        right.addWidget(self.findings)
        both = Reflow(parent=self)
        both.add(side, 0, width=_SIDE_WIDTH)
        both.add(found)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 8, 0, 0)
        layout.addWidget(both)

    def _follow(self, _design: object = None) -> None:
        state = self._state
        rows = len(state.sheet.table.rows)
        capture = "no capture" if state.shown_capture is None else "one capture"
        self.given.setText(f"Fitted to {rows} rows and {capture}. A ring-down tells Q best.")
        layer = state.design.calibration
        self.active.setEnabled(layer is not None)
        self.remove.setEnabled(layer is not None)
        self.active.setChecked(layer is not None and layer.active)
        if layer is None:
            self.layer.setText("None yet: the design's own values are in use.")
            return
        words = [f"Fitted to {layer.source}:" if layer.source else "Fitted:"]
        for name in (*COIL_NAMES, *DEVICE_NAMES):
            value = getattr(layer, name)
            if value is not None:
                parameter = Parameter(name)
                words.append(f"{parameter.label}: {shown(value, parameter.unit)}")
        self.layer.setText("\n".join(words))

    def _take(self, result: Calibrated) -> None:
        self.result = result
        self._show(result)

    def _show_nothing(self) -> None:
        self.take_over.setEnabled(False)
        self.headline.setText(
            "Nothing fitted yet. Four rows or more over a wide range of supply, some below and "
            "some above breakout, with a capture of one burst, tell most."
        )

    def _show(self, result: Calibrated) -> None:
        tokens = self._theme.tokens
        self.take_over.setEnabled(bool(result.fitted))
        known, asked = len(result.fitted), len(result.parameters)
        smallest = float(result.singular_values.min()) if asked else 0.0
        largest = float(result.singular_values.max()) if asked else 0.0
        condition = f"{largest / smallest:.0f}" if smallest > 1e-6 * largest else "without limit"
        self.headline.setText(
            f"{known} of {asked} parameters fitted. RMS deviation "
            f"{shown(result.misfit_before, '', digits=2)} uncertainties before, "
            f"{shown(result.misfit_after, '', digits=2)} after (about 1 is good). Condition of the "
            f"problem {condition}; {result.runs} engine runs."
        )
        self.fitted.show_rows(
            [
                [
                    item.parameter.label,
                    shown(item.prior, item.parameter.unit),
                    shown(item.value, item.parameter.unit),
                    "" if item.uncertainty is None else percent(item.uncertainty, digits=2),
                    item.reason or percent(item.value / item.prior - 1.0, digits=2, signed=True),
                ]
                for item in result.parameters
            ],
            colours=[None if item.fitted else tokens.muted for item in result.parameters],
        )
        self.compared.show_rows(
            [
                [
                    item.observation.where,
                    item.observation.name,
                    shown(item.observation.measured, item.observation.unit),
                    shown(item.before, item.observation.unit),
                    shown(item.after, item.observation.unit),
                    percent(item.deviation, digits=2, signed=True),
                    f"{item.residual:+.1f}{' ▲' if abs(item.residual) > _STRAY else ''}",
                ]
                for item in result.comparisons
            ],
            colours=[
                tokens.caution if abs(item.residual) > _STRAY else None
                for item in result.comparisons
            ],
        )
        names = [item.parameter.label for item in result.fitted]
        self.correlation.setColumnCount(len(names) + 1)
        self.correlation.setHorizontalHeaderLabels(["", *(name.split()[0] for name in names)])
        self.correlation.show_rows(
            [
                [name, *(f"{value:+.2f}" for value in row)]
                for name, row in zip(names, result.correlation, strict=True)
            ]
        )
        self.findings.set_markup(findings_html(result.findings[:4], tokens))

    def _take_over(self) -> None:
        if self.result is None:
            return
        layer = self.result.layer(self._source)
        why = doubts(layer)
        if why and not self._still_wanted(why):
            self.work.say("Not taken over; the design keeps its values.")
            return
        self._edit("calibration", layer, "Take over calibration")

    def _still_wanted(self, why: Sequence[str]) -> bool:
        """Whether a doubtful fit shall stand for the design's own values all the same."""
        text = (
            f"This fit is doubtful: {'; '.join(why)}. Something else than the fitted values is "
            "likely off, such as the shunt, a probe factor, a duty or a fault of the build; all "
            "figures, limits and the power-up plan would stand on it. Take it over all the same?"
        )
        buttons = Button.Yes | Button.No
        return ask(self, "Take over a doubtful fit?", text, buttons, Button.No) == Button.Yes

    def _remove(self) -> None:
        self._edit("calibration", None, "Remove calibration")

    def _switch(self, on: bool) -> None:
        words = "Use calibration" if on else "Switch calibration off"
        self._edit("calibration.active", on, words)

    def _edit(self, path: str, value: object, text: str) -> None:
        try:
            self._state.session.document.edit(path, value, text=text)
        except InputError as error:
            self.work.say(refusal(error), bad=True)

    def _recolour(self, _tokens: Tokens) -> None:
        if self.result is not None:
            self._show(self.result)
