"""Templates at 1:1 for paper: the spiral of a flat or conical primary, and where windings end.

All lengths are millimetres. Each picture has a view box in millimetres and two check rulers, since
printers like to scale.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from html import escape
from typing import Final

from burstwise.core.assembly.winding import FORMER_END
from burstwise.core.coil.geometry import PrimaryGeometry, PrimaryShape
from burstwise.core.coil.resolve import primary_geometry, secondary_geometry
from burstwise.core.design.coil import CoilGeometry
from burstwise.core.evaluate.results import Results
from burstwise.core.report.sheet import Paragraph, Picture
from burstwise.core.units import shown

RULER: Final = 100.0
"""Length of the check rulers."""
WIDTH: Final = 184.0
HEIGHT: Final = 228.0
"""Picture on a page."""
BORDER: Final = 12.0
"""Left and lower border of a picture, in which the rulers stand."""
OVERLAP: Final = 10.0
"""What two neighbouring pages have in common."""
MOST_PAGES: Final = 24
_ROOM: Final = 6.0
"""Bare border round the spiral."""
_STRIP: Final = 40.0
"""Width of a strip with marks."""
_DEGREES: Final = 4
"""Step along a spiral and a circle."""

Point = tuple[float, float]
Line = tuple[Point, Point]

MEASURE: Final = (
    "Print at 100 %, without fitting to the page. Measure this before use: both rulers of each "
    f"page must be {RULER:g} mm long, or the page is of no use."
)


@dataclass(frozen=True, slots=True)
class Mark:
    """Place along a winding's axis with its words [mm]."""

    at: float
    words: str
    strong: bool = False


@dataclass(frozen=True, slots=True)
class Window:
    """Part of a drawing that stands on one page; x to the right, y upward [mm]."""

    left: float
    bottom: float
    width: float
    height: float

    def holds(self, at: Point) -> bool:
        """Whether a place is in it."""
        return (
            self.left <= at[0] <= self.left + self.width
            and self.bottom <= at[1] <= self.bottom + self.height
        )

    def clipped(self, line: Line) -> Line | None:
        """Part of a line within it (after Liang and Barsky).

        Examples
        --------
        >>> Window(0.0, 0.0, 2.0, 2.0).clipped(((-1.0, 1.0), (5.0, 1.0)))
        ((0.0, 1.0), (2.0, 1.0))
        """
        (x, y), (to_x, to_y) = line
        dx, dy, begin, end = to_x - x, to_y - y, 0.0, 1.0
        for step, room in (
            (-dx, x - self.left),
            (dx, self.left + self.width - x),
            (-dy, y - self.bottom),
            (dy, self.bottom + self.height - y),
        ):
            if step == 0.0:
                if room < 0.0:
                    return None
            elif step < 0.0:
                begin = max(begin, room / step)
            else:
                end = min(end, room / step)
        if begin > end:
            return None
        return (x + begin * dx, y + begin * dy), (x + end * dx, y + end * dy)


def templates(results: Results) -> tuple[Paragraph | Picture, ...]:
    """Blocks of all templates of a design; a sentence says why where there are none.

    Parameters
    ----------
    results : Results
        Evaluated design.
    """
    if results.coil.constants is None:
        return (
            Paragraph(
                "The coil is given by measured values; no dimensions are known to draw from."
            ),
        )
    return geometry_templates(results.design.coil.geometry)


def geometry_templates(geometry: CoilGeometry) -> tuple[Paragraph | Picture, ...]:
    """As `templates`, of a coil's dimensions."""
    primary, secondary = primary_geometry(geometry), secondary_geometry(geometry)
    blocks: list[Paragraph | Picture] = [Paragraph(MEASURE, "caution")]
    strips = [("Secondary", _secondary_marks(1e3 * secondary.length, secondary.turns))]
    if primary.shape is PrimaryShape.HELICAL:
        strips.append(("Primary", _primary_marks(primary)))
    else:
        blocks += _spiral(primary, 1e3 * geometry.secondary.former_diameter)
    return (*blocks, *_strips(strips))


def spiral_radius(primary: PrimaryGeometry, turns: float) -> float:
    """Radius of the conductor's middle after some turns, seen from above [mm].

    ``r = r0 + p n cos(a)`` with the pitch p along the winding's surface and its rise a.
    """
    return 1e3 * (primary.inner_radius + primary.pitch * turns * math.cos(primary.slope))


