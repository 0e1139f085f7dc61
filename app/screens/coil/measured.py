"""Measured values beside the computed ones, each with a switch and its difference."""

from __future__ import annotations

import math
from typing import Any, Final

from PySide6.QtCore import QSignalBlocker
from PySide6.QtWidgets import QCheckBox, QFormLayout, QLabel, QWidget

from burstwise.app.binding import bind_value
from burstwise.app.document import Document
from burstwise.app.refusals import limit_of
from burstwise.app.screens.coil.rows import FIELD_WIDTH, FieldRow, Rows
from burstwise.app.widgets.quantity_field import QuantityField
from burstwise.app.widgets.text_label import TextLabel, set_tip
from burstwise.core.coil.coil_values import CoilValue
from burstwise.core.coil.resolve import ResolvedCoil
from burstwise.core.design.coil import BASE_RATIO, RIVALS, measured_used, missing_measured
from burstwise.core.design.document import field_info
from burstwise.core.errors import InputError
from burstwise.core.units import percent, shown

WORDS: Final = {
    "primary_inductance": "Primary inductance",
    "primary_resistance": "Primary resistance",
    "secondary_inductance": "Secondary inductance",
    "secondary_capacitance": "Secondary capacitance",
    "resonance": "Resonance",
    "quality_factor": "Quality factor",
    "coupling": "Coupling",
    "breakout_voltage": "Breakout voltage",
    "base_current_ratio": "Ratio of base current",
}

SHORT: Final = {
    "primary_inductance": "Primary L1",
    "primary_resistance": "Primary R1",
    "secondary_inductance": "Secondary L2",
    "secondary_capacitance": "Secondary C2",
    "resonance": "Resonance f0",
    "quality_factor": "Quality Q",
    "coupling": "Coupling k",
    "breakout_voltage": "Breakout",
    "base_current_ratio": "Base ratio",
}


class MeasuredRows(Rows):
    """One row per measured value: switch, field, and what the geometry gives instead."""

    def __init__(self, document: Document[Any], parent: QWidget | None = None) -> None:
        super().__init__(document, "Measured values", "coil.measured", parent)
        self.switches: dict[str, QCheckBox] = {}
        self.notes: dict[str, QLabel] = {}
        self._coil: ResolvedCoil | None = None
        self.form.setRowWrapPolicy(QFormLayout.RowWrapPolicy.DontWrapRows)
        for name in WORDS:
            self._add(name)
        self._add_plain("coil.breakout_resistance", "Ω", "Breakout slope")
        self._add_plain("coil.lead_inductance", "H", "Primary leads")
        document.changed.connect(self._follow)
        self._follow()

    def _add_plain(self, path: str, unit: str, caption: str) -> None:
        """Row for a value that no geometry gives."""
        info = field_info(path)
        field = QuantityField(unit, name=caption, low=info["low"], high=info["high"])
        bind_value(self._document, path, field, text=str(info["title"]))
        self.add_row(path, caption, field)

    def show_coil(self, coil: ResolvedCoil) -> None:
        """Write what the geometry gives, and the difference."""
        self._coil = coil
        for name, note in self.notes.items():
            path = f"{self.section}.{name}"
            field = self.rows[path].widget
            if isinstance(field, QuantityField) and not field.isEnabled():
                field.set_value(coil.own(name))
            item = coil.known(name)
            note.setText("follows from L2 and C2" if item is None else _origin_words(item))
            note.setVisible(bool(note.text()))

    def _add(self, name: str) -> None:
        path = f"{self.section}.{name}"
        info = field_info(path)
        words = WORDS[name]
        field = QuantityField(
            info["unit"],
            name=words,
            low=info.get("low", -math.inf),
            high=info.get("high", math.inf),
        )
        bind_value(self._document, path, field, text=str(info["title"]))
        field.setFixedWidth(FIELD_WIDTH)
        row = FieldRow(field, self)
        note = TextLabel(row, wraps=True, role="muted")
        layout = row.layout()
        assert layout is not None
        layout.addWidget(note)
        switch = QCheckBox(SHORT[name], self)
        switch.setMinimumHeight(field.sizeHint().height())
        switch.setAccessibleName(f"Use measured {words.lower()}")
        set_tip(switch, f"{words}; on: the measured value overrides the one from geometry")
        switch.toggled.connect(lambda on, name=name: self._switch(name, on))
        self.switches[name], self.notes[name] = switch, note
        self.place(path, words, switch, row)

    def _switch(self, name: str, on: bool) -> None:
        coil = self._document.value("coil")
        rival = RIVALS.get(name)
        if not on and rival is not None and coil.given_by == "measured":
            name, rival, on = rival, name, True
        aside = {*coil.not_used} - {name} | ({rival} if on and rival else set())
        values: dict[str, object] = {
            "coil.not_used": tuple(sorted(aside if on else {*aside, name})),
        }
        if on and getattr(coil.measured, name) is None:
            if self._coil is None:
                self._follow()
                return
            values[f"{self.section}.{name}"] = float(f"{self._coil.own(name):.4g}")
        try:
            self._document.edit_many(values, text=f"Use measured {WORDS[name].lower()}")
        except InputError as error:
            self.rows[f"{self.section}.{name}"].refuse(f"{WORDS[name]} must be {limit_of(error)}")
            self._follow()

    def _follow(self, _design: object = None) -> None:
        coil = self._document.value("coil")
        by_geometry = coil.given_by == "geometry"
        for name, switch in self.switches.items():
            with QSignalBlocker(switch):
                switch.setChecked(measured_used(coil, name))
            switch.setEnabled(by_geometry or name in RIVALS)


def _origin_words(item: CoilValue) -> str:
    """Where the value in use comes from, and how far a measured one is from the computed."""
    computed = "" if item.computed is None else f"computed {shown(item.computed, item.unit)}"
    parts = [computed] if computed and item.measured is not None else []
    if item.entered is not None:
        parts.append(percent(item.entered, decimals=1, signed=True))
    if item.fitted is not None:
        return ", ".join([f"in use: {shown(item.fitted, item.unit)} by calibration", *parts])
    if item.measured is not None and not item.measured_used:
        return ", ".join([*parts, "not used"])
    if item.follows:
        return ", ".join(["from the resonance", *parts[:1]])
    return ", ".join(parts) or ("computed" if computed else "")


def as_measured(document: Document[Any], coil: ResolvedCoil | None) -> dict[str, object]:
    """Edits that give the coil by measured values.

    Values without a measurement start from those in use and are noted as not used, so that they
    do not override the geometry when the coil is given by it again.
    """
    part = document.value("coil")
    ratio = (BASE_RATIO,) if part.measured.base_current_ratio is None else ()
    missing = (*missing_measured(part), *ratio)
    values: dict[str, object] = {"coil.given_by": "measured"}
    if coil is not None and missing:
        for name in missing:
            values[f"coil.measured.{name}"] = float(f"{coil.own(name):.4g}")
        values["coil.not_used"] = (*part.not_used, *(m for m in missing if m not in part.not_used))
    return values
