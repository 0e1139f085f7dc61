"""Parts list as a table."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QAbstractItemView,
    QHeaderView,
    QTableWidgetItem,
    QWidget,
)

from burstwise.app.widgets.words import unbroken
from burstwise.app.widgets.wrapped_table import WrappedTable
from burstwise.core.assembly.part import Part

_HEADS: Final = ("Ref.", "Part", "Value", "What to buy", "Tol.", "Must have", "Why")
_WORDS: Final = frozenset({1, 3, 5, 6})
"""Columns in which lines end."""
_WIDTHS: Final = (56, 160, 96, 150, 76, 250, 250)


class PartsTable(WrappedTable):
    """One row per part; long words wrap, nothing is cut off."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(_HEADS, name="Parts list", parent=parent)
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
                part.to_buy,
                part.tolerance_text or "–",
                "\n".join(need.text for need in part.requirements) or "–",
                part.why,
            )
            for column, text in enumerate(cells):
                item = QTableWidgetItem(unbroken(text) if column in _WORDS else text)
                item.setTextAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignTop)
                self.setItem(row, column, item)
        self.resizeRowsToContents()
