"""View of the readings with the clipboard and the keys of a spreadsheet."""

from __future__ import annotations

from typing import Final

from PySide6.QtCore import QModelIndex, Qt, Signal
from PySide6.QtGui import QGuiApplication, QKeyEvent, QKeySequence
from PySide6.QtWidgets import (
    QAbstractItemDelegate,
    QAbstractItemView,
    QHeaderView,
    QTableView,
    QWidget,
)

from burstwise.app.screens.bench.headings_dialog import ask_columns
from burstwise.app.screens.bench.table_model import NOTE_COLUMN, ReadingsModel
from burstwise.core.bench.pasted import cells_block, pasted_titles, unknown_headings_note

_LEAST_HEIGHT: Final = 210
"""Height with the headings and a few rows in view; where there is less the page scrolls [px]."""


class ReadingsView(QTableView):
    """Table in which typing starts at once, Return goes down, Ctrl+V takes a spreadsheet's cells.

    Parameters
    ----------
    model : ReadingsModel
        Readings.

    `pasted` says after a paste which of its headings name no column, empty where all do.
    """

    pasted = Signal(str)

    def __init__(self, model: ReadingsModel, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.readings = model
        self.setModel(model)
        self.setAccessibleName("Readings")
        self.setEditTriggers(
            QAbstractItemView.EditTrigger.AnyKeyPressed
            | QAbstractItemView.EditTrigger.DoubleClicked
            | QAbstractItemView.EditTrigger.EditKeyPressed
        )
        self.setMinimumHeight(_LEAST_HEIGHT)
        self.setTabKeyNavigation(True)
        self.setWordWrap(False)
        self.setAlternatingRowColors(True)
        across = self.horizontalHeader()
        across.setDefaultAlignment(Qt.AlignmentFlag.AlignCenter)
        across.setMinimumSectionSize(44)
        across.setStyleSheet("QHeaderView::section { padding: 4px 3px; }")
        across.setSectionResizeMode(QHeaderView.ResizeMode.Interactive)
        self.verticalHeader().setDefaultSectionSize(self.fontMetrics().height() + 8)
        self.fit_columns()

    def fit_columns(self) -> None:
        """Widths after the headers; the note gets more."""
        metrics = self.fontMetrics()
        for column in range(self.readings.columnCount()):
            title = str(self.readings.headerData(column, Qt.Orientation.Horizontal) or "")
            words = max(metrics.horizontalAdvance(line) for line in title.split("\n"))
            cell = "000.0 mV" if "Shunt" in title else "■ 0.00"
            self.setColumnWidth(column, max(words + 8, metrics.horizontalAdvance(cell) + 10))
        self.setColumnWidth(NOTE_COLUMN, metrics.horizontalAdvance("0" * 14))
        # What follows from the numbers stands beside them; the note may be scrolled to.
        header = self.horizontalHeader()
        header.setStretchLastSection(True)
        header.moveSection(header.visualIndex(NOTE_COLUMN), self.readings.columnCount() - 1)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Clipboard, clearing, and Return that goes down a row."""
        if event.matches(QKeySequence.StandardKey.Paste):
            self.paste()
        elif event.matches(QKeySequence.StandardKey.Copy):
            self.copy()
        elif event.matches(QKeySequence.StandardKey.Cut):
            self.copy()
            self.clear()
        elif event.key() in (Qt.Key.Key_Delete, Qt.Key.Key_Backspace):
            self.clear()
        elif event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            # While a cell is edited its own Return comes first and moves on when it is taken.
            if self.state() != QAbstractItemView.State.EditingState:
                self._down()
        else:
            super().keyPressEvent(event)

    def paste(self) -> None:
        """Lay the clipboard's cells over the table from the current cell on."""
        text = QGuiApplication.clipboard().text()
        at = self.currentIndex()
        row, column = (at.row(), at.column()) if at.isValid() else (0, 0)
        given = ask_columns(self, pasted_titles(text))
        if text and given is not None and self.readings.paste(text, row, column, given=given):
            self.setCurrentIndex(self.readings.index(row, column))
            self.pasted.emit(unknown_headings_note(text, given=given))

    def copy(self) -> None:
        """Put the selected cells into the clipboard, as typed."""
        places = [(at.row(), at.column()) for at in self.selectedIndexes()]
        if not places:
            return
        rows, columns = [row for row, _ in places], [column for _, column in places]
        text = cells_block(
            self.readings.rows,
            min(rows),
            max(rows),
            min(columns),
            min(max(columns), NOTE_COLUMN),
        )
        QGuiApplication.clipboard().setText(text)

    def clear(self) -> None:
        """Empty the selected cells."""
        cells = {
            (at.row(), at.column()): ""
            for at in self.selectedIndexes()
            if at.column() <= NOTE_COLUMN
        }
        if cells:
            self.readings.change(cells, text="Clear readings")

    def remove_rows(self) -> None:
        """Take the rows of the selection away."""
        rows = {at.row() for at in self.selectedIndexes()}
        if rows:
            self.readings.remove(rows)

    def closeEditor(self, editor: QWidget, hint: QAbstractItemDelegate.EndEditHint) -> None:
        """Go down after a cell was taken with Return."""
        super().closeEditor(editor, hint)
        if hint == QAbstractItemDelegate.EndEditHint.SubmitModelCache:
            self._down()

    def _down(self) -> None:
        at = self.currentIndex()
        below: QModelIndex = self.readings.index(
            min(at.row() + 1, self.readings.rowCount() - 1), at.column()
        )
        self.setCurrentIndex(below)
