"""What the drawer holds: parts seen, added, changed, removed, imported and exported."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

from PySide6.QtCore import QSignalBlocker, Qt
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import (
    QAbstractItemView,
    QComboBox,
    QDialog,
    QDialogButtonBox,
    QGridLayout,
    QHeaderView,
    QLineEdit,
    QPushButton,
    QTableWidgetItem,
    QVBoxLayout,
    QWidget,
)

from burstwise.app.file_dialogs import ask_open, ask_save, tell_saved
from burstwise.app.own_drawer import OwnDrawer
from burstwise.app.refusals import refusal
from burstwise.app.widgets.restyle import set_style_property
from burstwise.app.widgets.text_label import TextLabel
from burstwise.app.widgets.words import sentence_start
from burstwise.app.widgets.wrapped_table import WrappedTable
from burstwise.core.disk import read_text, write_whole
from burstwise.core.drawer import (
    DEVICE,
    KINDS,
    Drawer,
    DrawerPart,
    drawer_from_text,
    drawer_text,
    part_from,
    parts_from,
)
from burstwise.core.errors import InputError
from burstwise.core.limits.device_classes import devices_by_name

_INTRO: Final = (
    "Parts that you have, the same for all designs. The timer's sizing, the remedies and Reach a "
    "goal choose among them where you tick it there. Whether a part stands its voltage, current "
    "and heat, the parts list of the design says."
)
_HINTS: Final = {
    "Ω": "4k7 10k, or E12 10:1M",
    "F": "10n 100n, or E6 1n:1u",
    "m": "0.2 mm 0.315 mm",
}
_CSV: Final = "Lists of parts (*.csv)"
_KIND, _VALUE, _NAME, _PRICE = range(4)
_SIZE: Final = (760, 560)
_GAP: Final = 40
"""Room to the edges of the screen [px]."""


class _Parts(WrappedTable):
    """Table of the parts; Delete asks for removal."""

    def __init__(self, remove: Callable[[], None], parent: QWidget) -> None:
        titles = ("Kind", "Value", "Name", "Price of one")
        super().__init__(titles, name="Parts in the drawer", parent=parent)
        self._remove = remove
        self.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        self.setSelectionMode(QAbstractItemView.SelectionMode.ExtendedSelection)
        self.setEditTriggers(
            QAbstractItemView.EditTrigger.DoubleClicked
            | QAbstractItemView.EditTrigger.EditKeyPressed
        )
        header = self.horizontalHeader()
        header.setSectionResizeMode(QHeaderView.ResizeMode.ResizeToContents)
        header.setSectionResizeMode(_NAME, QHeaderView.ResizeMode.Stretch)
        self.align_headings((_VALUE, _PRICE))

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Remove what is chosen on Delete."""
        if event.key() == Qt.Key.Key_Delete:
            self._remove()
            return
        super().keyPressEvent(event)


