"""Diagnosis page: likely causes of what deviates, and the next measurement for each."""

from __future__ import annotations

import math
from typing import Final

from PySide6.QtWidgets import QVBoxLayout, QWidget

from burstwise.app.screens.bench.state import BenchState
from burstwise.app.screens.bench.words import Rows, paragraph
from burstwise.app.theme import MARKS, Theme
from burstwise.app.widgets.long_work import LongWork
from burstwise.app.widgets.page_tabs import PageTabs
from burstwise.app.widgets.text_label import TextLabel
from burstwise.app.widgets.words import sentence_start
from burstwise.app.worker import Task
from burstwise.core.bench.diagnose import Diagnosis, diagnose, signatures, supplies_of
from burstwise.core.bench.diagnosis_words import basis_words
from burstwise.core.bench.fault_stage import sound_stage
from burstwise.core.bench.symptoms import symptoms_of_rows
from burstwise.core.errors import InputError
from burstwise.core.findings import Severity
from burstwise.core.units import percent, shown

_RUNS: Final = 60.0
_BAR: Final = 12
_CAUSES: Final = ("Cause", "Chance", "Look at", "Next measurement")
_DEVIATIONS: Final = ("Supply", "Figure", "Measured", "Sound stage", "Deviation")


class DiagnosisPage(QWidget):
    """Causes ranked by runs of the engine with each fault.

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
        self.result: Diagnosis | None = None
        self._basis = ""
        self.work = LongWork("Diagnose", name="diagnosis", parent=self)
        self.headline = TextLabel(self, wraps=True, role="figure")
        self.basis = paragraph(self)
        self.causes = Rows(
            "Likely causes", _CAUSES, wide=3, left=(0, 1, 2, 3), widths={2: 290}, parent=self
        )
        self.deviations = Rows("Deviations", _DEVIATIONS, wide=1, left=(1,), parent=self)
        self.advice = paragraph(
            self,
            "Compares the readings with engine runs of the sound stage and of the stage with each "
            "single fault. Before touching anything: supply off, bulk capacitor discharged and "
            "measured.",
        )
        self.tabs = PageTabs(self)
        self.tabs.addTab(self.causes, "Likely causes")
        self.tabs.addTab(self.deviations, "Deviations")
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 8, 0, 0)
        layout.addWidget(self.work)
        layout.addWidget(self.headline)
        layout.addWidget(self.basis)
        layout.addWidget(self.tabs, 1)
        layout.addWidget(self.advice)
        self.headline.setText("Not diagnosed yet.")
        self.work.asked.connect(self.diagnose)
        self.work.done.connect(self._show)

    def diagnose(self) -> None:
        """Rank the faults by the readings as they stand."""
        state = self._state
        setup, design = state.setup, state.design
        if setup is None:
            self.work.say(state.setup_error, bad=True)
            return
        capture = None if state.shown_capture is None else state.shown_capture.figures
        rows = state.sheet.table.rows
        measured = symptoms_of_rows(rows, setup, capture)
        supplies = supplies_of(measured)
        self._basis = " ".join(basis_words(design, rows, setup, supplies)) if supplies else ""

        def work(task: Task) -> Diagnosis:
            if not supplies:
                limit = "at least one row with a supply, or a capture"
                raise InputError("readings", "none", limit)
            done = 0

            def check() -> None:
                nonlocal done
                done += 1
                task.progress(1.0 - math.exp(-done / _RUNS))

            return diagnose(measured, signatures(sound_stage(design), supplies, check=check))

        self.work.submit(work)

    def _show(self, told: Diagnosis) -> None:
        self.result = told
        first, second = told.causes[0], told.causes[1]
        glyph = "" if first.fault is None else f"{MARKS[Severity.CAUTION].glyph} "
        self.basis.setText(self._basis)
        if told.unexplained:
            self.headline.setText(_unexplained(told))
        else:
            self.headline.setText(
                f"{glyph}{sentence_start(first.label)}, {_chance(first.probability)}; then "
                f"{second.label}, {_chance(second.probability)}."
            )
        self.causes.show_rows(
            [
                [
                    sentence_start(cause.label),
                    f"{'▮' * round(_BAR * cause.probability)} {_chance(cause.probability)}",
                    cause.remedy,
                    cause.next_measurement,
                ]
                for cause in told.causes
            ]
        )
        self.deviations.show_rows(
            [
                [
                    shown(item.supply, "V", digits=3),
                    sentence_start(item.figure.label),
                    shown(item.measured, item.figure.unit),
                    shown(item.expected, item.figure.unit),
                    percent(item.relative, digits=2, signed=True)
                    if math.isfinite(item.relative)
                    else "new",
                ]
                for item in told.deviations
            ]
        )


def _unexplained(told: Diagnosis) -> str:
    least = min(told.causes, key=lambda cause: cause.misfit)
    return (
        f"{MARKS[Severity.CAUTION].glyph} No single fault explains the readings: even "
        f"{least.label} leaves them {shown(least.misfit, '', digits=2)} uncertainties off. Check "
        "the shunt's value, probe factor, duty and units of the rows, then the coil's dimensions."
    )


def _chance(value: float) -> str:
    return "< 1 %" if value < 0.01 else "> 99 %" if value > 0.99 else percent(value)
