"""Datasheet form: each figure with its field and where a datasheet has it."""

from __future__ import annotations

import math

from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QComboBox,
    QGridLayout,
    QGroupBox,
    QHBoxLayout,
    QLineEdit,
    QPushButton,
    QScrollArea,
    QSizePolicy,
    QVBoxLayout,
    QWidget,
)

from burstwise.app.binding import bind_choice, bind_text, bind_value
from burstwise.app.field_tips import tip_of
from burstwise.app.screens.device.datasheet import NETWORK, SHEET, Section
from burstwise.app.session import Session
from burstwise.app.theme import Theme, mark
from burstwise.app.widgets.quantity_field import QuantityField
from burstwise.app.widgets.reflow import Reflow, beside
from burstwise.app.widgets.restyle import set_style_property
from burstwise.app.widgets.text_label import TextLabel, set_tip
from burstwise.core.design.device import Device
from burstwise.core.design.document import field_info
from burstwise.core.findings import Severity
from burstwise.core.limits.datasheet import plausibility
from burstwise.core.limits.device_classes import class_of, device_classes, typical_law

JUNCTION_TO_CASE = "Thermal resistance, junction to case"
_LEAST_LETTERS = 22
"""Letters of a class that its list has room for in a narrow window."""
_FIELD_WIDTH = 170
_NAME_WIDTH = 230
_WORDS = {
    "constant": "constant",
    "junction": "planar junction",
    "knee": "superjunction, a knee",
    "curve": "points of the curve",
}
"""Kinds of capacitance law in words."""


