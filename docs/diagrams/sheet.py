"""Sheet of a diagram: lines, words and curves as SVG in the colours of the program's light look."""

from __future__ import annotations

import re
from collections.abc import Sequence
from html import escape

import numpy as np
from numpy.typing import ArrayLike

from burstwise.app.theme import DASHES, LIGHT

SIZE = 13.0
"""Size of words [pixels]."""
FONT = "Arial, Helvetica, sans-serif"
Point = tuple[float, float]
_INDEX = re.compile(r"_\{([^}]*)\}|_(\w)")


class Sheet:
    """Drawing in the making; coordinates in pixels, y downwards.

    Parameters
    ----------
    width, height : float
        Size [pixels].
    """

    def __init__(self, width: float, height: float) -> None:
        self.width, self.height = width, height
        self._parts: list[str] = []

    def svg(self) -> str:
        """Text of the file."""
        size = f'width="{self.width:g}" height="{self.height:g}"'
        box = f'viewBox="0 0 {self.width:g} {self.height:g}"'
        head = f'<svg xmlns="http://www.w3.org/2000/svg" {size} {box} font-family="{FONT}">'
        ground = f'<rect {size} fill="{LIGHT.panel}"/>'
        return "\n".join([head, ground, *self._parts, "</svg>"]) + "\n"

    def line(
        self,
        points: Sequence[Point],
        *,
        colour: str = LIGHT.text,
        width: float = 1.5,
        dashes: Sequence[float] = (),
        fill: str = "none",
    ) -> None:
        """Line from point to point."""
        where = " ".join(f"{x:.1f},{y:.1f}" for x, y in points)
        dash = f' stroke-dasharray="{" ".join(f"{d:g}" for d in dashes)}"' if dashes else ""
        stroke = f'stroke="{colour}" stroke-width="{width:g}"{dash}'
        self._parts.append(f'<polyline points="{where}" fill="{fill}" {stroke}/>')

    def arrow(self, start: Point, end: Point, *, colour: str = LIGHT.accent) -> None:
        """Line with a head at its end."""
        along = np.subtract(end, start) / max(float(np.hypot(*np.subtract(end, start))), 1e-9)
        across = np.array([-along[1], along[0]])
        foot = np.asarray(end) - 8.0 * along
        self.line([start, (float(foot[0]), float(foot[1]))], colour=colour)
        corners = [np.asarray(end), foot + 3.5 * across, foot - 3.5 * across]
        where = " ".join(f"{x:.1f},{y:.1f}" for x, y in corners)
        self._parts.append(f'<polygon points="{where}" fill="{colour}"/>')

    def box(
        self, left: float, top: float, width: float, height: float, *, fill: str = LIGHT.window
    ) -> None:
        """Rectangle with a hair line."""
        place = f'x="{left:.1f}" y="{top:.1f}" width="{width:.1f}" height="{height:.1f}"'
        self._parts.append(f'<rect {place} rx="3" fill="{fill}" stroke="{LIGHT.line}"/>')

    def circle(self, at: Point, radius: float, *, fill: str, stroke: str = "none") -> None:
        """Disc."""
        place = f'cx="{at[0]:.1f}" cy="{at[1]:.1f}" r="{radius:.1f}"'
        self._parts.append(f'<circle {place} fill="{fill}" stroke="{stroke}"/>')

    def text(
        self,
        at: Point,
        words: str,
        *,
        align: str = "left",
        colour: str = LIGHT.text,
        size: float = SIZE,
    ) -> None:
        """Words on a base line; `_x` and `_{xy}` are set as an index."""
        anchor, x = {"left": "start", "centre": "middle", "right": "end"}[align], at[0]
        if _INDEX.search(words) and align != "left":
            # Renderers differ in how they centre words of several pieces.
            x -= {"centre": 0.5, "right": 1.0}[align] * _width(words, size)
            anchor = "start"
        place = f'x="{x:.1f}" y="{at[1]:.1f}" font-size="{size:g}" text-anchor="{anchor}"'
        self._parts.append(f'<text {place} fill="{colour}">{_with_indices(words, size)}</text>')

    def lines_of_text(self, at: Point, lines: Sequence[str], **how: str) -> None:
        """Lines of words below one another."""
        for number, words in enumerate(lines):
            self.text((at[0], at[1] + 17.0 * number), words, **how)  # type: ignore[arg-type]

    def include(self, body: str) -> None:
        """Take over the parts of another drawing as they are."""
        self._parts.append(body)


