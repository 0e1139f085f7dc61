"""Page of a template: windows over a drawing, check rulers, and lines and words as SVG.

All lengths are millimetres. Each picture has a view box in millimetres and two check rulers, since
printers like to scale.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from html import escape
from typing import Final

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
"""Pages that a template may take."""

Point = tuple[float, float]
Line = tuple[Point, Point]


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


def tiles(width: float, height: float) -> list[tuple[str, Window]]:
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


def joints(windows: Sequence[tuple[str, Window]], window: Window) -> Iterator[tuple[Line, str]]:
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


def window_svg(
    window: Window,
    lines: Iterable[tuple[Line, float]],
    labels: Iterable[tuple[Point, str]],
    edges: Iterable[tuple[Line, str]],
    name: str,
) -> str:
    """SVG of one window with its rulers and the marks of its neighbours."""

    def place(at: Point) -> Point:
        return BORDER + at[0] - window.left, HEIGHT - BORDER - (at[1] - window.bottom)

    drawn = []
    for line, width in lines:
        inside = window.clipped(line)
        if inside is not None:
            drawn.append(line_svg(place(inside[0]), place(inside[1]), width))
    for line, other in edges:
        start, end = place(line[0]), place(line[1])
        drawn.append(line_svg(start, end, 0.15, "2 2"))
        middle = (0.5 * (start[0] + end[0]) + 1.0, 0.5 * (start[1] + end[1]) - 1.0)
        drawn.append(words_svg(middle, f"edge of {other}"))
    drawn += [words_svg(place(at), words) for at, words in labels if window.holds(at)]
    if name:
        drawn.append(words_svg((WIDTH - 10.0, 5.0), name, 5.0))
    return page_svg([*rulers(), *drawn])


def rulers() -> Iterator[str]:
    """One ruler along each side of a picture."""
    low, left, start = HEIGHT - 4.0, 4.0, BORDER
    yield line_svg((start, low), (start + RULER, low), 0.3)
    yield line_svg((left, HEIGHT - start - RULER), (left, HEIGHT - start), 0.3)
    for step in range(0, int(RULER) + 1, 10):
        long = 3.0 if step % 50 == 0 else 1.5
        yield line_svg((start + step, low), (start + step, low - long), 0.2)
        at = HEIGHT - start - step
        yield line_svg((left, at), (left + long, at), 0.2)
    yield words_svg((start + RULER + 2.0, low), f"{RULER:g} mm: measure this before use")
    yield words_svg((left - 2.0, HEIGHT - start - RULER - 2.0), f"{RULER:g} mm")


def line_svg(start: Point, end: Point, width: float, dashes: str = "") -> str:
    """Line between two places of a picture."""
    dashed = f' stroke-dasharray="{dashes}"' if dashes else ""
    return (
        f'<line x1="{start[0]:.3f}" y1="{start[1]:.3f}" x2="{end[0]:.3f}" y2="{end[1]:.3f}" '
        f'stroke="#000000" stroke-width="{width}"{dashed}/>'
    )


def words_svg(at: Point, words: str, size: float = 2.8) -> str:
    """Words that begin at a place of a picture."""
    return (
        f'<text x="{at[0]:.2f}" y="{at[1]:.2f}" font-size="{size}" '
        f'font-family="DejaVu Sans, sans-serif" fill="#000000">{escape(words)}</text>'
    )


def page_svg(drawn: Iterable[str]) -> str:
    """Picture of what is drawn, of the size of a page."""
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{WIDTH:g}mm" height="{HEIGHT:g}mm" '
        f'viewBox="0 0 {WIDTH:g} {HEIGHT:g}">{"".join(drawn)}</svg>'
    )