class DrawerDialog(QDialog):
    """List of parts with a line to add some; each change is kept at once and can be taken back.

    Parameters
    ----------
    drawer : OwnDrawer
        The user's list.
    """

    def __init__(self, drawer: OwnDrawer, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setWindowTitle("What the drawer holds")
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self._drawer = drawer
        self._before: list[Drawer] = []
        self._resting = True
        self._heads: dict[int, TextLabel] = {}
        intro = TextLabel(_INTRO, self, wraps=True)
        self.table = _Parts(self.remove, self)
        self.table.itemChanged.connect(self._edited)
        self.table.itemSelectionChanged.connect(self._offer)
        self.told = TextLabel(self, wraps=True)
        layout = QVBoxLayout(self)
        layout.addWidget(intro)
        layout.addLayout(self._entry())
        layout.addWidget(self.table, 1)
        layout.addWidget(self.told)
        layout.addWidget(self._buttons())
        self._follow_kind()
        self._fit()
        drawer.changed.connect(self._write)
        drawer.read()
        self._write()
        self._say(drawer.complaint, bad=bool(drawer.complaint))
        self.kind.setFocus()

    def _entry(self) -> QGridLayout:
        """Line to add parts."""
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
        self.add_button.clicked.connect(self.add)
        grid = QGridLayout()
        heads = ("Kind", "Values", "Name", "Price of one")
        for column, (words, widget) in enumerate(
            zip(heads, (self.kind, self.values, self.name, self.price), strict=True)
        ):
            head = self._heads[column] = TextLabel(words, self)
            head.setBuddy(widget)
            grid.addWidget(head, 0, column)
            grid.addWidget(widget, 1, column)
        grid.addWidget(self.device, 1, _VALUE, 1, 2)
        grid.addWidget(self.add_button, 1, len(heads))
        grid.setColumnStretch(_VALUE, 4)
        grid.setColumnStretch(_NAME, 2)
        grid.setColumnStretch(_PRICE, 1)
        return grid

    def _buttons(self) -> QDialogButtonBox:
        box = QDialogButtonBox(QDialogButtonBox.StandardButton.Close, self)

        def offer(words: str, act: Callable[[], object]) -> QPushButton:
            button = QPushButton(words, self)
            button.setAutoDefault(False)
            button.clicked.connect(lambda: act())
            box.addButton(button, QDialogButtonBox.ButtonRole.ActionRole)
            return button

        self.remove_button = offer("&Remove", self.remove)
        self.back_button = offer("&Take back", self.take_back)
        self.import_button = offer("&Import…", self.ask_import)
        self.export_button = offer("&Export…", self.ask_export)
        close = box.button(QDialogButtonBox.StandardButton.Close)
        close.setAutoDefault(False)
        box.rejected.connect(self.reject)
        return box

    def add(self) -> None:
        """Add what stands in the line."""
        kind = self._kind
        device = kind == DEVICE
        try:
            parts = parts_from(
                kind,
                "" if device else self.values.text(),
                self.device.currentText() if device else self.name.text().strip(),
                self.price.text().strip(),
                bare="mm" if KINDS[kind][0] == "m" else "",
            )
            made = self._drawer.parts.with_parts(parts)
        except InputError as error:
            self._say(sentence_start(refusal(error)), bad=True)
            return
        count = len(made.parts) - len(self._drawer.parts.parts)
        if self._keep(made, f"{_counted(count)} added." if count else "There already."):
            self.values.clear()
            (self.device if device else self.values).setFocus()

    def remove(self) -> None:
        """Remove the chosen parts."""
        chosen = self._chosen()
        if chosen:
            self._keep(self._drawer.parts.without(chosen), f"{_counted(len(chosen))} removed.")

    def take_back(self) -> None:
        """Take the last change back."""
        if self._before:
            last = self._before[-1]
            if self._keep(last, "Taken back."):
                del self._before[-2:]
                self._offer()

    def ask_import(self) -> None:
        """Add the parts of a file."""
        file = ask_open(self, "Add parts from a list", _CSV)
        if file is None:
            return
        try:
            parts = drawer_from_text(read_text(file)).parts
            made = self._drawer.parts.with_parts(parts)
        except InputError as error:
            self._say(sentence_start(refusal(error)), bad=True)
            return
        count = len(made.parts) - len(self._drawer.parts.parts)
        self._keep(made, f"{_counted(count)} added of {len(parts)} in {file.name}.")

    def ask_export(self) -> None:
        """Write all parts into a file."""
        asked = ask_save(self, "Save the list of parts", _CSV, "drawer.csv")
        if asked is None:
            return
        file = asked[0] if asked[0].suffix else asked[0].with_suffix(".csv")
        try:
            write_whole(file, drawer_text(self._drawer.parts.parts).encode("utf-8"))
        except InputError as error:
            self._say(sentence_start(refusal(error)), bad=True)
            return
        tell_saved(self, file)

    @property
    def _kind(self) -> str:
        return tuple(KINDS)[self.kind.currentIndex()]

    def _chosen(self) -> list[DrawerPart]:
        rows = {index.row() for index in self.table.selectionModel().selectedRows()}
        return [part for row, part in enumerate(self._drawer.parts.parts) if row in rows]

    def _keep(self, parts: Drawer, said: str) -> bool:
        """Keep another list; tells why where that fails."""
        before = self._drawer.parts
        try:
            self._drawer.keep(parts)
        except InputError as error:
            self._say(sentence_start(refusal(error)), bad=True)
            return False
        if parts != before:
            self._before.append(before)
        self._offer()
        self._say(said)
        return True

    def _edited(self, item: QTableWidgetItem) -> None:
        """Take a cell that was typed over, or put back what stood there."""
        part = self._drawer.parts.parts[item.row()]
        texts = [part.kind, part.value_text, part.name, part.price_text]
        if item.text().strip() == texts[item.column()]:
            return
        texts[item.column()] = item.text().strip()
        kind, value, name, price = texts
        try:
            bare = "mm" if KINDS[kind][0] == "m" else ""
            new = part_from(kind, value, name, price, bare=bare)
            made = self._drawer.parts.without([part]).with_parts([new])
        except InputError as error:
            self._write()
            self._say(sentence_start(refusal(error)), bad=True)
            return
        if not self._keep(made, "Changed."):
            self._write()

    def _follow_kind(self, _index: int = 0) -> None:
        device = self._kind == DEVICE
        for widget in (self.values, self.name):
            widget.setVisible(not device)
        self.device.setVisible(device)
        self._heads[_VALUE].setText("Device class" if device else "Values")
        self._heads[_NAME].setVisible(not device)
        self._say()
        self.values.setPlaceholderText(_HINTS.get(KINDS[self._kind][0], ""))

    def _write(self) -> None:
        parts = self._drawer.parts.parts
        with QSignalBlocker(self.table):
            self.table.setRowCount(len(parts))
            for row, part in enumerate(parts):
                texts = (part.kind.capitalize(), part.value_text, part.name, part.price_text)
                for column, text in enumerate(texts):
                    self.table.setItem(row, column, _cell(part, column, text))
            self.table.resizeRowsToContents()
        self._offer()
        if self._resting:
            self._say()

    def _offer(self) -> None:
        """Offer what can be done now."""
        self.remove_button.setEnabled(bool(self._chosen()))
        self.back_button.setEnabled(bool(self._before))
        self.export_button.setEnabled(bool(self._drawer.parts.parts))

    def _say(self, text: str = "", *, bad: bool = False) -> None:
        self._resting = not text
        count = _counted(len(self._drawer.parts.parts))
        self.told.setText(text or f"{count}. Double click a value, name or price to change it.")
        set_style_property(self.told, "severity", "stop" if bad else "note")

    def _fit(self) -> None:
        screen = self.screen().availableSize()
        self.resize(min(_SIZE[0], screen.width() - _GAP), min(_SIZE[1], screen.height() - _GAP))


def _cell(part: DrawerPart, column: int, text: str) -> QTableWidgetItem:
    item = QTableWidgetItem(text)
    if column in (_VALUE, _PRICE):
        item.setTextAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
    fixed = column == _KIND or (part.kind == DEVICE and column != _PRICE)
    if fixed:
        item.setFlags(item.flags() & ~Qt.ItemFlag.ItemIsEditable)
    return item


def _counted(count: int) -> str:
    return f"{count} part" if count == 1 else f"{count} parts"


def show_drawer(drawer: OwnDrawer, parent: QWidget) -> DrawerDialog:
    """Open the list over a window."""
    dialog = DrawerDialog(drawer, parent.window())
    dialog.open()
    return dialog
