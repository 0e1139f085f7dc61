"""Strips to lay along the formers: where windings start and end [mm]."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from burstwise.core.assembly.winding import FORMER_END
from burstwise.core.coil.geometry import PrimaryGeometry
from burstwise.core.report.sheet import Paragraph, Picture
from burstwise.core.report.template_page import (
    BORDER,
    HEIGHT,
    MOST_PAGES,
    OVERLAP,
    WIDTH,
    line_svg,
    page_svg,
    rulers,
    words_svg,
)

_STRIP: Final = 40.0
"""Width of a strip with marks."""


@dataclass(frozen=True, slots=True)
class Mark:
    """Place along a winding's axis with its words [mm]."""

    at: float
    words: str
    strong: bool = False


def secondary_marks(length: float, turns: float) -> list[Mark]:
    """Ends of the former and of a winding of some length on it, and a scale between."""
    bare = 1e3 * FORMER_END
    marks = [
        Mark(0.0, "end of the former", True),
        Mark(bare, "start: foot, to BASE", True),
        Mark(bare + length, f"end: turn {turns:.0f}, to the top load", True),
        Mark(2 * bare + length, "end of the former", True),
    ]
    return sorted([*marks, *_scale(bare, length)], key=lambda mark: mark.at)


def _scale(start: float, length: float) -> Iterator[Mark]:
    """A mark each 10 mm of a winding, with its distance from the winding's start."""
    for step in range(10, math.floor(length - 4.0), 10):
        yield Mark(start + step, f"{step} mm" if step % 50 == 0 else "")


def primary_marks(primary: PrimaryGeometry) -> list[Mark]:
    """Crossings of a helical primary with one line along its axis."""
    pitch = 1e3 * primary.pitch
    marks = [Mark(0.0, "start", True)]
    named = max(math.ceil(3.0 / pitch), 1)
    marks += [
        Mark(turn * pitch, f"{turn}" if turn % named == 0 else "")
        for turn in range(1, math.ceil(primary.turns))
    ]
    if primary.tap is not None:
        marks.append(Mark(primary.tap * pitch, f"tap, turn {primary.tap:g}", True))
    marks.append(Mark(primary.turns * pitch, f"end, turn {primary.turns:g}", True))
    return sorted(marks, key=lambda mark: mark.at)


def strips(strips: Sequence[tuple[str, list[Mark]]]) -> Iterator[Paragraph | Picture]:
    """Strips to lay along the formers, cut into pieces where they are longer than a page."""
    room, tall = WIDTH - BORDER, HEIGHT - BORDER - 14.0
    pieces: list[tuple[str, list[Mark], float, float]] = []
    for title, marks in strips:
        length = marks[-1].at
        count = max(math.ceil((length - OVERLAP) / (tall - OVERLAP)), 1)
        for piece in range(count):
            start = piece * (tall - OVERLAP)
            name = f"{title}, {piece + 1} of {count}" if count > 1 else title
            pieces.append((name, marks, start, min(start + tall, length)))
    a_page = int(room // _STRIP)
    pages = math.ceil(len(pieces) / a_page)
    if pages > MOST_PAGES:
        yield Paragraph(f"Strips for the windings' ends would take {pages} pages; use a tape.")
        return
    for first in range(0, len(pieces), a_page):
        drawn = list(rulers())
        for column, (name, marks, start, end) in enumerate(pieces[first : first + a_page]):
            drawn += _strip(BORDER + 2.0 + column * _STRIP, name, marks, start, end)
        yield Picture(
            page_svg(drawn),
            "Strips to lay along the formers: where each winding starts and ends; the turns of a "
            "helical primary where they cross one line along its axis. Pieces of one strip lie "
            f"{OVERLAP:g} mm over one another, mark on mark.",
            real=True,
        )


def _strip(
    left: float, name: str, marks: Sequence[Mark], start: float, end: float
) -> Iterator[str]:
    foot = HEIGHT - BORDER - 6.0

    def up(at: float) -> float:
        return foot - (at - start)

    yield line_svg((left, up(start)), (left, up(end)), 0.3)
    yield words_svg((left, up(end) - 2.0), name, 3.2)
    joints = [start + OVERLAP] if start > 0.0 else []
    joints += [end - OVERLAP] if end < marks[-1].at else []
    for at in joints:
        yield line_svg((left, up(at)), (left + _STRIP - 6.0, up(at)), 0.15, "2 2")
    for mark in marks:
        if start <= mark.at <= end:
            reach, width = (14.0, 0.4) if mark.strong else (5.0, 0.2)
            yield line_svg((left, up(mark.at)), (left + reach, up(mark.at)), width)
            if mark.words:
                # Ends of former and winding lie close: the words stand behind their line.
                yield words_svg((left + reach + 1.0, up(mark.at) + 0.9), mark.words, 2.3)
