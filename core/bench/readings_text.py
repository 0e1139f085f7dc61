"""Readings from text: a CSV file or cells pasted from a spreadsheet, and back to text."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from burstwise.core.bench.breakout_rows import length_findings
from burstwise.core.bench.cells import SCALES, cell_value, is_bare_number
from burstwise.core.bench.readings import Column, Reading, ReadingsTable
from burstwise.core.disk import read_text
from burstwise.core.errors import FileError, InputError, one_line
from burstwise.core.findings import Finding, caution
from burstwise.core.table_text import Line, split_title, table_lines
from burstwise.core.units import quantity, shown

_NOTE_NAMES: Final = frozenset({"note", "notes", "remark", "remarks", "comment", "comments"})
_NAMES: Final[dict[str, Column]] = {
    "supply": Column.SUPPLY,
    "supply voltage": Column.SUPPLY,
    "duty": Column.DUTY,
    "duty cycle": Column.DUTY,
    "shunt": Column.SHUNT_RMS,
    "shunt rms": Column.SHUNT_RMS,
    "shunt mean": Column.SHUNT_MEAN,
    "shunt average": Column.SHUNT_MEAN,
    "shunt peak": Column.SHUNT_PEAK,
    "drain peak": Column.DRAIN_PEAK,
    "drain spike": Column.DRAIN_PEAK,
    "drain": Column.DRAIN_PEAK,
    "heat sink": Column.HEAT_SINK_TEMPERATURE,
    "heat sink temperature": Column.HEAT_SINK_TEMPERATURE,
    "temperature": Column.HEAT_SINK_TEMPERATURE,
    "breakout": Column.BREAKOUT_LENGTH,
    "breakout length": Column.BREAKOUT_LENGTH,
}

_KNOWN: Final = _NOTE_NAMES | _NAMES.keys()
NOTE: Final = "note"
"""Stands for the remarks where a title is given a column."""


@dataclass(frozen=True, slots=True)
class _Heading:
    column: Column
    scale: float
    unit: str = ""


@dataclass(frozen=True, slots=True)
class Layout:
    """Which column of a text is which, and its cells as text.

    Attributes
    ----------
    columns : mapping of int to Column
        By position.
    units : mapping of int to str
        Units of these columns as the header writes them.
    note_at : int or None
        Position of the remarks.
    titles : tuple of str
        All titles as written.
    rows : tuple of tuple of str
        Cells below the header.
    unknown : tuple of str
        Titles that name no column of the table and were given none.
    kept : frozenset of int
        Positions of titles without a column whose cells go to the remarks.
    """

    columns: Mapping[int, Column]
    units: Mapping[int, str]
    note_at: int | None
    titles: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    unknown: tuple[str, ...] = ()
    kept: frozenset[int] = frozenset()

    def with_unit(self, place: int, cell: str) -> str:
        """Cell that means the same without its header: a bare number takes the header's unit."""
        unit, column = self.units[place], self.columns[place]
        if not is_bare_number(cell) or unit in ("", "-", column.unit):
            return cell
        return f"{cell} {unit}"


def load_readings(path: str | Path) -> ReadingsTable:
    """Readings of a CSV file.

    Raises
    ------
    FileError
        The file cannot be opened, is no ordinary one or too long, is not text, or its
        header does not name a usable column.
    """
    text = read_text(path)
    return parse_readings(text, name=str(path))


