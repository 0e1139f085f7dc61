"""Table of readings: cells as typed on the left, what follows from them on the right."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any, Final

from PySide6.QtCore import QAbstractTableModel, QModelIndex, QPersistentModelIndex, Qt, Signal
from PySide6.QtGui import QColor

from burstwise.app.screens.bench.state import BenchState
from burstwise.app.theme import MARKS, Theme
from burstwise.app.widgets.text_label import as_tip
from burstwise.core.bench.derived import DerivedRow, derived_row
from burstwise.core.bench.instruments import Estimate
from burstwise.core.bench.pasted import HEADERS, NAMES, cell_text, pasted_cells, with_cell
from burstwise.core.design.readings import ReadingCells
from burstwise.core.errors import InputError
from burstwise.core.findings import Severity

_Index = QModelIndex | QPersistentModelIndex
_ROOT: Final = QModelIndex()
_STOP: Final = MARKS[Severity.STOP]
NOTE_COLUMN: Final = len(NAMES) - 1
_SHORT: Final = ("Supply", "Duty", "Shunt\nRMS", "Shunt\nmean", "Shunt\npeak", "Drain\npeak")
_TITLES: Final = (*_SHORT, "Heat\nsink", "Breakout\nlength", "Note")
_UNITS: Final = ("V", "", "V", "V", "V", "V", "°C", "m", "")


@dataclass(frozen=True, slots=True)
class _Derived:
    title: str
    unit: str
    read: Callable[[DerivedRow], Estimate]
    bounded: bool = False


DERIVED: Final = (
    _Derived("Mean\ncurrent", "A", lambda row: row.current_mean, bounded=True),
    _Derived("RMS\ncurrent", "A", lambda row: row.current_rms),
    _Derived("Input\npower", "W", lambda row: row.input_power, bounded=True),
    _Derived("Coil", "Ω", lambda row: row.coil_resistance, bounded=True),
    _Derived("Device\npower", "W", lambda row: row.device_power),
    _Derived("Effi-\nciency", "%", lambda row: row.efficiency, bounded=True),
)


class ReadingsModel(QAbstractTableModel):
    """The design's readings with one empty row below for typing.

    A text is taken as it is; one that cannot be used stays in its cell, marked by glyph, colour
    and reason. `refused` tells why an edit was not taken at all.
    """

    refused = Signal(str)

    def __init__(self, state: BenchState, theme: Theme) -> None:
        super().__init__(state)
        self._state, self._theme = state, theme
        self._rows: tuple[ReadingCells, ...] = ()
        self._derived: list[DerivedRow | None] = []
        self._problems: dict[tuple[int, int], str] = {}
        state.sheet_changed.connect(self._follow)
        theme.changed.connect(self._repaint)
        self._follow()

    @property
    def rows(self) -> tuple[ReadingCells, ...]:
        """Rows of the design."""
        return self._rows

    def problem(self, row: int, column: int) -> str:
        """Why a cell cannot be used, empty if it can."""
        return self._problems.get((row, column), "")

    def derived(self, row: int) -> DerivedRow | None:
        """What follows from a row, None where supply or RMS voltage is missing."""
        return self._derived[row] if 0 <= row < len(self._derived) else None

    # Qt

    def rowCount(self, parent: _Index = _ROOT) -> int:
        """Rows of the design and one to type into."""
        return 0 if parent.isValid() else len(self._rows) + 1

    def columnCount(self, parent: _Index = _ROOT) -> int:
        """Typed columns, then derived ones."""
        return 0 if parent.isValid() else len(NAMES) + len(DERIVED)

    def flags(self, index: _Index) -> Qt.ItemFlag:
        """Typed cells can be edited."""
        flags = Qt.ItemFlag.ItemIsEnabled | Qt.ItemFlag.ItemIsSelectable
        return flags | Qt.ItemFlag.ItemIsEditable if index.column() <= NOTE_COLUMN else flags

    def headerData(
        self, section: int, orientation: Qt.Orientation, role: int = Qt.ItemDataRole.DisplayRole
    ) -> Any:
        """Names with units; row numbers."""
        if orientation == Qt.Orientation.Vertical:
            last = section == len(self._rows)
            return ("+" if last else str(section + 1)) if role == _DISPLAY else None
        if section <= NOTE_COLUMN:
            title, unit = _TITLES[section], _UNITS[section]
            tip = HEADERS[section]
        else:
            title, unit = (
                DERIVED[section - NOTE_COLUMN - 1].title,
                DERIVED[section - NOTE_COLUMN - 1].unit,
            )
            tip = f"{title.replace(chr(10), ' ').replace('- ', '')}, follows from the readings"
        if role == _DISPLAY:
            return f"{title}\n[{unit}]" if unit else title
        return tip if role == Qt.ItemDataRole.ToolTipRole else None

    def data(self, index: _Index, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        """Text, mark and alignment of a cell."""
        row, column = index.row(), index.column()
        if role == Qt.ItemDataRole.TextAlignmentRole:
            left = (
                Qt.AlignmentFlag.AlignLeft if column == NOTE_COLUMN else Qt.AlignmentFlag.AlignRight
            )
            return left | Qt.AlignmentFlag.AlignVCenter
        if column > NOTE_COLUMN:
            return self._derived_data(row, DERIVED[column - NOTE_COLUMN - 1], role)
        text = cell_text(self._rows[row], column) if row < len(self._rows) else ""
        reason = self.problem(row, column)
        if role == Qt.ItemDataRole.EditRole:
            return text
        if role == _DISPLAY:
            return f"{_STOP.glyph} {text}" if reason else text
        if reason and role == Qt.ItemDataRole.ForegroundRole:
            return QColor(self._theme.tokens.stop)
        if role == Qt.ItemDataRole.ToolTipRole:
            return as_tip(reason) or None
        if role == Qt.ItemDataRole.AccessibleDescriptionRole:
            return reason or None
        return None

    def setData(self, index: _Index, value: Any, role: int = Qt.ItemDataRole.EditRole) -> bool:
        """Take a text as typed, as one undo step."""
        if role != Qt.ItemDataRole.EditRole or index.column() > NOTE_COLUMN:
            return False
        return self.change({(index.row(), index.column()): str(value)}, text="Reading")

    # Edits

    def change(self, cells: dict[tuple[int, int], str], *, text: str) -> bool:
        """Set some cells, as one undo step; tells whether the design took them."""
        rows = list(self._rows)
        for (row, column), written in cells.items():
            while len(rows) <= row and written:
                rows.append(ReadingCells())
            if row < len(rows):
                rows[row] = with_cell(rows[row], column, written)
        return self._edit(tuple(rows), text)

    def paste(
        self, text: str, row: int, column: int, *, given: Mapping[str, str] | None = None
    ) -> bool:
        """Lay cells of a spreadsheet over the table from a cell on."""
        place = min(column, NOTE_COLUMN)
        try:
            rows = pasted_cells(self._rows, text, row=row, column=place, given=given)
        except InputError as error:
            self.refused.emit(f"Nothing was pasted: {error}.")
            return False
        return self._edit(rows, "Paste readings")

    def remove(self, rows: set[int]) -> bool:
        """Take whole rows away."""
        kept = tuple(one for number, one in enumerate(self._rows) if number not in rows)
        return self._edit(kept, "Remove readings")

    def append(self, rows: tuple[ReadingCells, ...], *, text: str) -> bool:
        """Add rows at the end."""
        return self._edit(self._rows + rows, text)

    def _edit(self, rows: tuple[ReadingCells, ...], text: str) -> bool:
        try:
            self._state.session.document.edit("readings.rows", rows, text=text)
        except InputError as error:
            self.refused.emit(str(error))
            return False
        return True

    def _derived_data(self, row: int, column: _Derived, role: int) -> Any:
        found = self.derived(row)
        if found is None:
            return None
        told = column.read(found)
        factor = 100.0 if column.unit == "%" else 1.0
        if role == _DISPLAY:
            bound = "≤ " if column.bounded and found.mean_assumed else ""
            if column.unit in ("Ω", "%") and bound:
                bound = "~ "
            return f"{bound}{factor * told.value:.4g}"
        if role == Qt.ItemDataRole.ToolTipRole:
            spread = f"± {factor * told.uncertainty:.2g} {column.unit} (one standard deviation)"
            assumed = "; the RMS value stands for the mean that was not measured"
            return spread + (assumed if column.bounded and found.mean_assumed else "")
        if role == Qt.ItemDataRole.ForegroundRole:
            return QColor(self._theme.tokens.muted)
        return None

    def _follow(self) -> None:
        rows, sheet, setup = self._state.design.readings.rows, self._state.sheet, self._state.setup
        old, new = len(self._rows), len(rows)
        if new > old:
            # Behind the empty row, which becomes the first new one, so that the cursor stays.
            self.beginInsertRows(_ROOT, old + 1, new)
        elif new < old:
            self.beginRemoveRows(_ROOT, new, old - 1)
        self._rows = rows
        self._derived = [
            None if setup is None else derived_row(reading, setup) for reading in sheet.readings
        ]
        self._problems = {
            (item.row, NAMES.index(item.column.value)): item.reason for item in sheet.problems
        }
        if new > old:
            self.endInsertRows()
        elif new < old:
            self.endRemoveRows()
        self._repaint()

    def _repaint(self, _tokens: object = None) -> None:
        last = self.index(self.rowCount() - 1, self.columnCount() - 1)
        self.dataChanged.emit(self.index(0, 0), last)


_DISPLAY: Final = Qt.ItemDataRole.DisplayRole
_LEFT: Final = Qt.AlignmentFlag.AlignLeft
_RIGHT: Final = Qt.AlignmentFlag.AlignRight
