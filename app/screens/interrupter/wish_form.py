"""What the builder wants of the timer, and what is in the drawer: the wish that a design holds."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from functools import partial
from operator import attrgetter
from types import MappingProxyType
from typing import Any, Final

from PySide6.QtCore import QSignalBlocker, Qt, QTimer, Signal
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

from burstwise.app.document import Document
from burstwise.app.drawer_dialog import show_drawer
from burstwise.app.own_drawer import OwnDrawer
from burstwise.app.refusals import limit_of, refusal, title_of
from burstwise.app.screens.interrupter.roles import CIRCUIT_WORDS, KIND_WORDS, TIMER_WORDS
from burstwise.app.widgets.drawer_choice import DrawerChoice
from burstwise.app.widgets.quantity_field import QuantityField
from burstwise.app.widgets.restyle import set_style_property
from burstwise.core.design.document import field_info
from burstwise.core.design.timer_wish import RankingWeights, TimerWish
from burstwise.core.errors import InputError
from burstwise.core.interrupter.stock import (
    SCHOTTKY,
    SILICON,
    potentiometer_values,
    potentiometers_text,
)
from burstwise.core.units import shown

WISH: Final = "interrupter.wish"
_FIELD_WIDTH: Final = 150
_REST_MS: Final = 250
"""Quiet time after an edit before the search begins."""
_TAPERS: Final[Mapping[str, str]] = MappingProxyType(
    {"linear": "linear", "logarithmic": "logarithmic", "reverse": "reverse logarithmic"}
)
_DIODES: Final[Mapping[str, str]] = MappingProxyType(
    {
        "silicon": f"silicon, {shown(SILICON.drop, 'V')}",
        "schottky": f"Schottky, {shown(SCHOTTKY.drop, 'V')}",
    }
)


def usual_top(wish: TimerWish) -> float:
    """Highest frequency offered when the frequency becomes adjustable [Hz].

    Examples
    --------
    >>> usual_top(TimerWish(frequency=15.0))
    60.0
    """
    return min(4 * wish.frequency, float(field_info(f"{WISH}.frequency_high")["high"]))


class WishForm(QScrollArea):
    """Form of the wish in the document.

    `changed` comes when a change of the wish or of the stock has come to rest;
    `refused` with the reason when an edit was not taken, and without one when the next is. A design
    without a wish shows the usual one for its frequency and supply; the first edit puts it into the
    design.
    """

    changed = Signal()
    refused = Signal(str)

    def __init__(
        self, document: Document[Any], drawer: OwnDrawer, parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self._document, self._drawer = document, drawer
        self.wish: TimerWish = document.value("interrupter").wish_in_use
        self._writers: list[Callable[[TimerWish], None]] = []
        self._stock: tuple[float, ...] = ()
        self.setWidgetResizable(True)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self._rest = QTimer(self)
        self._rest.setSingleShot(True)
        self._rest.setInterval(_REST_MS)
        self._rest.timeout.connect(self.changed)
        inner = QWidget()
        self._down = QVBoxLayout(inner)
        self._down.setContentsMargins(0, 0, 6, 0)
        self._wish_group()
        self._stock_group()
        self._choice_group()
        self._ranking_group()
        self._down.addStretch(1)
        self.setWidget(inner)
        self._write()
        document.changed.connect(self._follow)

    def whole_width(self) -> int:
        """Width at which nothing of the form is cut off, with its scroll bar in view."""
        bar = self.verticalScrollBar().sizeHint().width()
        return self._down.minimumSize().width() + bar + 2 * self.frameWidth()

    def _wish_group(self) -> None:
        form = self._group("Wanted")
        self.frequency = self._field(form, "Fre&quency", "frequency")
        self.frequency_high = self._quantity("Highest frequency", "frequency_high", usual=usual_top)
        self.adjustable = self._optional(
            form, "Adjustable &up to", self.frequency_high, "frequency_high",
            usual=usual_top, step="Adjustable frequency",
        )  # fmt: skip
        self.duty_low = self._field(form, "Duty, low stop", "duty_low")
        self.duty_high = self._field(form, "Duty, high stop", "duty_high")
        self.supply = self._field(form, "Timer supply", "supply")
        self.supply_tolerance = self._field(form, "Its tolerance", "supply_tolerance")
        usual_cap = attrgetter("usual_cap")
        self.cap = self._quantity("On-time cap", "on_time_cap", usual=usual_cap)
        self.own_cap = self._optional(
            form, "On-time cap", self.cap, "on_time_cap", usual=usual_cap, step="On-time cap"
        )
        self.own_cap.setToolTip(
            "Of the circuits with a cap; without a value it is 1.5 times the longest on-time."
        )

    def _optional(
        self,
        form: QFormLayout,
        words: str,
        field: QuantityField,
        name: str,
        *,
        usual: Callable[[TimerWish], float],
        step: str,
    ) -> QCheckBox:
        """Box that gives the wish a value of its own, the usual one at first."""
        box = QCheckBox(words, self)
        box.setMinimumHeight(field.sizeHint().height())

        def take(own: bool) -> None:
            self._edit(name, usual(self.wish) if own else None, step)

        def write(wish: TimerWish) -> None:
            with QSignalBlocker(box):
                box.setChecked(getattr(wish, name) is not None)

        box.toggled.connect(take)
        self._writers.append(write)
        form.addRow(box, field)
        return box

    def _stock_group(self) -> None:
        form = self._group("In stock")
        self.from_drawer = DrawerChoice("Only from the drawer", self._drawer, show_drawer, self)
        self.from_drawer.changed.connect(self._take_stock)
        form.addRow(self.from_drawer)
        self.resistors = self._choice(form, "Resistors", "resistor_series")
        self.resistor_tolerance = self._field(form, "Their tolerance", "resistor_tolerance")
        self.diode = self._choice(form, "Diodes", "diode", _DIODES)
        self.taper = self._choice(form, "Taper of the knob", "taper", _TAPERS)
        self.track_tolerance = self._field(form, "Its tolerance", "potentiometer_tolerance")
        self.drawer = QLineEdit(self)
        self.drawer.setAccessibleName("Potentiometers")
        self.drawer.editingFinished.connect(self._read_drawer)
        self._writers.append(self._write_drawer)
        form.addRow("Potentiometers", self.drawer)
        self.kinds = self._checks("capacitors", KIND_WORDS)
        for number, box in enumerate(self.kinds.values()):
            form.addRow("" if number else "Capacitors", box)

    def _take_stock(self) -> None:
        """Values come from the drawer or from the series; either way another search is due."""
        for widget in (self.resistors, self.drawer):
            widget.setEnabled(self.from_drawer.parts is None)
        self._rest.start()

    def _choice_group(self) -> None:
        form = self._group("Circuits")
        self.circuits = self._checks("circuits", CIRCUIT_WORDS)
        self.timers = self._checks("timers", TIMER_WORDS)
        for box in (*self.circuits.values(), *self.timers.values()):
            form.addRow(box)

    def _ranking_group(self) -> None:
        form = self._group("What weighs in the ranking")
        self.weights = {
            name: self._field(form, str(info.title), f"weights.{name}")
            for name, info in RankingWeights.model_fields.items()
        }

    def _group(self, title: str) -> QFormLayout:
        group = QGroupBox(title, self)
        form = QFormLayout(group)
        form.setFieldGrowthPolicy(QFormLayout.FieldGrowthPolicy.AllNonFixedFieldsGrow)
        form.setHorizontalSpacing(10)
        form.setVerticalSpacing(4)
        self._down.addWidget(group)
        return form

    def _field(self, form: QFormLayout, words: str, name: str) -> QuantityField:
        field = self._quantity(words.replace("&", ""), name)
        form.addRow(words, field)
        return field

    def _quantity(
        self,
        words: str,
        name: str,
        *,
        usual: Callable[[TimerWish], float] | None = None,
    ) -> QuantityField:
        """Field for a number of the wish with the design's own limits; rests at the usual value."""
        info = field_info(f"{WISH}.{name}")
        field = QuantityField(
            info["shown_unit"], name=words, low=info["low"], high=info["high"], parent=self
        )
        read = attrgetter(name)
        field.setMaximumWidth(_FIELD_WIDTH)

        def take(value: float) -> None:
            reason = self._edit(name, value, words, live=True)
            if reason:
                field.set_value(read(self.wish))
                field.mark_bad(reason)

        def write(wish: TimerWish) -> None:
            value = read(wish)
            field.setEnabled(value is not None)
            field.set_value(usual(wish) if value is None and usual is not None else value)

        field.value_changed.connect(take)
        field.edit_finished.connect(self._document.close_step)
        self._writers.append(write)
        return field

    def _choice(
        self, form: QFormLayout, words: str, name: str, choices: Mapping[str, str] | None = None
    ) -> QComboBox:
        box = QComboBox(self)
        for value in field_info(f"{WISH}.{name}")["choices"]:
            box.addItem(value if choices is None else choices[value], value)
        box.setAccessibleName(words)
        box.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon)
        box.setMinimumContentsLength(10)
        box.currentIndexChanged.connect(lambda: self._edit(name, box.currentData(), words))

        def write(wish: TimerWish) -> None:
            with QSignalBlocker(box):
                box.setCurrentIndex(box.findData(getattr(wish, name)))

        self._writers.append(write)
        form.addRow(words, box)
        return box

    def _checks(self, name: str, choices: Mapping[str, str]) -> dict[str, QCheckBox]:
        """Boxes of a list in the wish; the last one that is checked stays so."""
        boxes = {value: QCheckBox(words, self) for value, words in choices.items()}

        def take(words: str, _checked: bool) -> None:
            self._edit(name, [value for value, box in boxes.items() if box.isChecked()], words)

        def write(wish: TimerWish) -> None:
            for value, box in boxes.items():
                with QSignalBlocker(box):
                    box.setChecked(value in getattr(wish, name))

        for value, box in boxes.items():
            box.toggled.connect(partial(take, choices[value]))
        self._writers.append(write)
        return boxes

    def _read_drawer(self) -> None:
        if not self.drawer.isModified():
            return
        try:
            values: Sequence[float] = potentiometer_values(self.drawer.text())
        except InputError as error:
            set_style_property(self.drawer, "bad", "true")
            self.refused.emit(f"{refusal(error)}.")
            return
        if not self._edit("potentiometers", values, "Potentiometers"):
            self._show_drawer(self.wish)

    def _write_drawer(self, wish: TimerWish) -> None:
        """Show the stock, unless something is being typed over the same stock."""
        if not self.drawer.isModified() or wish.potentiometers != self._stock:
            self._show_drawer(wish)

    def _show_drawer(self, wish: TimerWish) -> None:
        self._stock = wish.potentiometers
        set_style_property(self.drawer, "bad", "false")
        self.drawer.setText(potentiometers_text(wish.potentiometers))
        self.drawer.setCursorPosition(0)

    def _edit(self, name: str, value: object, words: str, *, live: bool = False) -> str:
        """Put a changed wish into the design; returns why not, empty if taken."""
        data: dict[str, Any] = self.wish.model_dump()
        *outer, last = name.split(".")
        (data[outer[0]] if outer else data)[last] = value
        try:
            self._document.edit(WISH, data, live=live, text=f"Wish: {words}")
        except InputError as error:
            self._write()
            self.refused.emit(f"{refusal(error)}.")
            return f"{words} is not taken: {title_of(error.field)} must be {limit_of(error)}"
        self.refused.emit("")
        return ""

    def _follow(self, _design: object = None) -> None:
        wish = self._document.value("interrupter").wish_in_use
        if wish != self.wish:
            self.wish = wish
            self._write()
            self._rest.start()

    def _write(self) -> None:
        for write in self._writers:
            write(self.wish)
