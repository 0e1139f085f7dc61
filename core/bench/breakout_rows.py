"""What the lengths of the discharge say about the rows of the table."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from itertools import groupby
from typing import Final

from burstwise.core.bench.readings import Column, Reading
from burstwise.core.findings import Finding, caution, note
from burstwise.core.units import shown

_SAME_DUTY: Final = 0.03
_NONE: Final = (-1.0, 1)
"""Below every entry of a length and the row's place, which counts downwards from 0."""
_READ_TO: Final = 0.1
"""Part of a length that two readings of it may differ by; common practice, no source."""


def length_findings(rows: Sequence[Reading]) -> tuple[Finding, ...]:
    """Rows below the onset of breakout, and lengths that fall while the supply rises.

    Examples
    --------
    >>> cold, hot = Reading(supply=12, breakout_length=0.0), Reading(supply=24, breakout_length=0.1)
    >>> [item.code for item in length_findings([cold, hot])]
    ['rows-below-breakout']
    """
    told = [row for row in rows if row.supply is not None and row.breakout_length is not None]
    return (*_below_onset(told), *_falling(told))


def _below_onset(rows: Sequence[Reading]) -> list[Finding]:
    quiet = [row for row in rows if row.breakout_length == 0.0]
    if not quiet or len(quiet) == len(rows):
        return []
    lines = ", ".join(str(row.line) for row in quiet)
    return [
        note(
            "rows-below-breakout",
            Column.BREAKOUT_LENGTH.label,
            f"Without a discharge: line{'s' if len(quiet) > 1 else ''} {lines}. A discharge loads "
            "the coil, so rows below its onset say little about what comes above it; leave them "
            "out of a forecast and keep them for a calibration.",
        )
    ]


def _falling(rows: Sequence[Reading]) -> list[Finding]:
    said = []
    for row, longest in zip(rows, _longest_below(rows), strict=True):
        supply, length = _supply(row), _length(row)
        if longest is None or length >= (1.0 - _READ_TO) * _length(longest):
            continue
        said.append(
            caution(
                "breakout-falls",
                f"line {row.line}, {Column.BREAKOUT_LENGTH.label}",
                f"Line {row.line}: the discharge is {shown(length, 'm')} long at "
                f"{shown(supply, 'V')}, shorter than the {shown(_length(longest), 'm')} at "
                f"{shown(_supply(longest), 'V')}. It left from another place, the carrier was "
                "pulled off, or a cell is wrong.",
            )
        )
    return said


def _longest_below(rows: Sequence[Reading]) -> list[Reading | None]:
    """For each row the longest discharge at a lower supply and about the same duty.

    Rows are taken in order of supply. A binary tree over the duties holds the longest discharge
    so far in each of its branches, so that a table takes little longer than its rows.
    """
    duties = sorted({_duty(row) for row in rows})
    tree: list[tuple[float, int]] = [_NONE] * (2 * len(duties))
    longest: list[Reading | None] = [None] * len(rows)
    by_supply = sorted(range(len(rows)), key=lambda at: _supply(rows[at]))
    for _, group in groupby(by_supply, key=lambda at: _supply(rows[at])):
        places = tuple(group)
        for at in places:
            duty = _duty(rows[at])
            begin = bisect_left(duties, (1.0 - _SAME_DUTY) * duty)
            end = bisect_right(duties, (1.0 + _SAME_DUTY) * duty)
            _, first = _highest(tree, begin, end)
            longest[at] = None if first > 0 else rows[-first]
        for at in places:
            entry = (_length(rows[at]), -at)
            branch = len(duties) + bisect_left(duties, _duty(rows[at]))
            while branch > 0 and entry > tree[branch]:
                tree[branch] = entry
                branch //= 2
    return longest


def _highest(tree: Sequence[tuple[float, int]], begin: int, end: int) -> tuple[float, int]:
    """Highest entry of the leaves from `begin` to before `end`."""
    found = _NONE
    left, right = begin + len(tree) // 2, end + len(tree) // 2
    while left < right:
        if left % 2:
            found = max(found, tree[left])
            left += 1
        if right % 2:
            right -= 1
            found = max(found, tree[right])
        left, right = left // 2, right // 2
    return found


def _supply(row: Reading) -> float:
    return row.supply or 0.0


def _length(row: Reading) -> float:
    return row.breakout_length or 0.0


def _duty(row: Reading) -> float:
    return 1.0 if row.duty is None else row.duty
