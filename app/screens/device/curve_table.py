"""Table of points of a datasheet's curve, typed or pasted, bound to a list of the design."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QGuiApplication, QKeyEvent, QKeySequence
from PySide6.QtWidgets import (
    QGroupBox,
    QHBoxLayout,
    QHeaderView,
    QPushButton,
    QTableWidget,
    QTableWidgetItem,
    QVBoxLayout,
    QWidget,
)

from burstwise.app.document import Document
from burstwise.app.refusals import refusal
from burstwise.app.widgets.text_label import TextLabel
from burstwise.core.errors import InputError
from burstwise.core.units import quantity, shown


@dataclass(frozen=True, slots=True)
class Column:
    """One quantity of a point: its name in the design, words and unit."""

    name: str
    title: str
    unit: str


class CurveTable(QGroupBox):
    """Rows of points with one empty row at the end; a complete set of rows becomes an edit.

    Parameters
    ----------
    document : Document
        Holder of the design.
    path : str
        Dotted path of the list.
    title, where : str
        Heading, and where a datasheet has the curve.
    columns : sequence of Column
        Quantities of a point.
    """

    def __init__(
        self,
        document: Document[Any],
        path: str,
        *,
        title: str,
        where: str,
        columns: Sequence[Column],
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(title, parent)
        self._document, self._path, self._columns = document, path, tuple(columns)
        self._filling = False
        self._last: Any = None
        hint = TextLabel(where, self, wraps=True, role="muted")
        self.table = _Cells(0, len(columns), self)
        self.table.setAccessibleName(title)
        self.table.setHorizontalHeaderLabels([c.title for c in columns])
        self.table.horizontalHeader().setSectionResizeMode(QHeaderView.ResizeMode.Stretch)
        self.table.verticalHeader().setVisible(False)
        self.table.setTabKeyNavigation(False)
        self.error = TextLabel("", self, wraps=True, role="error")
        self.error.hide()
        self.remove = QPushButton("Remove row", self)
        self.remove.clicked.connect(self.remove_row)
        self.clear = QPushButton("Clear all", self)
        self.clear.clicked.connect(lambda: self._send(()))
        self.buttons = QHBoxLayout()
        self.buttons.addWidget(self.remove)
        self.buttons.addWidget(self.clear)
        self.buttons.addStretch(1)
        layout = QVBoxLayout(self)
        layout.addWidget(hint)
        layout.addWidget(self.table, 1)
        layout.addWidget(self.error)
        layout.addLayout(self.buttons)
        self.lines = layout
        self.table.itemChanged.connect(lambda _item: self._edited())
        self.table.pasted.connect(self.paste)
        document.changed.connect(self._follow)
        self._follow()

    def paste(self, text: str) -> None:
        """Take rows of a spreadsheet or text: one point a line, split by tab, semicolon or space.

        They are added below the present points.
        """
        lines = [line.replace(";", "\t").split("\t") for line in text.strip().splitlines()]
        rows = [line if len(line) > 1 else line[0].split() for line in lines]
        self._filling = True
        start = self.table.rowCount() - 1
        for row in rows:
            self._write_row(start, [cell.strip() for cell in row[: len(self._columns)]])
            start += 1
            self.table.setRowCount(start + 1)
        self._filling = False
        self._edited()

    def remove_row(self) -> None:
        """Remove the current row."""
        row = self.table.currentRow()
        if 0 <= row < self.table.rowCount() - 1:
            self._filling = True
            self.table.removeRow(row)
            self._filling = False
            self._edited()

    def _follow(self, _changed: object = None) -> None:
        points = self._document.value(self._path)
        if points == self._last:
            return
        self._last = points
        self._filling = True
        self.table.setRowCount(len(points) + 1)
        for row, point in enumerate(points):
            texts = [shown(getattr(point, column.name), column.unit) for column in self._columns]
            self._write_row(row, texts)
        self._write_row(len(points), [""] * len(self._columns))
        self._filling = False
        self._complain("")

    def _write_row(self, row: int, texts: Sequence[str]) -> None:
        self.table.setRowCount(max(self.table.rowCount(), row + 1))
        for column, text in enumerate(texts):
            item = QTableWidgetItem(text)
            item.setTextAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
            self.table.setItem(row, column, item)

    def _edited(self) -> None:
        """Send the points if every row is complete and can be read."""
        if self._filling:
            return
        points = []
        for row in range(self.table.rowCount()):
            texts = [self._text(row, column) for column in range(len(self._columns))]
            if not any(texts):
                continue
            if not all(texts):
                self._complain(f"Row {row + 1} is not complete yet; the curve stays as it was.")
                return
            try:
                points.append(
                    {
                        column.name: quantity(
                            text,
                            column.unit,
                            field=column.title,
                            bare=self._shown_unit(row, column),
                        )
                        for column, text in zip(self._columns, texts, strict=True)
                    }
                )
            except InputError as error:
                self._complain(f"Row {row + 1}: {error}")
                return
        self._send(tuple(points))

    def _send(self, points: Sequence[object]) -> None:
        try:
            self._document.edit(self._path, points, text=self.title())
        except InputError as error:
            self._complain(refusal(error))
            return
        self._complain("")
        self._last = None
        self._follow()

    def _shown_unit(self, row: int, column: Column) -> str:
        """Unit with prefix that a cell showed before it was typed over; SI in a new row."""
        if self._last is None or row >= len(self._last):
            return column.unit
        text = shown(getattr(self._last[row], column.name), column.unit)
        return text.rpartition(" ")[2] if " " in text else column.unit

    def _complain(self, text: str) -> None:
        self.error.setText(text)
        self.error.setVisible(bool(text))

    def _text(self, row: int, column: int) -> str:
        item = self.table.item(row, column)
        return "" if item is None else item.text().strip()


class _Cells(QTableWidget):
    """Cells that take a paste of several rows."""

    pasted = Signal(str)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Take a paste; Delete empties the cells chosen."""
        if event.matches(QKeySequence.StandardKey.Paste):
            self.pasted.emit(QGuiApplication.clipboard().text())
        elif event.key() == Qt.Key.Key_Delete:
            for item in self.selectedItems():
                item.setText("")
        else:
            super().keyPressEvent(event)