def _spiral(primary: PrimaryGeometry, former: float) -> Iterator[Paragraph | Picture]:
    half = 1e3 * primary.half_width
    size = 2 * (spiral_radius(primary, primary.turns) + half + _ROOM)
    windows = _tiles(size, size)
    across = shown(1e-3 * size, "m", digits=3)
    if len(windows) > MOST_PAGES:
        yield Paragraph(
            f"The spiral is {across} across and would take {len(windows)} pages; lay it out on the "
            "board itself, from the radii of the winding plan."
        )
        return
    lines = list(_spiral_lines(primary, half, former))
    labels = list(_spiral_labels(primary, half, former))
    rise = (
        f" Seen from above: the turns rise {math.degrees(primary.slope):g}° to the outside, and "
        f"the pitch of {shown(primary.pitch, 'm')} is measured along the slope."
        if primary.shape is PrimaryShape.CONICAL
        else ""
    )
    for number, (name, window) in enumerate(windows):
        of = f", page {name} of {len(windows)}, {across} across" if len(windows) > 1 else ""
        yield Picture(
            _page(window, lines, labels, _joints(windows, window), name if of else ""),
            f"Primary{of}. Thick: middle of the conductor; thin: its edges; cut the hole for the "
            f"former.{rise if number == 0 else ''}",
            real=True,
        )


def _spiral_lines(
    primary: PrimaryGeometry, half: float, former: float
) -> Iterator[tuple[Line, float]]:
    count = math.ceil(primary.turns * 360 / _DEGREES)
    angles = [min(step * _DEGREES / 360, primary.turns) for step in range(count + 1)]
    for off, width in ((0.0, 0.5), (-half, 0.15), (half, 0.15)):
        path = [_at(spiral_radius(primary, turns) + off, turns) for turns in angles]
        yield from ((pair, width) for pair in itertools.pairwise(path))
    yield from ((pair, 0.4) for pair in _circle(0.5 * former))
    arm = min(5.0, 0.4 * former)
    yield ((-arm, 0.0), (arm, 0.0)), 0.2
    yield ((0.0, -arm), (0.0, arm)), 0.2
    outside = spiral_radius(primary, primary.turns) + half + 3.0
    yield ((0.5 * former, 0.0), (outside, 0.0)), 0.15
    for turns in _crossings(primary):
        inner, outer = spiral_radius(primary, turns) - half - 2.5, half + 2.5
        yield (_at(inner, turns), _at(spiral_radius(primary, turns) + outer, turns)), 0.4


def _crossings(primary: PrimaryGeometry) -> list[float]:
    return [0.0, *([] if primary.tap is None else [primary.tap]), primary.turns]


def _spiral_labels(
    primary: PrimaryGeometry, half: float, former: float
) -> Iterator[tuple[Point, str]]:
    yield (-0.3 * former, -0.3 * former), f"hole {former:.4g} mm"
    for turns, words in zip(
        _crossings(primary),
        (
            "start",
            *([] if primary.tap is None else [f"tap, turn {primary.tap:g}"]),
            f"end, turn {primary.turns:g}",
        ),
        strict=True,
    ):
        x, y = _at(spiral_radius(primary, turns) + half + 2.8, turns)
        yield (x, y + 1.0), words


def _at(radius: float, turns: float) -> Point:
    angle = math.tau * turns
    return radius * math.cos(angle), radius * math.sin(angle)


