"""Plain tables of the limits screen, by keyboard and with the whole sentence in reach."""

from __future__ import annotations

import math
from collections.abc import Sequence

from PySide6.QtCore import Qt
from PySide6.QtGui import QColor
from PySide6.QtWidgets import (
    QAbstractItemView,
    QHeaderView,
    QTableWidgetItem,
    QWidget,
)

from burstwise.app.screens.limits.margin_bars import MARGIN, MarginBars, share_text
from burstwise.app.theme import Theme, Tokens, mark
from burstwise.app.widgets.text_label import set_tip
from burstwise.app.widgets.wrapped_table import WrappedTable
from burstwise.core.limits.ratings import verdict_of
from burstwise.core.units import shown


class PlainTable(WrappedTable):
    """Table of texts that selects whole rows and cannot be edited.

    Parameters
    ----------
    headings : sequence of str
        Columns.
    name : str
        What screen readers call it.
    wide : int
        Column that takes what room is left.
    """

    def __init__(
        self, headings: Sequence[str], *, name: str, wide: int, parent: QWidget | None = None
    ) -> None:
        super().__init__(headings, name=name, parent=parent)
        self.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        self.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.setShowGrid(False)
        self.setAlternatingRowColors(True)
        header = self.horizontalHeader()
        header.setSectionResizeMode(QHeaderView.ResizeMode.ResizeToContents)
        header.setSectionResizeMode(wide, QHeaderView.ResizeMode.Stretch)
        self.align_headings(column for column in range(1, len(headings)) if column != wide)
        self._wide = wide
        self._bars: int | None = None

    def draw_margins(self, theme: Theme) -> None:
        """Let the column behind the names draw bars of the margins that `show_rows` is given."""
        self._bars = 1
        self.setItemDelegateForColumn(1, MarginBars(theme, self))
        theme.changed.connect(self._redraw)

    def _redraw(self) -> None:
        self.viewport().update()

    def show_rows(
        self,
        rows: Sequence[Sequence[str]],
        *,
        colours: Sequence[str | None] = (),
        coloured: int = 0,
        tips: Sequence[str] = (),
        margins: Sequence[float] = (),
    ) -> None:
        """Replace all rows; `colours` colour one column, `margins` are drawn as bars."""
        kept = self.currentRow()
        self.setRowCount(len(rows))
        for place, row in enumerate(rows):
            for column, text in enumerate(row):
                item = QTableWidgetItem(text)
                if column != self._wide and column > 0:
                    item.setTextAlignment(
                        Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter
                    )
                if place < len(tips):
                    set_tip(item, tips[place])
                colour = colours[place] if place < len(colours) else None
                if colour is not None and column == coloured:
                    item.setForeground(QColor(colour))
                if column == self._bars and place < len(margins):
                    item.setData(MARGIN, float(margins[place]))
                    item.setData(Qt.ItemDataRole.AccessibleTextRole, share_text(margins[place]))
                self.setItem(place, column, item)
        self.resizeRowsToContents()
        if 0 <= kept < len(rows):
            self.selectRow(kept)

    def texts(self) -> list[list[str]]:
        """All texts by row."""
        return [
            [self._text(row, column) for column in range(self.columnCount())]
            for row in range(self.rowCount())
        ]

    def _text(self, row: int, column: int) -> str:
        item = self.item(row, column)
        return "" if item is None else item.text()


def margin_text(margin: float) -> str:
    """Margin with the glyph of its verdict.

    Examples
    --------
    >>> margin_text(0.5), margin_text(-0.121)
    ('● 50 %', '■ −12 %')
    """
    glyph = mark(verdict_of(margin).severity).glyph
    if math.isinf(margin):
        return f"{glyph} runs away" if margin < 0 else f"{mark(None).glyph} free"
    return f"{glyph} {shown(margin, '%', digits=2)}".replace("-", "−")


def margin_colour(margin: float, tokens: Tokens) -> str:
    """Colour of a margin's verdict."""
    return tokens.severity(verdict_of(margin).severity)


def reached_text(volts: float, *, highest: float) -> str:
    """Supply at which a rating is reached, or how far it was looked for."""
    if math.isinf(volts):
        return f"above {shown(highest, 'V', digits=3)}"
    return shown(volts, "V", digits=3)
