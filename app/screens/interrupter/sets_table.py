"""Table of ranked timer sets; Return or a double click takes one."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Final

from PySide6.QtCore import (
    QAbstractTableModel,
    QModelIndex,
    QPersistentModelIndex,
    Qt,
    Signal,
)
from PySide6.QtGui import QFont, QKeyEvent, QResizeEvent
from PySide6.QtWidgets import QAbstractItemView, QHeaderView, QTableView, QWidget

from burstwise.app.screens.interrupter.roles import ROLES
from burstwise.app.theme import mark
from burstwise.app.widgets.text_label import as_tip
from burstwise.core.design.timer_wish import TimerWish
from burstwise.core.interrupter.circuits import circuit_named
from burstwise.core.interrupter.sets import TimerSet
from burstwise.core.units import percent, shown

_COLUMNS: Final = (
    "Circuit",
    "Parts",
    "Frequency",
    "Duty",
    "Score\n(low: better)",
)
_HEADER_TIPS: Final = (
    "Circuit, and the timer's kind",
    "Values, and kinds of capacitor",
    "At half travel, with its error; below it the worst case",
    "At both stops and half travel; below it the differences from the wish",
    "Score, lower is better; parts; what to know about the set",
)
_SHARES: Final = (0.185, 0.26, 0.165, 0.22, 0.17)
"""Widths of the columns over the table's."""
_UNITS: Final = {"ohm": "Ω", "F": "F"}
_TIMER: Final = " 555-type timer"
_ROOT: Final = QModelIndex()
_ALIGN: Final = Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter


def signed(value: float, unit: str) -> str:
    """Difference with its sign.

    Examples
    --------
    >>> signed(0.0012, "%"), signed(-0.3, "Hz")
    ('+0.12 %', '−300 mHz')
    """
    if unit == "%":
        return percent(value, digits=2, signed=True)
    text = shown(abs(value), unit, digits=2)
    return f"{'−' if value < 0 else '+'}{text}"


def whole(text: str) -> str:
    """Text that is not broken into lines."""
    return text.replace(" ", "\u00a0")


def set_rows(one: TimerSet, wish: TimerWish, cost: float | None = None) -> tuple[str, ...]:
    """Cells of a set: what it is, how far it is from the wish, and what its parts cost."""
    middle = (wish.duty_low + wish.duty_high) / 2
    duties = (one.duty_low.nominal, one.duty_middle, one.duty_high.nominal)
    wanted = (wish.duty_low, middle, wish.duty_high)
    errors = [100 * (duty - want) for duty, want in zip(duties, wanted, strict=True)]
    off = one.frequency.nominal / wish.top_frequency - 1
    frequency = shown(one.frequency.nominal, "Hz")
    if one.frequency_range is not None:
        frequency = f"{shown(one.frequency_range.nominal, 'Hz')} to {frequency}"
    parts = ", ".join(
        whole(f"{ROLES[part.role]} {shown(part.value, _UNITS[part.unit])}")
        + (f" {part.kind}" if part.unit == "F" else "")
        for part in one.parts
    )
    heaviest = max((f.severity for f in one.findings), key=lambda s: s.rank, default=None)
    told = f"{mark(heaviest).glyph} {len(one.findings)} {'finding'}" if heaviest else ""
    told += "s" if len(one.findings) > 1 else ""
    price = "" if cost is None else f", cost {cost:.2f}"
    return (
        f"{circuit_named(one.circuit).label}; {one.timer.label.removesuffix(_TIMER)}",
        parts,
        f"{whole(frequency)}, {whole(signed(off, '%'))}\n"
        + whole(f"{one.frequency.low:.3g} to {shown(one.frequency.high, 'Hz', digits=3)}"),
        whole(" · ".join(f"{100 * duty:.1f}" for duty in duties) + " %")
        + "\n"
        + whole(" ".join(f"{error:+.2f}".replace("-", "−") for error in errors)),
        f"{one.score:.2f}\n{one.part_count} parts{price}\n{told}".rstrip(),
    )