def _circle(radius: float) -> Iterator[Line]:
    steps = [step * _DEGREES / 360 for step in range(360 // _DEGREES + 1)]
    return itertools.pairwise([_at(radius, turns) for turns in steps])


def _tiles(width: float, height: float) -> list[tuple[str, Window]]:
    """Windows over a drawing around the origin, rows from the top, with an overlap."""
    room = (WIDTH - BORDER, HEIGHT - BORDER)
    across, down = (
        1 if size <= fits else math.ceil((size - OVERLAP) / (fits - OVERLAP))
        for size, fits in zip((width, height), room, strict=True)
    )
    left = -0.5 * (across * (room[0] - OVERLAP) + OVERLAP)
    top = 0.5 * (down * (room[1] - OVERLAP) + OVERLAP)
    return [
        (
            f"{row + 1}{chr(ord('A') + column)}",
            Window(
                left + column * (room[0] - OVERLAP),
                top - row * (room[1] - OVERLAP) - room[1],
                *room,
            ),
        )
        for row in range(down)
        for column in range(across)
    ]


def _joints(windows: Sequence[tuple[str, Window]], window: Window) -> Iterator[tuple[Line, str]]:
    """Edges of the neighbours' windows within one: where pages lie over one another."""
    for name, other in windows:
        if other == window:
            continue
        right, top = other.left + other.width, other.bottom + other.height
        if other.bottom == window.bottom and abs(other.left - window.left) < window.width:
            x = other.left if other.left > window.left else right
            yield ((x, window.bottom), (x, window.bottom + window.height)), name
        elif other.left == window.left and abs(other.bottom - window.bottom) < window.height:
            y = other.bottom if other.bottom > window.bottom else top
            yield ((window.left, y), (window.left + window.width, y)), name


def _page(
    window: Window,
    lines: Iterable[tuple[Line, float]],
    labels: Iterable[tuple[Point, str]],
    joints: Iterable[tuple[Line, str]],
    name: str,
) -> str:
    """SVG of one window with its rulers and the marks of its neighbours."""

    def place(at: Point) -> Point:
        return BORDER + at[0] - window.left, HEIGHT - BORDER - (at[1] - window.bottom)

    drawn = []
    for line, width in lines:
        inside = window.clipped(line)
        if inside is not None:
            drawn.append(_line(place(inside[0]), place(inside[1]), width))
    for line, other in joints:
        start, end = place(line[0]), place(line[1])
        drawn.append(_line(start, end, 0.15, "2 2"))
        middle = (0.5 * (start[0] + end[0]) + 1.0, 0.5 * (start[1] + end[1]) - 1.0)
        drawn.append(_words(middle, f"edge of {other}"))
    drawn += [_words(place(at), words) for at, words in labels if window.holds(at)]
    if name:
        drawn.append(_words((WIDTH - 10.0, 5.0), name, 5.0))
    return _svg([*_rulers(), *drawn])


def _rulers() -> Iterator[str]:
    """One ruler along each side of a picture."""
    low, left, start = HEIGHT - 4.0, 4.0, BORDER
    yield _line((start, low), (start + RULER, low), 0.3)
    yield _line((left, HEIGHT - start - RULER), (left, HEIGHT - start), 0.3)
    for step in range(0, int(RULER) + 1, 10):
        long = 3.0 if step % 50 == 0 else 1.5
        yield _line((start + step, low), (start + step, low - long), 0.2)
        at = HEIGHT - start - step
        yield _line((left, at), (left + long, at), 0.2)
    yield _words((start + RULER + 2.0, low), f"{RULER:g} mm: measure this before use")
    yield _words((left - 2.0, HEIGHT - start - RULER - 2.0), f"{RULER:g} mm")


def _secondary_marks(length: float, turns: float) -> list[Mark]:
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


def _primary_marks(primary: PrimaryGeometry) -> list[Mark]:
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


def _strips(strips: Sequence[tuple[str, list[Mark]]]) -> Iterator[Paragraph | Picture]:
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
        drawn = list(_rulers())
        for column, (name, marks, start, end) in enumerate(pieces[first : first + a_page]):
            drawn += _strip(BORDER + 2.0 + column * _STRIP, name, marks, start, end)
        yield Picture(
            _svg(drawn),
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

    yield _line((left, up(start)), (left, up(end)), 0.3)
    yield _words((left, up(end) - 2.0), name, 3.2)
    joints = [start + OVERLAP] if start > 0.0 else []
    joints += [end - OVERLAP] if end < marks[-1].at else []
    for at in joints:
        yield _line((left, up(at)), (left + _STRIP - 6.0, up(at)), 0.15, "2 2")
    for mark in marks:
        if start <= mark.at <= end:
            reach, width = (14.0, 0.4) if mark.strong else (5.0, 0.2)
            yield _line((left, up(mark.at)), (left + reach, up(mark.at)), width)
            if mark.words:
                # Ends of former and winding lie close: the words stand behind their line.
                yield _words((left + reach + 1.0, up(mark.at) + 0.9), mark.words, 2.3)


def _line(start: Point, end: Point, width: float, dashes: str = "") -> str:
    dashed = f' stroke-dasharray="{dashes}"' if dashes else ""
    return (
        f'<line x1="{start[0]:.3f}" y1="{start[1]:.3f}" x2="{end[0]:.3f}" y2="{end[1]:.3f}" '
        f'stroke="#000000" stroke-width="{width}"{dashed}/>'
    )


def _words(at: Point, words: str, size: float = 2.8) -> str:
    return (
        f'<text x="{at[0]:.2f}" y="{at[1]:.2f}" font-size="{size}" '
        f'font-family="DejaVu Sans, sans-serif" fill="#000000">{escape(words)}</text>'
    )


def _svg(drawn: Iterable[str]) -> str:
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{WIDTH:g}mm" height="{HEIGHT:g}mm" '
        f'viewBox="0 0 {WIDTH:g} {HEIGHT:g}">{"".join(drawn)}</svg>'
    )
