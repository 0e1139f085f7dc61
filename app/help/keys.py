"""All keys in one list: those of the menus as they are set, and those of fields and pictures."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from PySide6.QtCore import Qt
from PySide6.QtGui import QAction, QKeySequence
from PySide6.QtWidgets import (
    QDialog,
    QDialogButtonBox,
    QHeaderView,
    QMainWindow,
    QMenu,
    QTableWidget,
    QTableWidgetItem,
    QVBoxLayout,
    QWidget,
)

IN_FIELDS: Final = (
    ("Up, Down", "A field: one step; with Shift, or Page Up and Page Down, ten"),
    ("Escape", "A field: back to the value in force; a drag: back to where it began"),
    ("Left, Right", "A plot or map: move the reading line; Escape hides it"),
    ("Ctrl+arrows", "Duty plots, map, coil: move the point or the part chosen"),
    ("Return", "The map: go to the point under the cursor"),
    ("Home", "A plot that can be zoomed: show everything again"),
    ("Ctrl+E", "A plot: save it as picture or data"),
    ("F1", "A figure: where it comes from; elsewhere: the guide to this screen"),
)
"""Keys of what is no menu."""


def menu_keys(window: QMainWindow) -> tuple[tuple[str, str], ...]:
    """Keys and words of the window's menus, in their order."""
    found = []
    for head in window.menuBar().actions():
        menu = head.menu()
        if isinstance(menu, QMenu):
            title = head.text().replace("&", "")
            found += [(keys, f"{title}: {words}") for keys, words in _keyed(menu)]
    return tuple(found)


def _keyed(menu: QMenu) -> Iterator[tuple[str, str]]:
    for action in menu.actions():
        keys = keys_of(action)
        if keys:
            yield keys, action.text().partition("\t")[0].replace("&", "")


def keys_of(action: QAction) -> str:
    """Keys of an action as the system writes them, or those that stand in its text."""
    own = action.shortcut().toString(QKeySequence.SequenceFormat.NativeText)
    return own or action.text().partition("\t")[2]


class KeysDialog(QDialog):
    """Table of the keys, closed by Escape."""

    def __init__(self, window: QMainWindow) -> None:
        super().__init__(window)
        self.setWindowTitle("Keys")
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        lines = (*menu_keys(window), *IN_FIELDS)
        self.table = QTableWidget(len(lines), 2, self)
        self.table.setAccessibleName("Keys")
        self.table.setHorizontalHeaderLabels(["Keys", "What they do"])
        self.table.verticalHeader().hide()
        self.table.setEditTriggers(QTableWidget.EditTrigger.NoEditTriggers)
        self.table.setWordWrap(True)
        for row, line in enumerate(lines):
            for column, words in enumerate(line):
                self.table.setItem(row, column, QTableWidgetItem(words))
        self.table.resizeColumnToContents(0)
        self.table.horizontalHeader().setSectionResizeMode(1, QHeaderView.ResizeMode.Stretch)
        buttons = QDialogButtonBox(QDialogButtonBox.StandardButton.Close, self)
        buttons.rejected.connect(self.reject)
        layout = QVBoxLayout(self)
        layout.addWidget(self.table, 1)
        layout.addWidget(buttons)
        self.resize(620, 460)
        self.table.resizeRowsToContents()


def show_keys(window: QMainWindow) -> QWidget:
    """Open the table of the keys."""
    dialog = KeysDialog(window)
    dialog.open()
    return dialog
