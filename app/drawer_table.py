"""Table of the parts in the drawer: what can be typed over, and which rows are chosen."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Final

from PySide6.QtCore import QSignalBlocker, Qt
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QAbstractItemView, QHeaderView, QTableWidgetItem, QWidget

from burstwise.app.widgets.wrapped_table import WrappedTable
from burstwise.core.drawer import DEVICE, DrawerPart

TITLES: Final = ("Kind", "Value", "Name", "Price of one")
KIND, VALUE, NAME, PRICE = range(len(TITLES))


class PartsTable(WrappedTable):
    """Table of the parts; Delete asks for removal.

    Parameters
    ----------
    remove : callable
        Removes the chosen parts.
    """

    def __init__(self, remove: Callable[[], None], parent: QWidget) -> None:
        super().__init__(TITLES, name="Parts in the drawer", parent=parent)
        self._remove = remove
        self.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        self.setSelectionMode(QAbstractItemView.SelectionMode.ExtendedSelection)
        self.setEditTriggers(
            QAbstractItemView.EditTrigger.DoubleClicked
            | QAbstractItemView.EditTrigger.EditKeyPressed
        )
        header = self.horizontalHeader()
        header.setSectionResizeMode(QHeaderView.ResizeMode.ResizeToContents)
        header.setSectionResizeMode(NAME, QHeaderView.ResizeMode.Stretch)
        self.align_headings((VALUE, PRICE))

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Remove what is chosen on Delete."""
        if event.key() == Qt.Key.Key_Delete:
            self._remove()
            return
        super().keyPressEvent(event)

    @property
    def chosen(self) -> set[int]:
        """Rows chosen."""
        return {index.row() for index in self.selectionModel().selectedRows()}

    def show_parts(self, parts: Sequence[DrawerPart]) -> None:
        """Show parts, one a row."""
        with QSignalBlocker(self):
            self.setRowCount(len(parts))
            for row, part in enumerate(parts):
                texts = (part.kind.capitalize(), part.value_text, part.name, part.price_text)
                for column, text in enumerate(texts):
                    self.setItem(row, column, _cell(part, column, text))
            self.resizeRowsToContents()


def _cell(part: DrawerPart, column: int, text: str) -> QTableWidgetItem:
    item = QTableWidgetItem(text)
    if column in (VALUE, PRICE):
        item.setTextAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
    fixed = column == KIND or (part.kind == DEVICE and column != PRICE)
    if fixed:
        item.setFlags(item.flags() & ~Qt.ItemFlag.ItemIsEditable)
    return item
