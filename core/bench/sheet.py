"""Readings as the design keeps them, cells as typed, turned into numbers with what is wrong."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any, Final

from burstwise.core.bench.breakout_rows import length_findings
from burstwise.core.bench.cells import cell_value
from burstwise.core.bench.derived import BenchSetup
from burstwise.core.bench.instruments import Accuracy, Instruments, Shunt
from burstwise.core.bench.reached import Rating
from burstwise.core.bench.readings import Column, Reading, ReadingsTable
from burstwise.core.bench.readings_text import contradictions
from burstwise.core.design.calibrated import calibrated
from burstwise.core.design.document import Design
from burstwise.core.design.fields import usable_words
from burstwise.core.design.readings import LONGEST_NOTE, ReadingCells, Readings
from burstwise.core.errors import InputError, one_line
from burstwise.core.findings import Finding
from burstwise.core.stage.build import on_resistance_at

HOT: Final = 100.0
"""Junction temperature for the on-resistance of the derived columns, where none is given [°C]."""


@dataclass(frozen=True, slots=True)
class CellProblem:
    """A cell that cannot be used.

    Attributes
    ----------
    row : int
        Row of the sheet, from 0.
    column : Column
        Column.
    reason : str
        Why, as a sentence.
    """

    row: int
    column: Column
    reason: str


@dataclass(frozen=True, slots=True)
class Sheet:
    """Numbers behind the cells.

    Attributes
    ----------
    readings : tuple of Reading
        One per row of the sheet, empty rows included, so that places agree; `line` counts from 1.
    problems : tuple of CellProblem
        Cells that cannot be used.
    findings : tuple of Finding
        Figures that contradict each other.
    """

    readings: tuple[Reading, ...]
    problems: tuple[CellProblem, ...]
    findings: tuple[Finding, ...]

    @property
    def table(self) -> ReadingsTable:
        """Rows with a supply, for trend and fit; those whose duty cannot be read are left out."""
        unclear = {item.row + 1 for item in self.problems if item.column is Column.DUTY}
        rows = tuple(
            row for row in self.readings if row.supply is not None and row.line not in unclear
        )
        return ReadingsTable(rows, self.findings)


def sheet_of(readings: Readings) -> Sheet:
    """Numbers behind the cells of a design's readings.

    Examples
    --------
    >>> sheet = sheet_of(Readings(rows=({"supply": "24", "shunt_rms": "a lot"},)))
    >>> sheet.readings[0].supply, sheet.problems[0].column.label
    (24.0, 'shunt rms')
    """
    rows: list[Reading] = []
    problems: list[CellProblem] = []
    findings: list[Finding] = []
    for number, cells in enumerate(readings.rows):
        row, said = _row(number, cells)
        rows.append(row)
        problems += said
        findings += contradictions(row)
    return Sheet(tuple(rows), tuple(problems), (*findings, *length_findings(rows)))


def _row(number: int, cells: ReadingCells) -> tuple[Reading, list[CellProblem]]:
    values: dict[str, Any] = {}
    problems: list[CellProblem] = []
    for column in Column:
        text: str = getattr(cells, column.value)
        try:
            value = cell_value(text, column)
        except InputError as error:
            name = column.label.capitalize().replace("rms", "RMS")
            reason = f"{name} must be {error.limit}; instead received {one_line(text)}."
            problems.append(CellProblem(number, column, reason))
            continue
        if value is not None:
            values[column.value] = value
    if values and Column.SUPPLY.value not in values and not problems:
        reason = "Supply must be given; without it the row cannot be used."
        problems.append(CellProblem(number, Column.SUPPLY, reason))
    row = Reading(note=cells.note, line=number + 1)
    return replace(row, **values), problems


def cells_of(reading: Reading) -> ReadingCells:
    """Cells that stand for a row of numbers.

    Examples
    --------
    >>> cells_of(Reading(supply=24.0, shunt_rms=0.123456)).shunt_rms
    '0.12346'
    >>> cells_of(Reading(supply=24.0, duty=0.113)).duty
    '11.3 %'
    """
    found = {
        column.value: f"{100.0 * value:.5g} %" if column is Column.DUTY else f"{value:.5g}"
        for column in Column
        if (value := reading.value(column)) is not None
    }
    return ReadingCells(**found, note=usable_words(reading.note, LONGEST_NOTE))


def bench_setup(design: Design) -> BenchSetup:
    """Shunt, on-resistance and instruments of a design's readings.

    Where no hot on-resistance is given, that of the device at 100 °C is taken, known to 15 %.
    """
    readings = design.readings
    given = readings.on_resistance
    device = calibrated(design).device
    accuracy = readings.accuracy
    return BenchSetup(
        shunt=Shunt(readings.shunt_resistance, readings.shunt_tolerance),
        on_resistance=on_resistance_at(device, HOT) if given is None else given,
        on_resistance_tolerance=0.15 if given is None else 0.03,
        instruments=Instruments(
            supply=Accuracy(accuracy.supply),
            shunt_rms=Accuracy(accuracy.shunt_rms),
            shunt_mean=Accuracy(accuracy.shunt_mean),
            shunt_peak=Accuracy(accuracy.shunt_peak),
            drain_peak=Accuracy(accuracy.drain_peak),
        ),
    )


def bench_ratings(design: Design) -> dict[Rating, float]:
    """Limits that a forecast answers for, from the design's device and cooling.

    The drain voltage to be used, the continuous current, and the heat that brings the junction
    to its limit through case, interface and heat sink at the design's ambient.
    """
    device, cooling = design.device, design.cooling
    path = device.junction_to_case + cooling.interface_resistance + cooling.sink_resistance
    return {
        Rating.VOLTAGE: device.drain_voltage_rating * device.voltage_use,
        Rating.CURRENT: device.continuous_current,
        Rating.POWER: min((device.highest_junction - cooling.ambient) / path, device.power_rating),
    }
