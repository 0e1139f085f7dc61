"""Tables of a comparison."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from typing import Any, Final

import numpy as np
from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QHeaderView,
    QTableWidget,
    QTableWidgetItem,
    QWidget,
)

from burstwise.app.widgets.text_label import set_tip
from burstwise.app.widgets.words import unbroken
from burstwise.app.widgets.wrapped_table import WrappedTable
from burstwise.core.report.compare import CompareRow

_HEAD_LINES: Final = (24, 24, 24, 24, 16)
"""Longest line of a design's name in a head, by the number of designs [characters]."""


def finite(values: Any) -> Any:
    """Values with a gap where a device runs away."""
    return np.where(np.isfinite(values), values, np.nan)


def compare_table(parent: QWidget) -> QTableWidget:
    """Empty table whose words wrap."""
    table = WrappedTable(parent=parent)
    table.horizontalHeader().setDefaultAlignment(Qt.AlignmentFlag.AlignLeft)
    return table


def fill(table: QTableWidget, names: Sequence[str], rows: Sequence[CompareRow]) -> None:
    """Rows of a comparison; what is not the same in all designs stands in bold."""
    table.setColumnCount(1 + len(names))
    table.setRowCount(len(rows))
    line = _HEAD_LINES[min(len(names), len(_HEAD_LINES) - 1)]
    table.setHorizontalHeaderLabels(["", *(textwrap.fill(name, line) for name in names)])
    table.horizontalHeader().setSectionResizeMode(QHeaderView.ResizeMode.Stretch)
    for number, row in enumerate(rows):
        for column, text in enumerate((row.title, *row.texts)):
            item = QTableWidgetItem(unbroken(text))
            if column and len(set(row.texts)) > 1:
                font = item.font()
                font.setBold(True)
                item.setFont(font)
            set_tip(item, text)
            table.setItem(number, column, item)
    table.resizeRowsToContents()
