"""Table of what the coil comes to, with the tabulated second opinion and validity."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from PySide6.QtCore import Qt
from PySide6.QtGui import QColor
from PySide6.QtWidgets import (
    QHeaderView,
    QTableWidget,
    QTableWidgetItem,
    QVBoxLayout,
    QWidget,
)

from burstwise.app.screens.coil.work import CoilState
from burstwise.app.theme import Theme, Tokens
from burstwise.app.widgets.text_label import TextLabel, set_tip
from burstwise.core.coil.coil_values import Origin
from burstwise.core.coil.resolve import ResolvedCoil, secondary_geometry
from burstwise.core.coil.summary import CoilConstants
from burstwise.core.coil.wire import winding_time
from burstwise.core.design.document import Design
from burstwise.core.units import percent, shown

VALIDITY = (
    "Q and R: copper alone, a real Q is lower. f0: a thick former takes 1 to 3 % off. Breakout: "
    "±5 % in dry air, less with points. By table: a second opinion. All are estimates."
)
_SAMPLES = ("0.000 MHz", "0.000 MHz", "measured")
"""Texts that the columns after the first have room for."""
_SAME = 5e-4
_COLUMNS = ("Quantity", "In use", "Computed", "Remark")


@dataclass(frozen=True, slots=True)
class Line:
    """One row: words, value in use, computed value, origin or remark, tip of the remark."""

    words: str
    value: str
    computed: str = ""
    remark: str = ""
    tip: str = ""


def lines(state: CoilState) -> tuple[Line, ...]:
    """Rows of the table for a coil."""
    coil = state.coil
    rows = list(_electrical(coil))
    if coil.constants is not None:
        rows += _computed_only(coil.constants)
        rows += _making(coil.constants, state.design)
    return tuple(rows)


def _electrical(coil: ResolvedCoil) -> Iterator[Line]:
    found = coil.constants
    yield _pair("Resonance f0", coil, "resonance", "Hz")
    if found is not None:
        table = found.table
        yield Line("f0 by table", shown(table.resonance, "Hz"), "", _signed(table.difference))
        ratio = f"{found.second_mode / found.resonance:.2f} f0"
        yield Line("Second mode", shown(found.second_mode, "Hz"), "", ratio)
    yield _pair("L1, primary", coil, "primary_inductance", "H")
    yield _pair("L2, lumped", coil, "secondary_inductance", "H")
    yield _pair("C2, lumped", coil, "secondary_capacitance", "F")
    if found is not None:
        tabulated = found.table.capacitance
        difference = _signed(tabulated / found.secondary_capacitance - 1.0)
        yield Line("C2 by table", shown(tabulated, "F"), "", difference)
    yield _pair("M, mutual", coil, "mutual_inductance", "H")
    yield _pair("Coupling k", coil, "coupling", "")
    yield _pair("Q, no breakout", coil, "quality_factor", "")
    yield _pair("R1 at f0", coil, "primary_resistance", "Ω")
    yield _pair("R2 at f0", coil, "secondary_resistance", "Ω")
    yield _pair("Breakout, peak", coil, "breakout_voltage", "V")


def _signed(ratio: float) -> str:
    return percent(ratio, decimals=1, signed=True)


def _computed_only(found: CoilConstants) -> Iterator[Line]:
    yield Line("R2, dc", shown(found.secondary_resistance_dc, "Ω"))
    yield Line("L2 at low f", shown(found.secondary_inductance_dc, "H"))
    yield Line("k at low f", shown(found.coupling_dc, ""))
    per_kilovolt = 1e3 * found.base_current_per_top_volt
    yield Line("Base current/kV", shown(per_kilovolt, "A"))
    per_turn = found.turn_voltage * found.breakout_voltage
    yield Line("Turn to turn", shown(per_turn, "V"), "", "breakout")


def _making(found: CoilConstants, design: Design) -> Iterator[Line]:
    winding = secondary_geometry(design.coil.geometry)
    size = f"{winding.length / winding.mean_diameter:.2f} D"
    yield Line("Winding length", shown(winding.length, "m"), "", size)
    yield Line("Secondary wire", shown(found.secondary_wire_length, "m"))
    yield Line("Secondary mass", shown(1e3 * found.secondary_copper_mass, "g"), "", "copper")
    yield Line("Primary length", shown(found.primary_wire_length, "m"))
    yield Line("Primary mass", shown(1e3 * found.primary_copper_mass, "g"), "", "copper")
    minutes = winding_time(winding.turns) / 60.0
    yield Line("Winding time", f"{minutes:.0f} min", "", "estimate")


def _pair(words: str, coil: ResolvedCoil, name: str, unit: str) -> Line:
    value, origin = float(getattr(coil, name)), coil.origin(name)
    mark = "" if origin is Origin.COMPUTED else origin.value
    if coil.constants is None:
        return Line(words, shown(value, unit), "", mark)
    computed = float(getattr(coil.constants, name))
    same = abs(value / computed - 1.0) < _SAME
    apart = "" if same else f"{_signed(value / computed - 1.0)} from the computed value"
    return Line(words, shown(value, unit), shown(computed, unit), mark, apart)


class ResultsPanel(QWidget):
    """The rows, and what the figures are good for; findings stand beside every screen.

    Parameters
    ----------
    theme : Theme
        Colours, followed when they change.
    """

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._tokens = theme.tokens
        self.lines: tuple[Line, ...] = ()
        self.table = QTableWidget(0, len(_COLUMNS), self)
        self.table.setHorizontalHeaderLabels(_COLUMNS)
        self.table.setAccessibleName("Values of the coil")
        self.table.verticalHeader().hide()
        self.table.verticalHeader().setDefaultSectionSize(24)
        self.table.setEditTriggers(QTableWidget.EditTrigger.NoEditTriggers)
        self.table.setShowGrid(False)
        self.table.setTabKeyNavigation(False)
        header = self.table.horizontalHeader()
        header.setStyleSheet("QHeaderView::section { padding: 4px 3px; }")
        header.setSectionResizeMode(QHeaderView.ResizeMode.Fixed)
        header.setSectionResizeMode(0, QHeaderView.ResizeMode.Stretch)
        for column, sample in enumerate(_SAMPLES, start=1):
            metrics = self.table.fontMetrics()
            words = (sample, _COLUMNS[column])
            room = max(metrics.horizontalAdvance(text) for text in words)
            self.table.setColumnWidth(column, room + 8)
        self.table.setTextElideMode(Qt.TextElideMode.ElideRight)
        self.note = TextLabel(VALIDITY, self, wraps=True, role="muted")
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 6, 0, 0)
        layout.addWidget(self.table, 1)
        layout.addWidget(self.note)
        theme.changed.connect(self.recolour)

    def show_state(self, state: CoilState) -> None:
        """Show a coil; only cells that change are written."""
        self.lines = lines(state)
        if self.table.rowCount() != len(self.lines):
            self.table.setRowCount(len(self.lines))
        for row, line in enumerate(self.lines):
            for column, text in enumerate((line.words, line.value, line.computed, line.remark)):
                self._write(row, column, text)
            remark = self.table.item(row, 3)
            if remark is not None:
                set_tip(remark, line.tip)

    def value(self, words: str) -> str:
        """Text of the value in use in the row of these words."""
        return next(line.value for line in self.lines if line.words == words)

    def recolour(self, tokens: Tokens) -> None:
        """Take the colours of a look."""
        self._tokens = tokens
        for row in range(self.table.rowCount()):
            for column in range(self.table.columnCount()):
                item = self.table.item(row, column)
                if item is not None:
                    item.setForeground(self._ink(column))

    def _ink(self, column: int) -> QColor:
        return QColor(self._tokens.text if column < 2 else self._tokens.muted)

    def _write(self, row: int, column: int, text: str) -> None:
        item = self.table.item(row, column)
        if item is None:
            item = QTableWidgetItem(text)
            if column in (1, 2):
                item.setTextAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
            item.setForeground(self._ink(column))
            self.table.setItem(row, column, item)
        elif item.text() != text:
            item.setText(text)
