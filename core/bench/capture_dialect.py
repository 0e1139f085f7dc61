"""Shape of a scope's CSV file: preamble, separators, columns, units, sample interval."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import product
from typing import Final

from burstwise.core.errors import FileError, InputError
from burstwise.core.table_text import split_title
from burstwise.core.units import quantity

_SEPARATORS: Final = ("\t", ";", ",", None)
_NUMBER: Final = re.compile(r"^[-+]?(?:\d++\.?\d*+|\.\d++)(?:[eE][-+]?\d++)?$")
_UNITS: Final[dict[str, str]] = {
    "s": "s", "sec": "s", "second": "s", "seconds": "s",
    "v": "V", "volt": "V", "volts": "V",
    "a": "A", "amp": "A", "amps": "A", "ampere": "A", "amperes": "A",
    "w": "W", "watt": "W", "watts": "W",
}  # fmt: skip
_PREFIXES: Final[dict[str, float]] = {
    "": 1.0, "k": 1e3, "m": 1e-3, "u": 1e-6, "µ": 1e-6, "μ": 1e-6, "n": 1e-9, "p": 1e-12,
}  # fmt: skip
_INTERVAL: Final = re.compile(
    r"^(?:x\s*)?(?:(?:sampl(?:e|ing)\s*)?(?:interval|period|increment|step)|increment|"
    r"delta\s*t|dt|time\s*(?:step|increment|interval))\b",
    re.I,
)
_RATE: Final = re.compile(r"^sampl(?:e|ing)\s*(?:rate|frequency)\b", re.I)
_COUNTER: Final = re.compile(
    r"^(?:#|n|no|nr|index|point|points|sample|samples|sequence|row)\.?$", re.I
)
_TIME: Final = re.compile(r"^(?:t|time|seconds?|zeit|temps|tempo)(?:[\s_-].*)?$", re.I)
_ROWS_OF_DATA: Final = 2
"""Rows of numbers that are data and not a preamble, so that a line which ends them is broken."""
_QUOTED_COMMA: Final = re.compile(r'"\s*[-+]?\d+,\d')


@dataclass(frozen=True, slots=True)
class Dialect:
    """How to read the numbers of one file.

    Attributes
    ----------
    skip : int
        Lines before the first line of numbers.
    separator : str or None
        Between columns; None for blanks.
    decimal_comma : bool
        Numbers have a comma for the point.
    width : int
        Number of cells in a line.
    columns : tuple of int
        Positions of the numeric columns.
    names, units : tuple of str
        Of these columns, units as written.
    interval : float or None
        Sample interval that the preamble states [s].
    """

    skip: int
    separator: str | None
    decimal_comma: bool
    width: int
    columns: tuple[int, ...]
    names: tuple[str, ...]
    units: tuple[str, ...]
    interval: float | None

    def cells(self, line: str) -> list[str]:
        """Cells of a line, with decimal points and without quotation marks."""
        return split_cells(line, self.separator, decimal_comma=self.decimal_comma)

    @property
    def counts_samples(self) -> bool:
        """First column only numbers the samples."""
        return bool(_COUNTER.match(self.names[0])) or self.units[0].lower() == "sequence"

    @property
    def names_time(self) -> bool:
        """First column is called a time, or has its unit."""
        return bool(_TIME.match(self.names[0])) or unit_scale(self.units[0])[0] == "s"


def is_number(cell: str) -> bool:
    """Cell holds a plain decimal number.

    Examples
    --------
    >>> is_number("-1.5E-06"), is_number("1e"), is_number("nan")
    (True, False, False)
    """
    return _NUMBER.match(cell) is not None


def split_cells(line: str, separator: str | None, *, decimal_comma: bool) -> list[str]:
    """Cells of a line; a separator within quotation marks does not count.

    Examples
    --------
    >>> split_cells('"0,5","1,5"', ",", decimal_comma=True)
    ['0.5', '1.5']
    """
    if separator == "," and decimal_comma:
        line = re.sub(r'"\s*,\s*"', '";"', line)
        separator = ";"
    cells = [cell.strip().strip("\"'").strip() for cell in line.split(separator)]
    return [cell.replace(",", ".") for cell in cells] if decimal_comma else cells


def unit_scale(unit: str) -> tuple[str, float]:
    """SI unit and scale of a unit as scopes write it; unknown units stay as they are.

    Examples
    --------
    >>> unit_scale("mV"), unit_scale("Second"), unit_scale("(us)"), unit_scale("div")
    (('V', 0.001), ('s', 1.0), ('s', 1e-06), ('div', 1.0))
    """
    plain = unit.strip().strip("()[]").strip()
    if plain.lower() in _UNITS:
        return _UNITS[plain.lower()], 1.0
    if len(plain) > 1 and plain[0] in _PREFIXES and plain[1:].lower() in _UNITS:
        return _UNITS[plain[1:].lower()], _PREFIXES[plain[0]]
    return plain, 1.0


def sniffed_dialect(lines: Sequence[str], *, name: str) -> Dialect:
    """Dialect of a file from its first lines.

    The separator and the decimal mark are those that make the longest block of lines, ending
    with the last one, that hold numbers in the same columns.

    Parameters
    ----------
    lines : sequence of str
        First lines of the file, complete ones only.
    name : str
        What to call the file in an error.

    Raises
    ------
    FileError
        No separator makes columns of numbers; names the line where they should go on.

    Examples
    --------
    >>> found = sniffed_dialect(["Time;Drain", "ms;V", "0,0;1,5", "0,1;2,5"], name="run.csv")
    >>> found.skip, found.separator, found.decimal_comma, found.names, found.units
    (2, ';', True, ('Time', 'Drain'), ('ms', 'V'))
    """
    filled = [number for number, line in enumerate(lines) if line.strip()]
    if not filled:
        raise FileError(name, "an empty file", "a capture with columns of numbers", line=1)
    quoted_comma = any(_QUOTED_COMMA.search(line) for line in lines)
    blocks = [
        _numeric_block(lines, filled, separator, decimal_comma=comma)
        for separator, comma in product(_SEPARATORS, (False, True))
        if separator != "," or comma == quoted_comma
    ]
    best = max(blocks, key=lambda block: (block.count * bool(block.columns), len(block.columns)))
    if not best.columns:
        at = next((at for at in filled if not re.search(r"\d", lines[at])), filled[-1])
        limit = "columns of numbers separated by commas, semicolons, tabs or blanks"
        raise FileError(name, f"'{lines[at].strip()[:60]}'", limit, line=at + 1)
    if best.broken is not None:
        limit = "numbers in the same columns as the lines around it"
        text = f"'{lines[best.broken].strip()[:60]}'"
        raise FileError(name, text, limit, line=best.broken + 1)
    separator, comma, columns, start = best.separator, best.decimal_comma, best.columns, best.start
    head = [split_cells(lines[at], separator, decimal_comma=comma) for at in filled[:start]]
    first = filled[start]
    names, units = _titles(head, columns)
    side = [split_cells(lines[at], separator, decimal_comma=comma) for at in filled[start:]]
    held = frozenset(columns)
    outside = [[cell for at, cell in enumerate(row) if at not in held] for row in side]
    return Dialect(
        skip=first,
        separator=separator,
        decimal_comma=comma,
        width=Counter(len(row) for row in side if len(row) > columns[-1]).most_common(1)[0][0],
        columns=columns,
        names=names,
        units=units,
        interval=_interval([*head, *(row for row in outside if any(row))]),
    )


@dataclass(frozen=True, slots=True)
class _Block:
    """Lines with numbers in the same columns, as one separator and decimal mark see them."""

    separator: str | None
    decimal_comma: bool
    columns: tuple[int, ...]
    start: int
    count: int
    broken: int | None


def _numeric_block(
    lines: Sequence[str], filled: Sequence[int], separator: str | None, *, decimal_comma: bool
) -> _Block:
    sets: list[frozenset[int]] = []
    for at in filled:
        cells = split_cells(lines[at], separator, decimal_comma=decimal_comma)
        sets.append(frozenset(i for i, cell in enumerate(cells) if is_number(cell)))
    # The end of the sample is data, whatever the preamble looks like.
    columns = Counter(sets[len(sets) // 2 :]).most_common(1)[0][0]
    fits = [bool(columns) and columns <= numeric for numeric in sets]
    last = max((at for at, fit in enumerate(fits) if fit), default=0)
    start = last
    while start > 0 and fits[start - 1]:
        start -= 1
    exact = [at for at in range(start) if sets[at] == columns]
    broken = None
    if len(exact) >= _ROWS_OF_DATA:
        broken = filled[next(at for at in range(exact[0], start) if sets[at] != columns)]
    return _Block(separator, decimal_comma, tuple(sorted(columns)), start, sum(fits), broken)


def _titles(
    head: Sequence[Sequence[str]], columns: tuple[int, ...]
) -> tuple[tuple[str, ...], tuple[str, ...]]:
    width = max(columns) + 1
    rows = [row for row in head if len(row) >= width and any(row[at] for at in columns)]
    units = [""] * len(columns)
    if rows and all(_is_unit(rows[-1][at]) for at in columns):
        last = rows.pop()
        units = [last[at].strip("()[]") for at in columns]
    names = [rows[-1][at] for at in columns] if rows else [""] * len(columns)
    for position, title in enumerate(names):
        parts = split_title(title)
        if parts and parts.unit is not None and not units[position]:
            names[position], units[position] = parts.name, parts.unit
    # A preamble line of numbers above unnamed columns is no title.
    named = (title if title and not is_number(title) else "" for title in names)
    numbered = (title or f"column {at + 1}" for at, title in zip(columns, named, strict=True))
    return tuple(numbered), tuple(units)


def _is_unit(cell: str) -> bool:
    plain = cell.strip("()[] ").lower()
    return unit_scale(cell)[0] in _UNITS.values() or plain in ("", "sequence")


def _interval(rows: Sequence[Sequence[str]]) -> float | None:
    for key, written in _pairs(rows):
        try:
            if _INTERVAL.match(key):
                return quantity(_with_key_unit(key, written), "s", low=1e-15, high=1e3)
            if _RATE.match(key):
                text = re.sub(r"(?i)sa/s$|s/s$", "Hz", _with_key_unit(key, written))
                return 1.0 / quantity(text, "Hz", low=1e-3, high=1e15)
        except InputError:
            continue
    return None


def _with_key_unit(key: str, written: str) -> str:
    parts = split_title(key)
    return f"{written} {parts.unit}" if parts and parts.unit and is_number(written) else written


def _pairs(rows: Sequence[Sequence[str]]) -> Iterator[tuple[str, str]]:
    """Cells with what stands beside them, below them, or behind their colon or equals sign."""
    for number, row in enumerate(rows):
        for at, cell in enumerate(row):
            key, rest = _key_and_value(cell.lstrip("#%! "))
            if rest:
                yield key, rest
                continue
            beside = row[at + 1] if at + 1 < len(row) else ""
            unit = row[at + 2] if at + 2 < len(row) and unit_scale(row[at + 2])[0] == "s" else ""
            yield key, f"{beside} {unit}".strip()
            below = rows[number + 1] if number + 1 < len(rows) else []
            if at < len(below):
                yield key, below[at]


def _key_and_value(cell: str) -> tuple[str, str]:
    """What stands before the first colon or equals sign, and what behind it."""
    first = min((at for mark in ":=" if (at := cell.find(mark)) >= 0), default=len(cell))
    return cell[:first].rstrip(), cell[first + 1 :].strip()
