"""What the lengths of the discharge say about the rows of the table."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from core.bench.readings import Column, Reading
from core.findings import Finding, caution, note
from core.units import shown

_SAME_DUTY: Final = 0.03
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
    for row in rows:
        supply, length = _supply(row), _length(row)
        below = [one for one in rows if _supply(one) < supply and _same_duty(one, row)]
        longest = max(below, key=_length, default=row)
        if length >= (1.0 - _READ_TO) * _length(longest):
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


def _supply(row: Reading) -> float:
    return row.supply or 0.0


def _length(row: Reading) -> float:
    return row.breakout_length or 0.0


def _same_duty(one: Reading, two: Reading) -> bool:
    first, second = (1.0 if row.duty is None else row.duty for row in (one, two))
    return abs(first - second) <= _SAME_DUTY * second