class SheetForm(QScrollArea):
    """Class to start from, the sheet in sections, and what does not fit together.

    Parameters
    ----------
    session, theme
        Document and look.
    """

    def __init__(self, session: Session, theme: Theme) -> None:
        super().__init__()
        self.setWidgetResizable(True)
        self._document = session.document
        self.fields: dict[str, QuantityField] = {}
        self.choices: dict[str, QComboBox] = {}
        inner = QWidget()
        layout = QVBoxLayout(inner)
        layout.setContentsMargins(0, 8, 10, 8)
        layout.addWidget(self._start_row(inner))
        self.provenance = TextLabel(inner, wraps=True, role="muted")
        layout.addWidget(self.provenance)
        self.doubts = TextLabel(inner, wraps=True)
        layout.addWidget(self.doubts)
        layout.addLayout(self._law_row(inner))
        for section in SHEET:
            layout.addWidget(self._section(section, inner))
        layout.addStretch(1)
        self.setWidget(inner)
        self.classes.currentIndexChanged.connect(lambda _row: self._tell_class())
        self._document.changed.connect(self._check)
        self._tell_class()
        self._check()

    def _start_row(self, owner: QWidget) -> Reflow:
        self.classes = QComboBox(owner)
        self.classes.setAccessibleName("Device class to start from")
        self.classes.setSizeAdjustPolicy(
            QComboBox.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon
        )
        self.classes.setMinimumContentsLength(_LEAST_LETTERS)
        for item in device_classes():
            self.classes.addItem(item.name, item)
        self.classes.setCurrentText(class_of(self._document.value("device")).name)
        self.take_button = QPushButton("&Take this class", owner)
        self.take_button.clicked.connect(self.take_class)
        self.name = QLineEdit(owner)
        self.name.setAccessibleName("Name of the device in the design")
        bind_text(self._document, "device.name", self.name, text="Name of the device")
        self.name.setMinimumWidth(_NAME_WIDTH)
        start = TextLabel("Start from &class", owner)
        start.setBuddy(self.classes)
        called = TextLabel("&In the design", owner)
        called.setBuddy(self.name)
        row = Reflow(spacing=16, parent=owner)
        self.classes.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        row.add(beside(start, self.classes, self.take_button))
        row.add(beside(called, self.name))
        return row

    def _law_row(self, owner: QWidget) -> QHBoxLayout:
        """Only for constant capacitances: what they hide, and the way out."""
        self.law_words = TextLabel(owner, wraps=True)
        set_style_property(self.law_words, "severity", "caution")
        self.law_button = QPushButton("Take the class's &law", owner)
        self.law_button.clicked.connect(self.take_law)
        row = QHBoxLayout()
        row.addWidget(self.law_words, 1)
        row.addWidget(self.law_button)
        return row

    def take_law(self) -> None:
        """Let the capacitances fall as usual in the device's class, by the figures given."""
        law = typical_law(self._document.value("device"))
        self._document.edit("device.capacitance_law", law, text="Capacitance law of the class")

    def _offer_law(self, device: Device) -> None:
        constant = device.capacitance_law == "constant"
        for part in (self.law_words, self.law_button):
            part.setVisible(constant)
        if constant:
            self.law_words.setText(
                f"{mark(Severity.CAUTION).glyph} Constant capacitances understate the drain's "
                f"peak; the findings say by how much. Usual in the class {class_of(device).name}: "
                f"{_WORDS[typical_law(device)]}."
            )

    def take_class(self) -> None:
        """Put the chosen class into the design as one undo step."""
        device: Device = self.classes.currentData().device
        self._document.edit("device", device, text=f"Device class {device.name}")

    def _section(self, section: Section, owner: QWidget) -> QGroupBox:
        box = QGroupBox(section.title, owner)
        grid = QGridLayout(box)
        grid.setColumnStretch(0, 2)
        grid.setColumnStretch(2, 3)
        grid.setHorizontalSpacing(14)
        grid.setVerticalSpacing(3)
        for row, entry in enumerate(section.entries):
            info = field_info(entry.path)
            title = JUNCTION_TO_CASE if entry.name == NETWORK else str(info["title"])
            field: QWidget
            if entry.name == NETWORK:
                field = self.fields[entry.path] = self._junction_to_case(entry.path, box)
            elif "choices" in info:
                field = self.choices[entry.path] = QComboBox(box)
                field.setAccessibleName(title)
                choices = {choice: _WORDS.get(choice, choice) for choice in info["choices"]}
                bind_choice(self._document, entry.path, field, choices, text=title)
            else:
                field = self.fields[entry.path] = QuantityField(
                    info["shown_unit"],
                    name=title,
                    low=info.get("low", -math.inf),
                    high=info.get("high", math.inf),
                    parent=box,
                )
                bind_value(self._document, entry.path, field, text=title)
            field.setFixedWidth(_FIELD_WIDTH)
            set_tip(field, f"{tip_of(entry.path)}\nFound in the datasheet: {entry.where}")
            where = TextLabel(entry.where, box, wraps=True, role="muted")
            name = TextLabel(title, box)
            name.setMinimumWidth(190)
            name.setWordWrap(True)
            top = Qt.AlignmentFlag.AlignVCenter
            grid.addWidget(name, row, 0, top)
            grid.addWidget(field, row, 1, top)
            grid.addWidget(where, row, 2, top)
        return box

    def _junction_to_case(self, path: str, owner: QWidget) -> QuantityField:
        """Field for the sum of the thermal network; another one scales all of its elements."""
        document = self._document
        field = QuantityField("K/W", name=JUNCTION_TO_CASE, low=0.001, high=1000.0, parent=owner)
        bind_value(
            document,
            path,
            field,
            text=JUNCTION_TO_CASE,
            read=lambda: document.value("device").junction_to_case,
            edits=lambda value: {path: document.value("device").network_with(value)},
        )
        return field

    def _tell_class(self) -> None:
        item = self.classes.currentData()
        self.provenance.setText(
            f"{item.technology.capitalize()}, {item.package}: figures {item.provenance}."
        )

    def _check(self, _changed: object = None) -> None:
        device: Device = self._document.value("device")
        self._offer_law(device)
        found = plausibility(device)
        if not found:
            self.doubts.setText(f"{mark(None).glyph} The figures fit together.")
            set_style_property(self.doubts, "severity", "ok")
            return
        self.doubts.setText("\n".join(f"{mark(item.severity).glyph} {item.text}" for item in found))
        set_style_property(self.doubts, "severity", "caution")
