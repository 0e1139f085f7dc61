"""Form of a wish: what to reach, what must hold, what may move."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from typing import Final

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import (
    QCheckBox,
    QComboBox,
    QGridLayout,
    QLabel,
    QScrollArea,
    QSizePolicy,
    QVBoxLayout,
    QWidget,
)

from burstwise.app.drawer_dialog import show_drawer
from burstwise.app.own_drawer import OwnDrawer
from burstwise.app.refusals import refusal, title_of
from burstwise.app.widgets.drawer_choice import DrawerChoice
from burstwise.app.widgets.quantity_field import QuantityField
from burstwise.app.widgets.restyle import set_style_property
from burstwise.app.widgets.text_label import TextLabel, set_tip
from burstwise.core.design.document import Design, field_info
from burstwise.core.errors import InputError
from burstwise.core.limits.device_classes import devices_by_name
from burstwise.core.search.proposals import Movable, Reach, movable
from burstwise.core.search.space import Free
from burstwise.core.search.wish import Keep, Objective, Wish


@dataclass(frozen=True, slots=True)
class Aim:
    """One thing that can be wished for, in words."""

    text: str
    objective: Objective


AIMS: Final = (
    Aim("Highest top voltage", Objective("burst.top_voltage_reached_V", True)),
    Aim("Largest smallest margin", Objective("margin", True)),
    Aim("Least heat in the device", Objective("burst.device_power_W", False)),
    Aim("Least average power", Objective("burst.average_power_W", False)),
    Aim("Lowest supply", Objective("carrier.supply_voltage_V", False)),
    Aim("Coolest junction", Objective("thermal.junction_peak_C", False)),
    Aim("Quietest junction", Objective("thermal.junction_ripple_K", False)),
)


@dataclass(frozen=True, slots=True)
class Condition:
    """One condition of the form: text, figure, unit of its field, first value, which side."""

    text: str
    name: str
    unit: str
    value: float
    most: bool
    on: bool = False


_SCROLL_BAR: Final = 16
CONDITIONS: Final = (
    Condition("Each rating keeps a margin of", "margin", "%", 0.2, most=False, on=True),
    Condition("Top voltage at least", "burst.top_voltage_reached_V", "V", 10e3, most=False),
    Condition("Average power at most", "burst.average_power_W", "W", 30.0, most=True),
    Condition("Junction peak at most", "thermal.junction_peak_C", "°C", 110.0, most=True),
    Condition("Drain peak at most", "carrier.drain_voltage_worst_V", "V", 400.0, most=True),
    Condition("Coupling at most", "coil.coupling", "", 0.45, most=True),
    Condition("Supply current at most", "carrier.supply_current_mean_A", "A", 5.0, most=True),
)


class _Row:
    """A free field: whether it may move, and between what."""

    def __init__(self, item: Movable, parent: QWidget, *, at_hand: bool) -> None:
        self.item = item
        free = item.free
        self.title = title_of(free.path)
        self.box = QCheckBox(parent)
        self.box.setAccessibleName(self.title)
        self.label = TextLabel(self.title, parent, wraps=True)
        self.low: QuantityField | None = None
        self.high: QuantityField | None = None
        self.listed: QLabel | None = None
        if free.choices:
            count = len(free.choices)
            words = f"{count} from the drawer" if at_hand else f"{count} values that are sold"
            self.listed = TextLabel(words, parent)
            texts = [free.text(value) for value in free.choices]
            set_tip(self.listed, "\n".join(texts))
            set_style_property(self.listed, "role", "muted")
            return
        info = field_info(free.path)
        unit = str(info.get("shown_unit", ""))

        def field(value: float, word: str) -> QuantityField:
            made = QuantityField(
                unit,
                name=f"{self.title}, {word}",
                value=value,
                low=float(info.get("low", -1e12)),
                high=float(info.get("high", 1e12)),
                digits=3,
                parent=parent,
            )
            made.entry.setMinimumWidth(_narrow(made))
            return made

        self.low, self.high = field(free.low, "from"), field(free.high, "to")

    def free(self) -> Free:
        """The field with its range.

        Raises
        ------
        InputError
            An empty range.
        """
        free = self.item.free
        if self.low is None or self.high is None:
            return free
        low, high = self.low.value, self.high.value
        if not low < high:
            raise InputError(self.title, free.text(high), f"above {free.text(low)}")
        return replace(free, low=low, high=high)

    def take_over(self, other: _Row) -> None:
        """Take the tick and the typed range of a row for the same field."""
        self.box.setChecked(other.box.isChecked())
        for mine, its, proposed in (
            (self.low, other.low, other.item.free.low),
            (self.high, other.high, other.item.free.high),
        ):
            if mine is not None and its is not None and its.value != proposed:
                mine.set_value(its.value)


class GoalForm(QScrollArea):
    """Objective, conditions and free fields of a search.

    `refused` tells why the drawer's parts cannot be offered, and nothing once they can.

    Parameters
    ----------
    drawer : OwnDrawer
        Parts that the user has.
    """

    refused = Signal(str)

    def __init__(self, drawer: OwnDrawer, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setWidgetResizable(True)
        self.setFrameShape(QScrollArea.Shape.NoFrame)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self._rows: list[_Row] = []
        self._design: Design | None = None
        self._shown: tuple[tuple[object, ...], ...] = ()
        self._complaint = ""
        inside = self._inside = QWidget(self)
        layout = QVBoxLayout(inside)
        layout.setContentsMargins(0, 0, 8, 0)
        self.aim = QComboBox(inside)
        self.aim.setAccessibleName("What to reach")
        self.aim.addItems([aim.text for aim in AIMS])
        layout.addWidget(_head("What to reach", inside))
        layout.addWidget(self.aim)
        layout.addWidget(_head("What must hold", inside))
        grid = QGridLayout()
        grid.setColumnStretch(0, 1)
        self.conditions: list[tuple[QCheckBox, QuantityField]] = []
        for row, item in enumerate(CONDITIONS):
            box = QCheckBox(item.text, inside)
            box.setChecked(item.on)
            field = QuantityField(item.unit, name=item.text, value=item.value, digits=3)
            field.entry.setMinimumWidth(_narrow(field))
            field.setEnabled(item.on)
            box.toggled.connect(field.setEnabled)
            grid.addWidget(box, row, 0)
            grid.addWidget(field, row, 1)
            self.conditions.append((box, field))
        layout.addLayout(grid)
        layout.addWidget(_head("What may move", inside))
        self.reach = QComboBox(inside)
        self.reach.setAccessibleName("How much may move")
        self.reach.addItems([each.value.capitalize() for each in Reach])
        self.reach.setCurrentIndex(1)
        self.reach.currentIndexChanged.connect(self._check_boxes)
        layout.addWidget(self.reach)
        self.drawer = DrawerChoice("Parts from the &drawer", drawer, show_drawer, inside)
        self.drawer.changed.connect(self._offer)
        layout.addWidget(self.drawer)
        self._grid = QGridLayout()
        self._grid.setColumnStretch(1, 1)
        layout.addLayout(self._grid)
        layout.addStretch(1)
        self.setWidget(inside)
        for chooser in (self.aim, self.reach):
            chooser.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)
        self._keep_width()

    def show_design(self, design: Design) -> None:
        """Offer what a design has; rows that are still the same keep what was typed."""
        self._design = design
        self._offer()

    def _keep_width(self) -> None:
        """Ask for the width of what stands in the form."""
        self.setMinimumWidth(self._inside.minimumSizeHint().width() + _SCROLL_BAR)

    def _offer(self) -> None:
        if self._design is None:
            return
        classes, listed = devices_by_name(), self.drawer.parts
        sold = movable(self._design, classes=classes)
        try:
            items = movable(self._design, classes=classes, drawer=listed)
            self._complain("")
        except InputError as error:
            items = sold
            self._complain(refusal(error))
        at_hand = {
            item.free.path
            for item, usual in zip(items, sold, strict=True)
            if item.free != usual.free
        }
        if _kinds(items, at_hand) == self._shown:
            return
        self._shown = _kinds(items, at_hand)
        before = {row.item.free.path: row for row in self._rows}
        while self._grid.count():
            taken = self._grid.takeAt(0)
            widget = taken.widget() if taken is not None else None
            if widget is not None:
                widget.hide()
                widget.deleteLater()
        self._rows = [_Row(item, self._inside, at_hand=item.free.path in at_hand) for item in items]
        for place, row in enumerate(self._rows):
            self._grid.addWidget(row.box, place, 0)
            self._grid.addWidget(row.label, place, 1)
            if row.low is not None and row.high is not None:
                self._grid.addWidget(row.low, place, 2)
                self._grid.addWidget(row.high, place, 3)
            elif row.listed is not None:
                self._grid.addWidget(row.listed, place, 2, 1, 2)
        self._check_boxes()
        if before.keys() == {row.item.free.path for row in self._rows}:
            for row in self._rows:
                row.take_over(before[row.item.free.path])
        self._keep_width()

    def _complain(self, reason: str) -> None:
        if reason != self._complaint:
            self._complaint = reason
            self.refused.emit(reason)

    def wish(self) -> Wish:
        """What the form says."""
        keeps = [
            Keep(item.name, field.value, item.most)
            for item, (box, field) in zip(CONDITIONS, self.conditions, strict=True)
            if box.isChecked()
        ]
        return Wish(AIMS[self.aim.currentIndex()].objective, tuple(keeps))

    def ease(self, keeps: Sequence[Keep]) -> None:
        """Take the limits of conditions that were eased."""
        for item, (_, field) in zip(CONDITIONS, self.conditions, strict=True):
            for keep in keeps:
                if (keep.name, keep.most) == (item.name, item.most):
                    field.set_value(keep.limit)

    def free(self) -> tuple[Free, ...]:
        """Fields that may move.

        Raises
        ------
        InputError
            None is ticked, or a range is empty.
        """
        chosen = tuple(row.free() for row in self._rows if row.box.isChecked())
        if not chosen:
            raise InputError("What may move", "nothing ticked", "at least one field")
        return chosen

    @property
    def rows(self) -> list[_Row]:
        """Rows of what may move."""
        return self._rows

    def _check_boxes(self) -> None:
        reach = tuple(Reach)[self.reach.currentIndex()]
        for row in self._rows:
            row.box.setChecked(row.item.within(reach))


def _kinds(items: Sequence[Movable], at_hand: Collection[str]) -> tuple[tuple[object, ...], ...]:
    """What makes rows others than those that are shown; ranges that were typed stay."""
    return tuple(
        (item.free.path, bool(item.free.choices))
        + (item.free.choices if item.free.path in at_hand else ())
        for item in items
    )


def _narrow(field: QuantityField) -> int:
    """Width of an entry of three figures with prefix and unit [pixels]."""
    return field.entry.fontMetrics().horizontalAdvance("−00.0 mm turns")


def _head(text: str, parent: QWidget) -> QLabel:
    label = TextLabel(text, parent, role="title")
    return label
