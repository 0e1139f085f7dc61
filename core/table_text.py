"""Tables as text: titles with units, lines of cells.

What stands in a file or a clipboard is anybody's, so nothing here takes longer than in proportion
to the text.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterable, Iterator
from typing import Final, NamedTuple

_LONGEST_CELL: Final = 2**31 - 1
"""Longest cell that the reader takes [characters]; left to itself it fails beyond 131,072."""


_FORMULA_MARKS: Final = tuple("=+-@|\t\r\n＝＋－＠")
"""What makes a spreadsheet take a cell for a formula, wide forms included.

Source: OWASP, CSV Injection, from memory; the bar starts a call of another program in old ones."""
_WITH_UNIT: Final = re.compile(r"[-+][\d.,]++(?:[eE][-+]?\d++)?+ ?[A-Za-zΩµμ°%/]*+")


class Title(NamedTuple):
    """Title of a column; `unit` is None where it names none."""

    name: str
    unit: str | None


class Line(NamedTuple):
    """A line of cells: number of its first line in the text, source text, and cells."""

    number: int
    source: str
    cells: list[str]


def table_lines(text: str, *, separator: str) -> Iterator[Line]:
    r"""Lines of cells, blanks around a cell removed; any kind of line end will do.

    An apostrophe that `csv_text` has put before a text is taken away again.

    Examples
    --------
    >>> [line.cells for line in table_lines("1; 2 \r3;4", separator=";")]
    [['1', '2'], ['3', '4']]
    >>> next(table_lines('1;"a;b"', separator=";"))
    Line(number=1, source='1;"a;b"', cells=['1', 'a;b'])
    """
    csv.field_size_limit(_LONGEST_CELL)
    lines = text.splitlines()
    reader = csv.reader((f"{line}\n" for line in lines), delimiter=separator, skipinitialspace=True)
    before = 0
    for cells in reader:
        source = "\n".join(lines[before : reader.line_num])
        yield Line(before + 1, source, [_as_written(cell.strip()).strip() for cell in cells])
        before = reader.line_num


def csv_text(rows: Iterable[Iterable[object]], *, separator: str = ",") -> str:
    """Text of a table for a spreadsheet, which will take no cell of it for a formula.

    A text that begins as a formula does gets an apostrophe before it; numbers, with a unit or
    without, stay as they are, and so does a dash. None is an empty cell. Line ends within a cell
    become the plain one.

    Parameters
    ----------
    rows : iterable of iterable
        Numbers and texts.
    separator : str
        Between cells.

    Examples
    --------
    >>> print(csv_text([["name", "offset"], ["=A1", -0.5], ["spark", "-12 mV"]]), end="")
    name,offset
    '=A1,-0.5
    spark,-12 mV
    """
    stream = io.StringIO()
    writer = csv.writer(stream, delimiter=separator, lineterminator="\n")
    writer.writerows([_harmless(cell) for cell in row] for row in rows)
    return stream.getvalue()


def _harmless(cell: object) -> object:
    if not isinstance(cell, str):
        return cell
    text = cell.replace("\r\n", "\n").replace("\r", "\n")
    return f"'{text}" if _begins_formula(text.lstrip("'")) else text


def _as_written(cell: str) -> str:
    """Text that `_harmless` was given."""
    return cell[1:] if cell[:1] == "'" and _begins_formula(cell.lstrip("'")) else cell


def _begins_formula(text: str) -> bool:
    if not text.startswith(_FORMULA_MARKS) and not text.lstrip().startswith(_FORMULA_MARKS):
        return False
    return text != "-" and _WITH_UNIT.fullmatch(text) is None and not _is_number(text)


def _is_number(text: str) -> bool:
    try:
        float(text)
    except ValueError:
        return False
    return True


def split_title(title: str, *, opening: str = "[(", closing: str = "])") -> Title | None:
    """Name and unit of a column's title, None where brackets do not match.

    Parameters
    ----------
    title : str
        As the header has it, e.g. ``"shunt rms [mV]"``.
    opening, closing : str
        Marks that a unit may stand between.

    Examples
    --------
    >>> split_title(" shunt rms [mV] "), split_title("duty"), split_title("duty [%")
    (Title(name='shunt rms', unit='mV'), Title(name='duty', unit=None), None)
    >>> split_title("CH1 (probe) [V]")
    Title(name='CH1 (probe)', unit='V')
    """
    text = title.strip()
    if text[-1:] not in tuple(closing):
        return None if any(mark in text for mark in opening) else Title(text, None)
    before = max(text.rfind(mark, 0, -1) for mark in closing)
    places = [text.find(mark, before + 1) for mark in opening]
    begin = min((place for place in places if place >= 0), default=-1)
    if begin < 0:
        return None
    return Title(text[:begin].strip(), text[begin + 1 : -1].strip())
