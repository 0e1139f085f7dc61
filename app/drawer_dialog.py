"""What the drawer holds: parts seen, added, changed, removed, imported and exported."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QDialog,
    QDialogButtonBox,
    QPushButton,
    QTableWidgetItem,
    QVBoxLayout,
    QWidget,
)

from burstwise.app.drawer_entry import PartEntry, bare_unit
from burstwise.app.drawer_table import PartsTable
from burstwise.app.file_dialogs import ask_open, ask_save, show_saved
from burstwise.app.own_drawer import OwnDrawer
from burstwise.app.refusals import refusal
from burstwise.app.widgets.restyle import set_style_property
from burstwise.app.widgets.text_label import TextLabel
from burstwise.app.widgets.words import sentence_start
from burstwise.core.disk import read_text, write_whole
from burstwise.core.drawer import (
    Drawer,
    DrawerPart,
    drawer_from_text,
    drawer_text,
    part_from,
)
from burstwise.core.errors import InputError

_INTRO: Final = (
    "Parts that you have, the same for all designs. The timer's sizing, the remedies and Reach a "
    "goal choose among them where you tick it there. Whether a part stands its voltage, current "
    "and heat, the parts list of the design says."
)
_CSV: Final = "Lists of parts (*.csv)"
_SIZE: Final = (760, 560)
_GAP: Final = 40
"""Room to the edges of the screen [px]."""


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
        intro = TextLabel(_INTRO, self, wraps=True)
        self.table = PartsTable(self.remove, self)
        self.table.itemChanged.connect(self._edited)
        self.table.itemSelectionChanged.connect(self._offer)
        self.status = TextLabel(self, wraps=True)
        self.entry = PartEntry(self)
        self.entry.add_button.clicked.connect(self.add)
        self.entry.kind_changed.connect(self._say)
        layout = QVBoxLayout(self)
        layout.addWidget(intro)
        layout.addWidget(self.entry)
        layout.addWidget(self.table, 1)
        layout.addWidget(self.status)
        layout.addWidget(self._buttons())
        self._fit()
        drawer.changed.connect(self._write)
        drawer.read()
        self._write()
        self._say(drawer.complaint, bad=bool(drawer.complaint))
        self.entry.kind.setFocus()

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
        try:
            made = self._drawer.parts.with_parts(self.entry.parts())
        except InputError as error:
            self._say(sentence_start(refusal(error)), bad=True)
            return
        count = len(made.parts) - len(self._drawer.parts.parts)
        if self._keep(made, f"{_counted(count)} added." if count else "There already."):
            self.entry.begin_next()

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
        show_saved(self, file)

    def _chosen(self) -> list[DrawerPart]:
        rows = self.table.chosen
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
            new = part_from(kind, value, name, price, bare=bare_unit(kind))
            made = self._drawer.parts.without([part]).with_parts([new])
        except InputError as error:
            self._write()
            self._say(sentence_start(refusal(error)), bad=True)
            return
        if not self._keep(made, "Changed."):
            self._write()

    def _write(self) -> None:
        self.table.show_parts(self._drawer.parts.parts)
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
        self.status.setText(text or f"{count}. Double click a value, name or price to change it.")
        set_style_property(self.status, "severity", "stop" if bad else "note")

    def _fit(self) -> None:
        screen = self.screen().availableSize()
        self.resize(min(_SIZE[0], screen.width() - _GAP), min(_SIZE[1], screen.height() - _GAP))


def _counted(count: int) -> str:
    return f"{count} part" if count == 1 else f"{count} parts"


def show_drawer(drawer: OwnDrawer, parent: QWidget) -> DrawerDialog:
    """Open the list over a window."""
    dialog = DrawerDialog(drawer, parent.window())
    dialog.open()
    return dialog
