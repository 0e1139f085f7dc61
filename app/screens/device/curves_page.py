"""Curves of the datasheet as points, and what the model takes from them."""

from __future__ import annotations

from PySide6.QtWidgets import QHBoxLayout, QLabel, QPushButton, QVBoxLayout, QWidget

from app.screens.device.curve_table import Column, CurveTable
from app.session import Session
from app.widgets.restyle import set_style_property
from core.design.device import Device
from core.errors import InputError
from core.limits.datasheet import energy_capacitance, fitted_network
from core.units import shown


class CurvesPage(QWidget):
    """Thermal impedance, output capacitance and safe operating area side by side.

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
        self.use = QPushButton("Use as &output capacitance", self)
        self.use.clicked.connect(self.use_capacitance)
        self.capacitance.lines.addWidget(self.use)
        self.note = QLabel(self)
        self.note.setWordWrap(True)
        set_style_property(self.note, "role", "muted")
        across = QHBoxLayout()
        for table in (self.impedance, self.capacitance, self.area):
            across.addWidget(table, 1)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 8, 0, 0)
        layout.addLayout(across, 1)
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
            self.note.setText(str(error))

    def use_capacitance(self) -> None:
        """Put the energy-related capacitance at half the rating into the design."""
        device: Device = self._document.value("device")
        try:
            value = energy_capacitance(device.capacitance_curve, self._working_voltage(device))
            self._document.edit(
                "device.output_capacitance", float(f"{value:.3g}"), text="Output capacitance fitted"
            )
        except InputError as error:
            self.note.setText(str(error))

    def _working_voltage(self, device: Device) -> float:
        return 0.5 * device.drain_voltage_rating

    def _tell(self, _changed: object = None) -> None:
        device: Device = self._document.value("device")
        network = device.thermal_network
        parts = [
            f"Thermal network in use: {len(network)} elements, "
            f"{shown(device.junction_to_case, 'K/W', digits=3)} from junction to case."
        ]
        if len(device.capacitance_curve) > 1:
            volts = self._working_voltage(device)
            value = energy_capacitance(device.capacitance_curve, volts)
            parts.append(
                f"The points store the energy of {shown(value, 'F', digits=3)} at "
                f"{shown(volts, 'V')} (half the rating); in use: "
                f"{shown(device.output_capacitance, 'F', digits=3)}."
            )
        if device.safe_area:
            parts.append("Points of the safe area are checked at the bus voltage and on-time.")
        self.note.setText(" ".join(parts))