def parse_readings(text: str, *, name: str = "readings") -> ReadingsTable:
    r"""Readings of a text whose first filled line names the columns with their units.

    Columns may be separated by tabs (as a spreadsheet copies them), semicolons or commas, and
    numbers may have a decimal comma unless the comma separates the columns. A cell may carry its
    own unit (``345 mV``), which then counts instead of the header's.

    Parameters
    ----------
    text : str
        Header and rows, e.g. ``supply [V];shunt rms [mV];drain peak [V]``.
    name : str
        What to call the text in an error.

    Returns
    -------
    ReadingsTable
        Every filled line as a row; cells that cannot be used are None in the row, stay in the
        row's text, and have a finding that names row and column.

    Raises
    ------
    FileError
        No header, no supply column, or a column named twice or with a wrong unit.

    Examples
    --------
    >>> table = parse_readings("supply [V];shunt rms [mV]\n12,5;345\n24;oops\n")
    >>> table.rows[0].supply, table.rows[0].shunt_rms
    (12.5, 0.345)
    >>> table.rows[1].shunt_rms is None, table.findings[0].code
    (True, 'reading-not-usable')
    """
    records = _records(text)
    if not records:
        raise FileError(name, "an empty text", "a header line and rows", line=1)
    header = records[0]
    headings, note_at, unknown = _headings(header, name=name)
    findings = [_unknown_column(title) for title in unknown]
    rows: list[Reading] = []
    for record in records[1:]:
        row, said = _reading(record, headings, note_at=note_at)
        if len(record.cells) > len(header.cells):
            said.append(_extra_cells(record, record.cells[len(header.cells) :]))
        rows.append(row)
        findings.extend(said)
        findings.extend(contradictions(row))
    return ReadingsTable(tuple(rows), (*findings, *length_findings(rows)))


def text_layout(
    text: str, *, name: str = "readings", given: Mapping[str, str] | None = None
) -> Layout:
    """Layout of a text whose first filled line names the columns.

    Parameters
    ----------
    text : str
        Header and rows.
    name : str
        What to call the text in an error.
    given : mapping, optional
        Columns of titles that name none, by title: the value of a `Column`, or `NOTE`.

    Raises
    ------
    FileError
        As `parse_readings`.
    """
    records = _records(text)
    if not records:
        raise FileError(name, "an empty text", "a header line and rows", line=1)
    given = given or {}
    headings, note_at, unknown = _headings(records[0], name=name, given=given)
    titles = records[0].cells
    return Layout(
        columns={place: heading.column for place, heading in headings.items()},
        units={place: heading.unit for place, heading in headings.items()},
        note_at=note_at,
        titles=tuple(records[0].cells),
        rows=tuple(tuple(record.cells) for record in records[1:]),
        unknown=tuple(title for title in unknown if title not in given),
        kept=frozenset(place for place, title in enumerate(titles) if given.get(title) == NOTE),
    )


def _records(text: str) -> list[Line]:
    first = next((line for line in text.splitlines() if line.strip()), "")
    separator = next((mark for mark in ("\t", ";", ",") if mark in first), ";")
    return [line for line in table_lines(text, separator=separator) if any(line.cells)]


def unknown_titles(text: str) -> tuple[str, ...]:
    r"""Titles in the first filled line of a text that name no column; none if it holds numbers.

    Examples
    --------
    >>> unknown_titles("Vin [V];shunt rms [mV];meter\n12;345;B\n")
    ('Vin [V]', 'meter')
    >>> unknown_titles("12;345\n")
    ()
    """
    records = _records(text)
    titles = records[0].cells if records else []
    if any(is_bare_number(title) for title in titles):
        return ()
    return tuple(title for title in titles if title and _plain(title) not in _KNOWN)


def _plain(title: str) -> str:
    """Name of a title without its unit, as the table of names has it."""
    parts = split_title(title)
    return " ".join((parts.name if parts else title).lower().replace("_", " ").split())


