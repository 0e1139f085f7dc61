"""What the builder wants of the timer, and what is in the drawer: becomes a wish for sizing."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from types import MappingProxyType
from typing import Final

from PySide6.QtCore import Qt, QTimer, Signal
from PySide6.QtWidgets import (
    QCheckBox,
    QComboBox,
    QFormLayout,
    QGroupBox,
    QLineEdit,
    QScrollArea,
    QVBoxLayout,
    QWidget,
)

from app.widgets.quantity_field import QuantityField
from core.design.interrupter import Interrupter
from core.interrupter.circuits import CIRCUITS
from core.interrupter.sets import TimerWish, Weights
from core.interrupter.stock import (
    CAPACITORS,
    SCHOTTKY,
    SILICON,
    DiodeStock,
    PotentiometerStock,
    ResistorStock,
    potentiometer_values,
)
from core.interrupter.timer import TIMERS

_FIELD_WIDTH: Final = 150
_REST_MS: Final = 250
"""Quiet time after an edit before the search begins."""
_RESISTORS: Final[Mapping[str, tuple[str, float]]] = MappingProxyType(
    {
        "E24, 1 %": ("E24", 0.01),
        "E24, 5 %": ("E24", 0.05),
        "E12, 5 %": ("E12", 0.05),
        "E12, 10 %": ("E12", 0.10),
        "E96, 1 %": ("E96", 0.01),
    }
)
_TAPERS: Final[Mapping[str, float]] = MappingProxyType(
    {"linear": 0.5, "logarithmic": 0.15, "reverse logarithmic": 0.85}
)
_DIODES: Final[Mapping[str, DiodeStock]] = MappingProxyType(
    {"silicon, 0.58 V": SILICON, "Schottky, 0.27 V": SCHOTTKY}
)
_KINDS: Final[Mapping[str, tuple[str, ...]]] = MappingProxyType(
    {
        "film": ("film", "film-large"),
        "ceramic C0G": ("c0g",),
        "ceramic X7R": ("x7r",),
        "electrolytic": ("electrolytic",),
    }
)
_WEIGHTS: Final[Mapping[str, str]] = MappingProxyType(
    {
        "frequency": "Frequency",
        "duty": "Duty at the stops",
        "middle": "Duty at half travel",
        "spread": "Spread",
        "parts": "Number of parts",
    }
)
_DRAWER: Final = "1k 2k2 4k7 5k 10k 22k 25k 47k 50k 100k 220k 250k 470k 500k 1M"


def short_label(name: str) -> str:
    """Words for a circuit where there is little room.

    Examples
    --------
    >>> short_label("astable-capped-discharge"), short_label("two-timer")
    ('steered, discharge pin, with on-time cap', 'two timers')
    """
    whole = CIRCUITS[name].label.replace("diode-steered astable", "steered")
    return whole.removesuffix(", frequency and on-time independent")


class WishForm(QScrollArea):
    """Form of a wish; `changed` comes when an edit has come to rest."""

    changed = Signal()

    def __init__(self, start: Interrupter, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setWidgetResizable(True)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self._rest = QTimer(self)
        self._rest.setSingleShot(True)
        self._rest.setInterval(_REST_MS)
        self._rest.timeout.connect(self.changed)
        inner = QWidget()
        self._down = QVBoxLayout(inner)
        self._down.setContentsMargins(0, 0, 6, 0)
        self._wish_group(start)
        self._stock_group()
        self._choice_group()
        self._ranking_group()
        self._down.addStretch(1)
        self.setWidget(inner)

    def whole_width(self) -> int:
        """Width at which nothing of the form is cut off, with its scroll bar in view."""
        bar = self.verticalScrollBar().sizeHint().width()
        return self._down.minimumSize().width() + bar + 2 * self.frameWidth()

    def wish(self) -> TimerWish:
        """The wish as it stands.

        Raises
        ------
        InputError
            Something in the form cannot be used.
        """
        series, tolerance = _RESISTORS[self.resistors.currentText()]
        adjustable = self.adjustable.isChecked()
        return TimerWish(
            frequency=self.frequency.value,
            frequency_high=self.frequency_high.value if adjustable else None,
            duty_low=self.duty_low.value,
            duty_high=self.duty_high.value,
            supply=self.supply.value,
            supply_tolerance=self.supply_tolerance.value,
            circuits=tuple(name for name, box in self.circuits.items() if box.isChecked()),
            timers=tuple(name for name, box in self.timers.items() if box.isChecked()),
            resistors=replace(ResistorStock(), series=series, tolerance=tolerance),
            potentiometers=PotentiometerStock(
                values=potentiometer_values(self.drawer.text()),
                tolerance=self.track_tolerance.value,
                middle=_TAPERS[self.taper.currentText()],
            ),
            capacitors=tuple(
                CAPACITORS[name]
                for label, box in self.kinds.items()
                if box.isChecked()
                for name in _KINDS[label]
            ),
            diode=_DIODES[self.diode.currentText()],
            on_time_cap=self.cap.value or None,
            weights=Weights(**{name: field.value for name, field in self.weights.items()}),
            count=self.COUNT,
        )

    COUNT: Final = 12
    """Most sets that are asked for."""

    def _wish_group(self, start: Interrupter) -> None:
        form = self._group("Wanted")
        self.frequency = self._field(form, "Fre&quency", "Hz", start.frequency, 0.05, 1e5)
        self.adjustable = self._check("Adjustable &up to", False)
        self.frequency_high = QuantityField(
            "Hz", name="Highest frequency", value=4 * start.frequency, low=0.05, high=1e5
        )
        self.frequency_high.setMaximumWidth(_FIELD_WIDTH)
        self.frequency_high.setEnabled(False)
        self.adjustable.toggled.connect(self.frequency_high.setEnabled)
        self.frequency_high.value_changed.connect(self._edited)
        self.adjustable.setMinimumHeight(self.frequency_high.sizeHint().height())
        form.addRow(self.adjustable, self.frequency_high)
        self.duty_low = self._field(form, "Duty, low stop", "%", 0.02, 0.0, 1.0)
        self.duty_high = self._field(form, "Duty, high stop", "%", 0.98, 0.0, 1.0)
        self.supply = self._field(form, "Timer supply", "V", start.parts.supply, 1.0, 30.0)
        self.supply_tolerance = self._field(form, "Its tolerance", "%", 0.05, 0.0, 0.5)
        self.cap = self._field(form, "On-time cap", "s", 0.0, 0.0, 100.0)
        self.cap.setToolTip("Of the circuits with a cap; 0 s takes 1.5 times the longest on-time.")

    def _stock_group(self) -> None:
        form = self._group("In stock")
        self.resistors = self._choice(form, "Resistors", tuple(_RESISTORS))
        self.diode = self._choice(form, "Diodes", tuple(_DIODES))
        self.taper = self._choice(form, "Taper of the knob", tuple(_TAPERS))
        self.track_tolerance = self._field(form, "Its tolerance", "%", 0.20, 0.0, 0.5)
        self.drawer = QLineEdit(_DRAWER, self)
        self.drawer.setAccessibleName("Potentiometers")
        self.drawer.setCursorPosition(0)
        self.drawer.textEdited.connect(self._edited)
        form.addRow("Potentiometers", self.drawer)
        self.kinds = {name: self._check(name, name != "electrolytic") for name in _KINDS}
        for number, box in enumerate(self.kinds.values()):
            form.addRow("" if number else "Capacitors", box)

    def _choice_group(self) -> None:
        form = self._group("Circuits")
        self.circuits = {n: self._check(short_label(n), True) for n in CIRCUITS}
        self.timers = {name: self._check(timer.label, True) for name, timer in TIMERS.items()}
        for box in (*self.circuits.values(), *self.timers.values()):
            form.addRow(box)

    def _ranking_group(self) -> None:
        form = self._group("What weighs in the ranking")
        usual = Weights()
        self.weights = {
            name: self._field(form, words, "", getattr(usual, name), 0.0, 10.0)
            for name, words in _WEIGHTS.items()
        }

    def _group(self, title: str) -> QFormLayout:
        group = QGroupBox(title, self)
        form = QFormLayout(group)
        form.setFieldGrowthPolicy(QFormLayout.FieldGrowthPolicy.AllNonFixedFieldsGrow)
        form.setHorizontalSpacing(10)
        form.setVerticalSpacing(4)
        self._down.addWidget(group)
        return form

    def _field(
        self, form: QFormLayout, words: str, unit: str, value: float, low: float, high: float
    ) -> QuantityField:
        field = QuantityField(
            unit, name=words.replace("&", ""), value=value, low=low, high=high, parent=self
        )
        field.setMaximumWidth(_FIELD_WIDTH)
        field.value_changed.connect(self._edited)
        form.addRow(words, field)
        return field

    def _choice(self, form: QFormLayout, words: str, choices: tuple[str, ...]) -> QComboBox:
        box = QComboBox(self)
        box.addItems(choices)
        box.setAccessibleName(words)
        box.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon)
        box.setMinimumContentsLength(10)
        box.currentIndexChanged.connect(self._edited)
        form.addRow(words, box)
        return box

    def _check(self, words: str, checked: bool) -> QCheckBox:
        box = QCheckBox(words, self)
        box.setChecked(checked)
        box.toggled.connect(self._edited)
        return box

    def _edited(self, *_: object) -> None:
        self._rest.start()
