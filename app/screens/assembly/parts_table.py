"""Bill of materials as a table."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QAbstractItemView,
    QHeaderView,
    QTableWidget,
    QTableWidgetItem,
    QWidget,
)

from core.assembly.part import Part

_HEADS: Final = ("Ref.", "Part", "Value", "Kind", "Tol.", "Must have", "Why")
_WIDTHS: Final = (52, 160, 84, 150, 62, 250, 250)


class PartsTable(QTableWidget):
    """One row per part; long words wrap, nothing is cut off."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(0, len(_HEADS), parent)
        self.setHorizontalHeaderLabels(_HEADS)
        self.setAccessibleName("Bill of materials")
        self.verticalHeader().hide()
        self.setWordWrap(True)
        self.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        self.setVerticalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        for column, width in enumerate(_WIDTHS):
            self.setColumnWidth(column, width)
        head = self.horizontalHeader()
        head.setDefaultAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)
        head.setSectionResizeMode(5, QHeaderView.ResizeMode.Stretch)
        head.setSectionResizeMode(6, QHeaderView.ResizeMode.Stretch)
        head.sectionResized.connect(self.resizeRowsToContents)

    def show_parts(self, parts: Sequence[Part]) -> None:
        """Replace the rows; the place in the table stays."""
        self.setRowCount(len(parts))
        for row, part in enumerate(parts):
            cells = (
                part.reference,
                part.title,
                part.value_text or "–",
                part.kind,
                part.tolerance_text or "–",
                "\n".join(need.text for need in part.requirements) or "–",
                part.why,
            )
            for column, text in enumerate(cells):
                item = QTableWidgetItem(text)
                item.setTextAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignTop)
                self.setItem(row, column, item)
        self.resizeRowsToContents()