class SetsModel(QAbstractTableModel):
    """Sets as rows."""

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        self.sets: tuple[TimerSet, ...] = ()
        self._rows: list[tuple[str, ...]] = []

    def show_sets(
        self, sets: Sequence[TimerSet], wish: TimerWish, costs: Sequence[float | None]
    ) -> None:
        """Replace the rows."""
        self.beginResetModel()
        self.sets = tuple(sets)
        self._rows = [set_rows(one, wish, cost) for one, cost in zip(self.sets, costs, strict=True)]
        self.endResetModel()

    def rowCount(self, parent: QModelIndex | QPersistentModelIndex = _ROOT) -> int:
        """Number of sets."""
        return 0 if parent.isValid() else len(self._rows)

    def columnCount(self, parent: QModelIndex | QPersistentModelIndex = _ROOT) -> int:
        """Number of columns."""
        return 0 if parent.isValid() else len(_COLUMNS)

    def data(
        self,
        index: QModelIndex | QPersistentModelIndex,
        role: int = Qt.ItemDataRole.DisplayRole,
    ) -> Any:
        """Cell text; the findings in words as tool tip."""
        if role == Qt.ItemDataRole.DisplayRole:
            return self._rows[index.row()][index.column()]
        if role == Qt.ItemDataRole.ToolTipRole:
            findings = self.sets[index.row()].findings
            return as_tip(
                "\n".join(f"{mark(finding.severity).word}: {finding.text}" for finding in findings)
            )
        if role == Qt.ItemDataRole.TextAlignmentRole:
            return _ALIGN
        return None

    def headerData(
        self,
        section: int,
        orientation: Qt.Orientation,
        role: int = Qt.ItemDataRole.DisplayRole,
    ) -> Any:
        """Column names, and ranks at the side."""
        if role == Qt.ItemDataRole.DisplayRole:
            return _COLUMNS[section] if orientation == Qt.Orientation.Horizontal else section + 1
        if role == Qt.ItemDataRole.TextAlignmentRole:
            return _ALIGN
        if role == Qt.ItemDataRole.ToolTipRole and orientation == Qt.Orientation.Horizontal:
            return _HEADER_TIPS[section]
        return None


class SetsTable(QTableView):
    """Ranked sets; `chosen` tells the one that was taken."""

    chosen = Signal(object)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.sets_model = SetsModel(self)
        self.setModel(self.sets_model)
        self.setAccessibleName("Timer sets")
        small = QFont(self.font())
        small.setPointSizeF(small.pointSizeF() - 1)
        self.setFont(small)
        self.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        self.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.setTabKeyNavigation(False)
        self.setWordWrap(True)
        self.setTextElideMode(Qt.TextElideMode.ElideNone)
        header = self.horizontalHeader()
        header.setSectionResizeMode(QHeaderView.ResizeMode.Fixed)
        self.verticalHeader().setSectionResizeMode(QHeaderView.ResizeMode.ResizeToContents)
        self.doubleClicked.connect(self._take)

    @property
    def selected(self) -> TimerSet | None:
        """The set of the selected row."""
        rows = self.selectionModel().selectedRows()
        return self.sets_model.sets[rows[0].row()] if rows else None

    def show_sets(
        self, sets: Sequence[TimerSet], wish: TimerWish, costs: Sequence[float | None]
    ) -> None:
        """Replace the rows; the first is selected. Costs are None where they are not known."""
        self.sets_model.show_sets(sets, wish, costs)
        if sets:
            self.selectRow(0)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Share the width out by what the columns hold."""
        super().resizeEvent(event)
        width = self.viewport().width()
        for column, part in enumerate(_SHARES):
            self.setColumnWidth(column, int(width * part))

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Take the selected set on Return."""
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self._take()
            return
        super().keyPressEvent(event)

    def _take(self, *_: object) -> None:
        chosen = self.selected
        if chosen is not None:
            self.chosen.emit(chosen)
