"""Cells as text: from a spreadsheet's clipboard or a CSV file to the table, and back."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Final

from burstwise.core.bench.readings import Column
from burstwise.core.bench.readings_text import NOTE, Layout, text_layout
from burstwise.core.design.fields import usable_words
from burstwise.core.design.readings import LONGEST_CELL, LONGEST_NOTE, MOST_ROWS, ReadingCells
from burstwise.core.errors import FileError, InputError
from burstwise.core.table_text import csv_text, table_lines

NAMES: Final = (*(column.value for column in Column), NOTE)
"""Attributes of `ReadingCells` in the order of the table's columns."""
HEADERS: Final = (*(column.header for column in Column), NOTE)
"""Headers of the same columns."""
_NAMED: Final = 4
"""Headings that a sentence names before it counts the rest."""


def with_cell(row: ReadingCells, column: int, text: str) -> ReadingCells:
    """Row with another text in a column: cut, and freed of what a cell may not hold."""
    longest = LONGEST_NOTE if NAMES[column] == "note" else LONGEST_CELL
    return row.model_copy(update={NAMES[column]: usable_words(text, longest)})


def cell_text(row: ReadingCells, column: int) -> str:
    """Text in a column of a row."""
    text: str = getattr(row, NAMES[column])
    return text


def pasted_cells(
    rows: Sequence[ReadingCells],
    text: str,
    *,
    row: int,
    column: int,
    given: Mapping[str, str] | None = None,
) -> tuple[ReadingCells, ...]:
    r"""Rows after a paste.

    A text whose first line names columns is added below the rows, each column where it belongs;
    any other is laid over the cells from the current one on, with new rows as needed. Cells under
    a title that names no column are left out, which `unknown_headings_note` says; cells without any
    title go to the note.

    Parameters
    ----------
    rows : sequence of ReadingCells
        Rows before.
    text : str
        Lines of cells, apart by tabs, semicolons or commas.
    row, column : int
        Current cell.
    given : mapping, optional
        Columns of titles that name none; see `burstwise.core.bench.readings_text.text_layout`.

    Raises
    ------
    InputError
        More rows than the table takes.

    Examples
    --------
    >>> rows = pasted_cells([], "12\t0.1\n24\t0.2\n", row=0, column=0)
    >>> [(one.supply, one.duty) for one in rows]
    [('12', '0.1'), ('24', '0.2')]
    >>> text = "supply [V];reading [mV];meter\n12,5;345;B\n"
    >>> given = {"reading [mV]": "shunt_rms", "meter": "note"}
    >>> rows = pasted_cells([], text, row=0, column=0, given=given)
    >>> rows[0].supply, rows[0].shunt_rms, rows[0].note
    ('12,5', '345 mV', 'meter: B')
    """
    named = rows_from_text(text, given=given)
    if named is not None:
        kept = tuple(rows)
        while kept and kept[-1] == ReadingCells():
            kept = kept[:-1]
        _check_count(len(kept) + len(named))
        return kept + named
    changed = list(rows)
    grid = _grid(text)
    _check_count(max(len(rows), row + len(grid)))
    for down, cells in enumerate(grid):
        while len(changed) <= row + down:
            changed.append(ReadingCells())
        for across, cell in enumerate(cells):
            place = column + across
            if place < len(NAMES):
                changed[row + down] = with_cell(changed[row + down], place, cell)
            elif cell:
                note = f"{changed[row + down].note} {cell}".strip()
                changed[row + down] = with_cell(changed[row + down], len(NAMES) - 1, note)
    return tuple(changed)


def rows_from_text(
    text: str, *, name: str = "", given: Mapping[str, str] | None = None
) -> tuple[ReadingCells, ...] | None:
    """Rows of a text with a header line; None where the first line names no column.

    Parameters
    ----------
    text : str
        Header and rows.
    name : str
        File name for an error; with a name, a text without a header is an error too.
    given : mapping, optional
        Columns of titles that name none; see `burstwise.core.bench.readings_text.text_layout`.

    Raises
    ------
    FileError
        Only with a name: no usable header.
    InputError
        More rows than the table takes.
    """
    try:
        layout = text_layout(text, name=name or "readings", given=given)
    except FileError:
        if name:
            raise
        return None
    _check_count(len(layout.rows))
    return tuple(_row(cells, layout) for cells in layout.rows)


def pasted_titles(text: str) -> tuple[str, ...]:
    r"""Titles of a pasted text that name no column; none where its first line is no header.

    Examples
    --------
    >>> pasted_titles("supply [V]\tday\n12\tMonday\n"), pasted_titles("warm\tday\n")
    (('day',), ())
    """
    try:
        return text_layout(text).unknown
    except FileError:
        return ()


def unknown_headings_note(text: str, *, given: Mapping[str, str] | None = None) -> str:
    r"""Sentence about the headings of a text that got no column, empty where there are none.

    Examples
    --------
    >>> unknown_headings_note("supply [V];shunt rsm [mV];meter\n12;345;B\n")
    "No column is called 'shunt rsm [mV]' or 'meter': their cells are left out."
    >>> unknown_headings_note("12;345\n")
    ''
    """
    unknown = [title for title in pasted_titles(text) if title not in (given or {})]
    if not unknown:
        return ""
    named = [f"'{title}'" for title in unknown[:_NAMED]]
    if len(unknown) > _NAMED:
        named.append(f"{len(unknown) - _NAMED} more")
    told = " or ".join([", ".join(named[:-1]), named[-1]] if len(named) > 1 else named)
    whose = "their" if len(named) > 1 else "its"
    return f"No column is called {told}: {whose} cells are left out."


def _check_count(rows: int) -> None:
    if rows > MOST_ROWS:
        raise InputError("The table of readings", f"{rows:,} rows", f"at most {MOST_ROWS:,} rows")


def _row(cells: Sequence[str], layout: Layout) -> ReadingCells:
    found: dict[str, str] = {}
    remarks: list[str] = []
    for place, cell in enumerate(cells):
        if not cell:
            continue
        column = layout.columns.get(place)
        if column is not None:
            found[column.value] = layout.with_unit(place, cell)
        elif place == layout.note_at:
            remarks.insert(0, cell)
        elif place in layout.kept:
            remarks.append(f"{layout.titles[place]}: {cell}")
        elif place >= len(layout.titles) or not layout.titles[place]:
            remarks.append(cell)
    row = ReadingCells()
    for number, field in enumerate(NAMES[:-1]):
        row = with_cell(row, number, found.get(field, ""))
    return with_cell(row, len(NAMES) - 1, "; ".join(remarks))


def _grid(text: str) -> list[list[str]]:
    mark = next((mark for mark in ("\t", ";") if mark in text), "\t")
    return [line.cells for line in table_lines(text, separator=mark)]


def cells_csv(rows: Sequence[ReadingCells]) -> str:
    """CSV text of the table, cells as typed; reading it back gives the same rows.

    Empty rows are left out.
    """
    filled = (row for row in rows if row != ReadingCells())
    lines = ([cell_text(row, column) for column in range(len(NAMES))] for row in filled)
    return csv_text([HEADERS, *lines])


def cells_block(rows: Sequence[ReadingCells], top: int, bottom: int, left: int, right: int) -> str:
    """Cells of a rectangle as a spreadsheet's clipboard has them, ends included."""
    lines = [
        [cell_text(row, column) for column in range(left, right + 1)]
        for row in rows[top : bottom + 1]
    ]
    return csv_text(lines, separator="\t").removesuffix("\n")
