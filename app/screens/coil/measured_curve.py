"""Import of a measured curve, the resonance fitted to it, and its values taken over."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Final

import numpy as np
from PySide6.QtWidgets import (
    QComboBox,
    QHBoxLayout,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from burstwise.app.file_dialogs import ask_open
from burstwise.app.plots.axis import Axis
from burstwise.app.plots.line_plot import LinePlot
from burstwise.app.refusals import limit_of, refusal, title_of
from burstwise.app.screens.coil.measured import WORDS
from burstwise.app.screens.coil.work import CoilState
from burstwise.app.session import Session
from burstwise.app.theme import MARKS, Theme
from burstwise.app.widgets.restyle import set_style_property
from burstwise.app.widgets.text_label import TextLabel
from burstwise.app.worker import Outcome, Task, Worker
from burstwise.core.coil.curves import CurveKind, MeasuredCurve, load_curve
from burstwise.core.coil.fit_values import MeasuredWinding, TakenValue, taken_values
from burstwise.core.coil.resonance_fit import (
    FittedValue,
    ResonanceFit,
    fitted_magnitude,
    fitted_resonance,
)
from burstwise.core.design.coil import RIVALS
from burstwise.core.errors import InputError
from burstwise.core.findings import Severity
from burstwise.core.units import percent, shown

_FILTER: Final = "Measured curves (*.s1p *.csv *.txt);;All files (*)"
_UNITS: Final = {
    "primary_inductance": "H",
    "primary_resistance": "Ω",
    "secondary_inductance": "H",
    "secondary_capacitance": "F",
    "resonance": "Hz",
    "quality_factor": "",
}


@dataclass(frozen=True, slots=True)
class _Read:
    """A file's curve and its fit."""

    file: Path
    curve: MeasuredCurve
    fit: ResonanceFit