def _width(words: str, size: float) -> float:
    """Room of words with indices, roughly."""
    low = sum(len(match[1] or match[2]) for match in _INDEX.finditer(words))
    return 0.5 * size * (len(_INDEX.sub("", words)) + 0.75 * low)


def _with_indices(words: str, size: float) -> str:
    """Words with their indices set small and low."""
    made, place, low = "", 0, 0.0
    for match in _INDEX.finditer(words):
        plain = words[place : match.start()]
        made += f'<tspan dy="{-low:g}">{escape(plain)}</tspan>' if plain else ""
        low = round(0.25 * size, 2) if plain or not made else low
        index = escape(match[1] or match[2])
        made += f'<tspan dy="{low:g}" font-size="{0.75 * size:g}">{index}</tspan>'
        place = match.end()
    rest = escape(words[place:])
    return made + (f'<tspan dy="{-low:g}">{rest}</tspan>' if rest and low else rest)


class Axes:
    """Plot in a rectangle of a sheet, with the grid and the series of the program's plots.

    Parameters
    ----------
    sheet : Sheet
        Where to draw.
    left, top, width, height : float
        Rectangle [pixels].
    x, y : tuple of float
        Ranges.
    log : bool
        Whether y goes by ratio.
    """

    def __init__(
        self,
        sheet: Sheet,
        place: tuple[float, float, float, float],
        *,
        x: tuple[float, float],
        y: tuple[float, float],
        log: bool = False,
    ) -> None:
        self.sheet, self.place, self._x, self._y, self._log = sheet, place, x, y, log

    def at(self, x: float, y: float) -> Point:
        """Pixel of a pair."""
        left, top, width, height = self.place
        low, high = self._y
        part = np.log(y / low) / np.log(high / low) if self._log else (y - low) / (high - low)
        across = (x - self._x[0]) / (self._x[1] - self._x[0])
        return left + width * across, top + height * (1.0 - float(part))

    def ticks(self, xs: Sequence[tuple[float, str]], ys: Sequence[tuple[float, str]]) -> None:
        """Grid with its figures."""
        left, top, width, height = self.place
        for value, words in xs:
            x = self.at(value, self._y[0])[0]
            self.sheet.line([(x, top), (x, top + height)], colour=LIGHT.grid, width=1)
            self.sheet.text((x, top + height + 16), words, align="centre", colour=LIGHT.muted)
        for value, words in ys:
            y = self.at(self._x[0], value)[1]
            self.sheet.line([(left, y), (left + width, y)], colour=LIGHT.grid, width=1)
            self.sheet.text((left - 6, y + 4), words, align="right", colour=LIGHT.muted)
        self.sheet.line([(left, top), (left, top + height), (left + width, top + height)],
                        colour=LIGHT.line, width=1)  # fmt: skip

    def titles(self, across: str, up: str) -> None:
        """Words of both axes."""
        left, top, width, height = self.place
        self.sheet.text((left + width, top + height + 34), across, align="right")
        self.sheet.text((left, top - 8), up)

    def curve(self, x: ArrayLike, y: ArrayLike, *, series: int, width: float = 2.0) -> None:
        """Curve in the hue and the dashes of a series."""
        points = [
            self.at(float(a), float(b)) for a, b in zip(np.ravel(x), np.ravel(y), strict=True)
        ]
        dashes = [width * dash for dash in DASHES[series]]
        self.sheet.line(points, colour=LIGHT.series[series], width=width, dashes=dashes)
