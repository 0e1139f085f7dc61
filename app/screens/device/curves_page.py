"""Curves of the datasheet as points, and what the model takes from them."""

from __future__ import annotations

from typing import Final

from PySide6.QtWidgets import QPushButton, QVBoxLayout, QWidget

from burstwise.app.refusals import refusal
from burstwise.app.screens.device.curve_table import Column, CurveTable
from burstwise.app.session import Session
from burstwise.app.widgets.reflow import Reflow
from burstwise.app.widgets.text_label import TextLabel
from burstwise.core.design.device import Device
from burstwise.core.errors import InputError
from burstwise.core.limits.datasheet import fitted_network
from burstwise.core.stage.capacitance_law import charge_related, energy_related
from burstwise.core.stage.charge_fit import ring_error
from burstwise.core.stage.device_charges import device_charges, effective_voltage, fitted_figures
from burstwise.core.units import percent, shown

_TABLE_HEIGHT: Final = 300


class CurvesPage(QWidget):
    """Thermal impedance, capacitances and safe operating area side by side.

    Parameters
    ----------
    session : Session
        Document.
    """

    def __init__(self, session: Session) -> None:
        super().__init__()
        self._document = session.document
        self.impedance = CurveTable(
            self._document,
            "device.impedance_curve",
            title="Transient thermal impedance",
            where="Curve 'transient thermal impedance', the line 'single pulse', junction to case; "
            "one point per decade at least.",
            columns=(Column("time", "Pulse", "s"), Column("impedance", "Impedance", "K/W")),
        )
        self.capacitance = CurveTable(
            self._document,
            "device.capacitance_curve",
            title="Output capacitance",
            where="Curve 'capacitances against drain-source voltage', the line C(oss); more "
            "points where it falls steeply.",
            columns=(Column("voltage", "Voltage", "V"), Column("capacitance", "C(oss)", "F")),
        )
        self.reverse = CurveTable(
            self._document,
            "device.reverse_curve",
            title="Reverse transfer capacitance",
            where="The same picture, the line C(rss); left empty it takes the shape of C(oss).",
            columns=(Column("voltage", "Voltage", "V"), Column("capacitance", "C(rss)", "F")),
        )
        self.area = CurveTable(
            self._document,
            "device.safe_area",
            title="Safe operating area",
            where="Curve 'safe operating area', for each pulse length the corners of its line, "
            "25 °C case, single pulse.",
            columns=(
                Column("pulse_length", "Pulse", "s"),
                Column("voltage", "Voltage", "V"),
                Column("current", "Current", "A"),
            ),
        )
        self.fit = QPushButton("Use as thermal &network", self)
        self.fit.clicked.connect(self.use_impedance)
        self.impedance.lines.addWidget(self.fit)
        self.use = QPushButton("Use &points as the law", self)
        self.use.clicked.connect(self.use_capacitance)
        self.capacitance.lines.addWidget(self.use)
        self.note = TextLabel(self, wraps=True, role="muted")
        across = Reflow(parent=self)
        for pair in ((self.impedance, self.capacitance), (self.reverse, self.area)):
            two = Reflow(parent=self)
            for table in pair:
                table.setMinimumHeight(_TABLE_HEIGHT)
                two.add(table)
            two.setMinimumWidth(sum(one.minimumSizeHint().width() for one in pair) + 12)
            across.add(two)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 8, 0, 0)
        layout.addWidget(across, 1)
        layout.addWidget(self.note)
        self._document.changed.connect(self._tell)
        self._tell()

    def use_impedance(self) -> None:
        """Fit a Foster network to the points and put it into the design."""
        device: Device = self._document.value("device")
        try:
            network = fitted_network(device.impedance_curve)
            self._document.edit("device.thermal_network", network, text="Thermal network fitted")
        except InputError as error:
            self.note.setText(refusal(error))

    def use_capacitance(self) -> None:
        """Take the points of the curve as the law of the output capacitance."""
        device: Device = self._document.value("device")
        try:
            device_charges(device.model_copy(update={"capacitance_law": "curve"}))
            self._document.edit("device.capacitance_law", "curve", text="Capacitance by its curve")
        except InputError as error:
            self.note.setText(refusal(error))

    def _capacitance_in_use(self, device: Device) -> str:
        """Charge, energy and equivalents of the law in use, and how well its pieces fit."""
        try:
            charges = device_charges(device)
        except InputError as error:
            return refusal(error)
        law, volts = charges.output, effective_voltage(device)
        miss = ring_error(charges.drain_source, charges.smooth, device.avalanche_voltage)
        return (
            f"Output capacitance in use at {shown(volts, 'V')}: charge "
            f"{shown(float(law.charge(volts)), 'C', digits=3)}, energy "
            f"{shown(float(law.energy(volts)), 'J', digits=3)}; energy related "
            f"{shown(energy_related(law, volts), 'F', digits=3)}, time related "
            f"{shown(charge_related(law, volts), 'F', digits=3)}. Its straight pieces keep a "
            f"ring's peak to {percent(miss, decimals=1)}. Law against the figures given: "
            f"{_fit_words(device)}."
        )

    def _tell(self, _changed: object = None) -> None:
        device: Device = self._document.value("device")
        network = device.thermal_network
        parts = [
            f"Thermal network in use: {len(network)} elements, "
            f"{shown(device.junction_to_case, 'K/W', digits=3)} from junction to case."
        ]
        parts.append(self._capacitance_in_use(device))
        if device.safe_area:
            parts.append("Points of the safe area are checked at the bus voltage and on-time.")
        self.note.setText(" ".join(parts))


def _fit_words(device: Device) -> str:
    """Each figure of the datasheet with the departure of the law from it."""
    return ", ".join(
        f"{item.name} {percent(item.error, decimals=1, signed=True)}"
        for item in fitted_figures(device)
    )
