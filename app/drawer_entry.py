"""Line of the drawer's list in which parts to add are typed."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QComboBox, QGridLayout, QLineEdit, QPushButton, QWidget

from burstwise.app.drawer_table import NAME, PRICE, VALUE
from burstwise.app.widgets.text_label import TextLabel
from burstwise.core.drawer import DEVICE, KINDS, DrawerPart, parts_from
from burstwise.core.limits.device_classes import devices_by_name

_HINTS: Final = {
    "Ω": "4k7 10k, or E12 10:1M",
    "F": "10n 100n, or E6 1n:1u",
    "m": "0.2 mm 0.315 mm",
}


def bare_unit(kind: str) -> str:
    """Unit that a bare number of a kind is in; the SI unit if empty."""
    return "mm" if KINDS[kind][0] == "m" else ""


class PartEntry(QWidget):
    """Kind, values or device class, name and price, with the button that adds them.

    `kind_changed` comes when another kind is chosen.
    """

    kind_changed = Signal()

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        self.kind = QComboBox(self)
        self.kind.setAccessibleName("Kind")
        self.kind.addItems([kind.capitalize() for kind in KINDS])
        self.kind.currentIndexChanged.connect(self._follow_kind)
        self.values = QLineEdit(self)
        self.values.setAccessibleName("Values")
        self.device = QComboBox(self)
        self.device.setAccessibleName("Device class")
        self.device.addItems(list(devices_by_name()))
        self.device.setSizeAdjustPolicy(
            QComboBox.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon
        )
        self.name = QLineEdit(self)
        self.name.setAccessibleName("Name")
        self.name.setPlaceholderText("as you call it")
        self.price = QLineEdit(self)
        self.price.setAccessibleName("Price of one")
        self.add_button = QPushButton("&Add", self)
        self.add_button.setDefault(True)
        grid = QGridLayout(self)
        grid.setContentsMargins(0, 0, 0, 0)
        self._heads: dict[int, TextLabel] = {}
        heads = ("Kind", "Values", "Name", "Price of one")
        for column, (words, widget) in enumerate(
            zip(heads, (self.kind, self.values, self.name, self.price), strict=True)
        ):
            head = self._heads[column] = TextLabel(words, self)
            head.setBuddy(widget)
            grid.addWidget(head, 0, column)
            grid.addWidget(widget, 1, column)
        grid.addWidget(self.device, 1, VALUE, 1, 2)
        grid.addWidget(self.add_button, 1, len(heads))
        grid.setColumnStretch(VALUE, 4)
        grid.setColumnStretch(NAME, 2)
        grid.setColumnStretch(PRICE, 1)
        self._follow_kind()

    @property
    def chosen_kind(self) -> str:
        """Kind of the parts to add."""
        return tuple(KINDS)[self.kind.currentIndex()]

    def parts(self) -> Sequence[DrawerPart]:
        """Parts that the line says.

        Raises
        ------
        InputError
            Something in it cannot be read.
        """
        kind = self.chosen_kind
        device = kind == DEVICE
        return parts_from(
            kind,
            "" if device else self.values.text(),
            self.device.currentText() if device else self.name.text().strip(),
            self.price.text().strip(),
            bare=bare_unit(kind),
        )

    def begin_next(self) -> None:
        """Make ready for the next ones of the kind."""
        self.values.clear()
        (self.device if self.chosen_kind == DEVICE else self.values).setFocus()

    def _follow_kind(self, _index: int = 0) -> None:
        device = self.chosen_kind == DEVICE
        for widget in (self.values, self.name):
            widget.setVisible(not device)
        self.device.setVisible(device)
        self._heads[VALUE].setText("Device class" if device else "Values")
        self._heads[NAME].setVisible(not device)
        self.values.setPlaceholderText(_HINTS.get(KINDS[self.chosen_kind][0], ""))
        self.kind_changed.emit()
