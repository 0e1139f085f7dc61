"""Table whose words wrap and whose rows stay as high as their words need."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

from PySide6.QtCore import QModelIndex, QPersistentModelIndex, QSize, Qt
from PySide6.QtGui import QFontMetrics, QPainter, QResizeEvent, QShowEvent
from PySide6.QtWidgets import (
    QHeaderView,
    QStyle,
    QStyledItemDelegate,
    QStyleOptionViewItem,
    QTableWidget,
    QWidget,
)

_Index = QModelIndex | QPersistentModelIndex

LEAST_HEIGHT: Final = 150
"""Height of a table with a few rows in view; where there is less the page scrolls [px]."""
_HEADING_ROOM: Final = 20
"""Room beside the words of a heading [px]."""
_LEAST_STRETCHED: Final = 130
"""Width below which words would stand one below the other [px]."""
_ROOM: Final = 5
"""Room at the left and right of a cell beside the style's own [px]."""


class RoomyCells(QStyledItemDelegate):
    """Cells with room between them, so that figures of neighbouring columns stay apart."""

    def paint(self, painter: QPainter, option: QStyleOptionViewItem, index: _Index) -> None:
        """Draw the ground in full and the words with room beside them."""
        ground = QStyleOptionViewItem(option)
        self.initStyleOption(ground, index)
        ground.text = ""
        ground.widget.style().drawControl(
            QStyle.ControlElement.CE_ItemViewItem, ground, painter, ground.widget
        )
        inner = QStyleOptionViewItem(option)
        inner.rect = option.rect.adjusted(_ROOM, 0, -_ROOM, 0)
        inner.state &= ~QStyle.StateFlag.State_HasFocus
        super().paint(painter, inner, index)

    def sizeHint(self, option: QStyleOptionViewItem, index: _Index) -> QSize:
        """Room for the words within the cell's width."""
        inner = QStyleOptionViewItem(option)
        if option.rect.width() > 2 * _ROOM:
            inner.rect = option.rect.adjusted(_ROOM, 0, -_ROOM, 0)
        return super().sizeHint(inner, index) + QSize(2 * _ROOM, _ROOM)


class WrappedTable(QTableWidget):
    """Read-only table of words and figures that fits its rows whenever its columns change.

    Parameters
    ----------
    headings : iterable of str
        Columns; may be replaced later.
    name : str
        What screen readers call it.
    """

    def __init__(
        self, headings: Iterable[str] = (), *, name: str = "", parent: QWidget | None = None
    ) -> None:
        titles = list(headings)
        super().__init__(0, len(titles), parent)
        self.setHorizontalHeaderLabels(titles)
        self.setAccessibleName(name)
        self.setEditTriggers(QTableWidget.EditTrigger.NoEditTriggers)
        self.setMinimumHeight(LEAST_HEIGHT)
        self.setTabKeyNavigation(False)
        self.setWordWrap(True)
        self._stretched: set[int] = set()
        self.verticalHeader().hide()
        self.setItemDelegate(RoomyCells(self))

    def align_headings(self, right: Iterable[int]) -> None:
        """Put headings over their cells: those of figures on the right, the others left."""
        figures = frozenset(right)
        for column in range(self.columnCount()):
            side = Qt.AlignmentFlag.AlignRight if column in figures else Qt.AlignmentFlag.AlignLeft
            item = self.horizontalHeaderItem(column)
            if item is not None:
                item.setTextAlignment(side | Qt.AlignmentFlag.AlignVCenter)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Fit the rows to columns that became wider or narrower."""
        super().resizeEvent(event)
        self._keep_headings()
        self.resizeRowsToContents()

    def showEvent(self, event: QShowEvent) -> None:
        """Fit the rows to what was filled in while out of view."""
        super().showEvent(event)
        self._keep_headings()
        self.resizeRowsToContents()

    def _keep_headings(self) -> None:
        """A column that takes the room left is no narrower than its heading: the table scrolls."""
        header, modes = self.horizontalHeader(), QHeaderView.ResizeMode
        for column in range(header.count()):
            if header.sectionResizeMode(column) == modes.Stretch:
                self._stretched.add(column)
        if not self._stretched:
            return
        measure = QFontMetrics(header.font()).horizontalAdvance
        least = {
            column: max(
                measure(str(self.model().headerData(column, Qt.Orientation.Horizontal)))
                + _HEADING_ROOM,
                _LEAST_STRETCHED,
            )
            for column in self._stretched
        }
        others = sum(
            header.sectionSize(column)
            for column in range(header.count())
            if column not in self._stretched
        )
        room = self.viewport().width() - others
        tight = room < sum(least.values())
        for column, width in least.items():
            header.setSectionResizeMode(column, modes.Fixed if tight else modes.Stretch)
            if tight:
                header.resizeSection(column, width)