class CurvePanel(QWidget):
    """File, plot of curve and fit, fitted values, and a button that takes them over.

    Parameters
    ----------
    session : Session
        Holder of the design.
    theme : Theme
        Colours.
    """

    def __init__(self, session: Session, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._session = session
        self._state: CoilState | None = None
        self._read: _Read | None = None
        self._values: tuple[TakenValue, ...] = ()
        self.worker = Worker(self, name="curve")
        self.worker.finished.connect(self._take)
        self.open = QPushButton("Open curve…", self)
        self.winding = QComboBox(self)
        self.winding.setAccessibleName("Winding measured")
        self.winding.addItem("Secondary, at its foot", MeasuredWinding.SECONDARY)
        self.winding.addItem("Primary, with capacitor", MeasuredWinding.PRIMARY)
        self.message = TextLabel(
            "Touchstone one-port (.s1p), or CSV with the columns 'frequency [kHz], impedance "
            "[ohm]' or 'frequency [kHz], response [V]'.",
            self,
            wraps=True,
            role="muted",
        )
        x, y = Axis("Frequency", "Hz"), Axis("Impedance, magnitude", "Ω", from_zero=True)
        self.plot = LinePlot(theme, x=x, y=y, curves=("measured", "fit"), zoomable=True)
        self.words = TextLabel(self, wraps=True)
        self.use = QPushButton("Use as measured values", self)
        self.use.setEnabled(False)
        self._lay_out()
        self.open.clicked.connect(self._ask)
        self.winding.currentIndexChanged.connect(self._offer)
        self.use.clicked.connect(self.take_over)

    def show_state(self, state: CoilState) -> None:
        """Take the present coil for what a response does not tell."""
        self._state = state
        self._offer()

    def load(self, file: Path) -> None:
        """Read and fit a file; the last good curve stays if it cannot be used."""

        def work(_task: Task) -> _Read:
            curve = load_curve(file)
            return _Read(file, curve, fitted_resonance(curve))

        self.worker.submit(work)

    def take_over(self) -> None:
        """Set the fitted values as measured ones, in use, as one undo step."""
        names = {item.name for item in self._values}
        aside = {RIVALS[name] for name in names & RIVALS.keys()} - names
        others = {*self._session.document.value("coil.not_used"), *aside}
        values: dict[str, object] = {
            f"coil.measured.{item.name}": float(f"{item.value:.5g}") for item in self._values
        }
        values["coil.not_used"] = tuple(sorted(others - names))
        try:
            self._session.document.edit_many(values, text="Values of a measured curve")
        except InputError as error:
            self._refuse(refusal(error))

    def _lay_out(self) -> None:
        top = QHBoxLayout()
        top.addWidget(self.open)
        top.addWidget(self.winding, 1)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 6, 0, 0)
        layout.addLayout(top)
        layout.addWidget(self.message)
        layout.addWidget(self.plot, 1)
        layout.addWidget(self.words)
        layout.addWidget(self.use)

    def _ask(self) -> None:
        file = ask_open(self, "Open measured curve", _FILTER)
        if file is not None:
            self.load(file)

    def _refuse(self, reason: str) -> None:
        kept = " The last good curve stays." if self._read is not None else ""
        self.message.setText(f"{MARKS[Severity.STOP].glyph} {reason}.{kept}")
        set_style_property(self.message, "role", "error")

    def _take(self, outcome: Outcome) -> None:
        if outcome.error is not None:
            self._refuse(outcome.complaint())
            return
        read: _Read = outcome.value
        self._read = read
        found = "; ".join(finding.text for finding in read.fit.findings)
        count = f"{read.file.name}: {len(read.curve.frequency)} points."
        self.message.setText(f"{count} {found}".strip())
        set_style_property(self.message, "role", "muted")
        self._draw(read)
        self._offer()

    def _draw(self, read: _Read) -> None:
        f = read.curve.frequency
        if read.curve.kind is CurveKind.RESPONSE:
            self.plot.y_axis = Axis("Response", "", from_zero=True)
        else:
            self.plot.y_axis = Axis("Impedance, magnitude", "Ω", from_zero=True)
        fine = np.linspace(float(f[0]), float(f[-1]), 600)
        with self.plot.batch():
            self.plot.set_x_range(float(f[0]), float(f[-1]))
            measured = (f, np.abs(read.curve.value))
            self.plot.set_curves([measured, (fine, fitted_magnitude(read.fit, fine))])
        self.plot.show_all()

    def _offer(self, _index: int = 0) -> None:
        if self._read is None:
            return
        fit = self._read.fit
        coil = None if self._state is None else self._state.coil
        try:
            self._values = taken_values(
                fit,
                MeasuredWinding(self.winding.currentData()),
                base_current_ratio=1.0 if coil is None else coil.base_current_ratio,
            )
            taken = "; ".join(
                f"{WORDS[item.name].lower()} {shown(item.value, _UNITS[item.name])}"
                for item in self._values
            )
            text = f"To be taken: {taken}."
        except InputError as error:
            self._values = ()
            text = f"Nothing to take: {title_of(error.field)} must be {limit_of(error)}."
        self.use.setEnabled(bool(self._values))
        self.words.setText(f"{_fitted(fit)}\n{text}")


def _fitted(fit: ResonanceFit) -> str:
    parts = [_value("f0", fit.frequency, "Hz", 6), _value("Q", fit.quality_factor, "", 4)]
    for name, value, unit in (
        ("L", fit.inductance, "H"),
        ("C", fit.capacitance, "F"),
        ("R", fit.resistance, "Ω"),
    ):
        if value is not None:
            parts.append(_value(name, value, unit, 4))
    return (
        f"Fit ({fit.kind}): {', '.join(parts)}. "
        f"± is noise alone, no calibration error; misfit {percent(fit.residual, decimals=1)}."
    )


def _value(name: str, fitted: FittedValue, unit: str, digits: int) -> str:
    error = shown(fitted.error, unit, digits=2)
    return f"{name} {shown(fitted.value, unit, digits=digits)} ± {error}"