def _headings(
    header: Line, *, name: str, given: Mapping[str, str] | None = None
) -> tuple[Mapping[int, _Heading], int | None, list[str]]:
    headings: dict[int, _Heading] = {}
    note_at: int | None = None
    unknown: list[str] = []
    for position, title in enumerate(header.cells):
        parts, plain = split_title(title), _plain(title)
        chosen = (given or {}).get(title, NOTE)
        if plain in _NOTE_NAMES and note_at is None:
            note_at = position
        elif parts and (plain in _NAMES or chosen != NOTE):
            column = _NAMES[plain] if plain in _NAMES else Column(chosen)
            if any(heading.column is column for heading in headings.values()):
                limit = "a header that names each column once"
                raise FileError(name, f"'{title}'", limit, line=header.number)
            scale = _scale(column, parts.unit, name=name, header=header, title=title)
            headings[position] = _Heading(column, scale, parts.unit or "")
        elif title:
            unknown.append(title)
    if Column.SUPPLY not in {heading.column for heading in headings.values()}:
        limit = "a header with the column 'supply [V]' and others such as 'shunt rms [V]'"
        raise FileError(name, f"'{header.source}'", limit, line=header.number)
    return headings, note_at, unknown


def _scale(column: Column, unit: str | None, *, name: str, header: Line, title: str) -> float:
    written = unit or ""
    if written in SCALES.get(column, {}):
        return SCALES[column][written]
    try:
        return quantity(f"1 {written}".strip(), column.unit, field=title)
    except InputError as error:
        limit = f"a unit of the column '{column.label}' such as {column.unit or '%'}"
        raise FileError(name, f"'{title}'", limit, line=header.number) from error


def _reading(
    record: Line, headings: Mapping[int, _Heading], *, note_at: int | None
) -> tuple[Reading, list[Finding]]:
    values: dict[str, float] = {}
    said: list[Finding] = []
    cells, line = record.cells, record.number
    for position, heading in headings.items():
        cell = cells[position] if position < len(cells) else ""
        try:
            number = cell_value(cell, heading.column, scale=heading.scale)
            if number is not None:
                values[heading.column.value] = number
        except InputError as error:
            said.append(_not_usable(line, heading.column, error))
    if Column.SUPPLY.value not in values and not said:
        where = f"line {line}, {Column.SUPPLY.label}"
        text = f"Line {line} has no supply voltage, so the row cannot be used; its text is kept."
        said.append(caution("reading-not-usable", where, text))
    remark = cells[note_at] if note_at is not None and note_at < len(cells) else ""
    return Reading(**values, note=remark, line=line, text=record.source), said


def _unknown_column(title: str) -> Finding:
    return caution(
        "column-not-known",
        one_line(title),
        f"Column '{one_line(title)}' is not one that the table knows; its cells are kept "
        "as text and not used.",
    )


def _not_usable(line: int, column: Column, error: InputError) -> Finding:
    return caution(
        "reading-not-usable",
        f"line {line}, {column.label}",
        f"Line {line}: {error}. The cell is kept as text and not used.",
    )


def _extra_cells(record: Line, cells: list[str]) -> Finding:
    line = record.number
    return caution(
        "reading-extra-cells",
        f"line {line}",
        f"Line {line} has {len(cells)} more cells than the header names "
        f"({one_line(', '.join(cells))}); they are kept as text and not used. "
        "A decimal comma between comma-separated columns does this.",
    )


def contradictions(row: Reading) -> list[Finding]:
    """Figures of one row that no waveform can have together."""
    said: list[Finding] = []
    rms, mean, peak = row.shunt_rms, row.shunt_mean, row.shunt_peak
    if rms is not None and mean is not None and abs(mean) > 1.02 * rms:
        said.append(
            caution(
                "mean-above-rms",
                f"line {row.line}, {Column.SHUNT_MEAN.label}",
                f"Line {row.line}: the mean {shown(mean, 'V')} exceeds the RMS value "
                f"{shown(rms, 'V')}, which no waveform can do; the columns may be swapped, or the "
                "meter's RMS range ends below the carrier frequency or is coupled to alternating "
                "current only.",
            )
        )
    if rms is not None and peak is not None and peak < 0.98 * rms:
        said.append(
            caution(
                "peak-below-rms",
                f"line {row.line}, {Column.SHUNT_PEAK.label}",
                f"Line {row.line}: the peak {shown(peak, 'V')} is below the RMS value "
                f"{shown(rms, 'V')}, which no waveform can do.",
            )
        )
    return said
