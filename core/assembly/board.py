"""Drawing board: places parts of the list as symbols with reference and value beside them.

A thin layer over schemdraw's SVG back end with absolute coordinates; it books every part that is
drawn, so that drawing and list can be compared.
"""

from __future__ import annotations

import itertools
import re
import textwrap
import threading
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final, Literal

import schemdraw
import schemdraw.elements as symbols
from schemdraw import svgconfig

from core.assembly.part import Part

_LOCK: Final = threading.RLock()
"""schemdraw keeps its back end in module state; one drawing at a time."""
_SIZE: Final = 13
_NET_SIZE: Final = 12
_UNIT: Final = 2.0
_BLOCK_LINE: Final = 17
"""Longest line of words within a block [characters]."""

_BASELINES: Final = {"central": 0.36, "hanging": 0.75, "ideographic": -0.2, "alphabetic": 0.0}
"""Way from a named baseline down to the alphabetic one, over the type size."""
_TEXT: Final = re.compile(
    r'<text x="(?P<x>[^"]+)" y="(?P<y>[^"]+)" dominant-baseline="(?P<baseline>[^"]+)"'
    r'[^>]*?font-size="(?P<size>[^"]+)"[^>]*?text-anchor="(?P<anchor>[^"]+)"[^>]*>'
    r'<tspan x="[^"]+" dy="(?P<dy>[^"]+)">(?P<words>[^<]*)</tspan></text>'
)
_HEAD: Final = re.compile(r'height="[^"]+" width="[^"]+" viewBox="(?P<box>[^"]+)"')
_PLACED: Final = re.compile(
    r'<text x="(?P<x>[^"]+)" y="(?P<y>[^"]+)" font-size="(?P<size>[^"]+)"'
    r'[^>]*?text-anchor="(?P<anchor>[^"]+)"[^>]*>(?P<words>[^<]*)'
)
_LETTER: Final = 0.62
"""Mean width of a letter over the type size, on the safe side."""

Point = tuple[float, float]
Symbol = Literal[
    "resistor", "capacitor", "polar", "inductor", "diode", "zener", "led", "fuse", "source",
]  # fmt: skip
_SYMBOLS: Final[dict[str, Any]] = {
    "resistor": symbols.ResistorIEC,
    "capacitor": symbols.Capacitor,
    "polar": symbols.Capacitor2,
    "inductor": symbols.Inductor2,
    "diode": symbols.Diode,
    "zener": symbols.Zener,
    "led": symbols.LED,
    "fuse": symbols.FuseIEC,
    "source": symbols.BatteryDouble,
}


@dataclass(frozen=True, slots=True)
class Drawn:
    """A part as it stands in a drawing."""

    reference: str
    text: str


@dataclass(frozen=True, slots=True)
class CircuitSheet:
    """One sheet of the circuit drawing.

    Attributes
    ----------
    name, title : str
        Stable name, and words.
    svg : str
        Drawing as SVG text with its own size.
    drawn : tuple of Drawn
        Every part in it.
    nets : tuple of str
        Names of nets that go on in another sheet or are named for the builder.
    """

    name: str
    title: str
    svg: str
    drawn: tuple[Drawn, ...]
    nets: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Pin:
    """Named pin of a block: side and place along it, 0 to 1 from bottom or left."""

    name: str
    side: Literal["L", "R", "T", "B"]
    place: float


class Board:
    """One sheet in the making; coordinates in drawing units, y upward."""

    def __init__(self, name: str, title: str) -> None:
        self._name, self._title = name, title
        self._drawn: list[Drawn] = []
        self._nets: list[str] = []
        self._drawing: Any = schemdraw.Drawing(
            canvas="svg", show=False, fontsize=_SIZE, unit=_UNIT, lw=1.5
        )

    def text(self, at: Point, words: str, *, align: str = "left", size: float = _SIZE) -> None:
        """Words at a place, centred on its height."""
        self._drawing.add(
            symbols.Label()
            .at(at)
            .theta(0)
            .label(words, loc="center", halign=align, valign="center", ofst=0, fontsize=size)
        )

    def book(self, part: Part) -> None:
        """Note a part as drawn."""
        self._drawn.append(Drawn(part.reference, part.drawn_text))

    def two_pole(
        self,
        part: Part | None,
        symbol: Symbol,
        start: Point,
        end: Point,
        *,
        beside: Literal["left", "right"] = "right",
        reach: float = 0.5,
    ) -> None:
        """Part with two ends, text beside it (or above it when it lies); None leaves it out."""
        if part is None:
            return
        self._drawing.add(_SYMBOLS[symbol]().endpoints(start, end))
        self.book(part)
        self._name_two_pole(part, start, end, beside, reach)

    def knob(
        self,
        part: Part,
        start: Point,
        end: Point,
        *,
        beside: Literal["left", "right"] = "left",
    ) -> Point:
        """Potentiometer from start to end; returns its wiper, right of the way when seen along."""
        made = self._drawing.add(symbols.PotentiometerIEC().endpoints(start, end).flip())
        self.book(part)
        self._name_two_pole(part, start, end, beside, 0.5)
        return _place(made, "tap")

    def _name_two_pole(
        self, part: Part, start: Point, end: Point, beside: str, reach: float
    ) -> None:
        middle = ((start[0] + end[0]) / 2, (start[1] + end[1]) / 2)
        if start[1] == end[1]:
            self.text((middle[0], middle[1] + reach + 0.45), part.reference, align="center")
            self.text((middle[0], middle[1] + reach), part.drawn_text, align="center")
            return
        x = middle[0] + (reach if beside == "right" else -reach)
        align = "left" if beside == "right" else "right"
        self.text((x, middle[1] + 0.22), part.reference, align=align)
        self.text((x, middle[1] - 0.22), part.drawn_text, align=align)

    def wire(self, *points: Point) -> None:
        """Straight wires from point to point."""
        for start, end in itertools.pairwise(points):
            self._drawing.add(symbols.Line().endpoints(start, end))

    def dot(self, at: Point) -> None:
        """Joint of wires."""
        self._drawing.add(symbols.Dot(radius=0.08).at(at))

    def mark(self, at: Point) -> None:
        """Dot that marks the beginning of a winding."""
        self._drawing.add(symbols.Dot(radius=0.13).at(at))

    def earth(self, at: Point) -> None:
        """Connection to 0 V."""
        self._drawing.add(symbols.Ground().at(at).theta(0))

    def net(self, at: Point, name: str, *, align: Literal["left", "right"] = "left") -> None:
        """Named end of a wire; the name goes on elsewhere."""
        self._drawing.add(symbols.Dot(radius=0.1, open=True).at(at))
        self._nets.append(name)
        away = 0.25 if align == "left" else -0.25
        self.text((at[0] + away, at[1]), name, align=align, size=_NET_SIZE)

    def mosfet(self, part: Part, drain: Point) -> tuple[Point, Point]:
        """N-channel MOSFET with its drain there; returns gate and source."""
        made = self._drawing.add(
            symbols.NFet(bulk=True).reverse().anchor("drain").at(drain).theta(0)
        )
        self.book(part)
        source, gate = _place(made, "source"), _place(made, "gate")
        self.text((drain[0] + 0.55, drain[1] - 0.55), part.reference)
        self.text((drain[0] + 0.55, drain[1] - 1.0), part.drawn_text)
        return gate, source

    def npn(self, part: Part, base: Point) -> tuple[Point, Point]:
        """NPN transistor with its base there; returns collector and emitter."""
        made = self._drawing.add(symbols.BjtNpn().anchor("base").at(base).theta(0))
        self.book(part)
        collector, emitter = _place(made, "collector"), _place(made, "emitter")
        self.text((collector[0] + 0.35, base[1] + 0.22), part.reference)
        self.text((collector[0] + 0.35, base[1] - 0.22), part.drawn_text)
        return collector, emitter

    def block(
        self,
        part: Part,
        corner: Point,
        size: Point,
        pins: Sequence[Pin],
        *,
        middle_shift: float = 0.0,
    ) -> dict[str, Point]:
        """Box with named pins, its lower left corner there; returns the pins' ends."""
        made = self._drawing.add(
            symbols.Ic(
                size=size,
                pins=[
                    symbols.IcPin(name=pin.name, side=pin.side, pos=pin.place, anchorname=f"p{n}")
                    for n, pin in enumerate(pins)
                ],
                lsize=11,
                leadlen=0.5,
            )
            .at(corner)
            .theta(0)
        )
        self.book(part)
        middle, y = corner[0] + size[0] / 2, corner[1] + size[1] / 2 + middle_shift
        # A number keeps its unit on its line.
        words = re.sub(r"(?<=\d) (?=\S)", "\N{NO-BREAK SPACE}", part.drawn_text)
        lines = [part.reference, *textwrap.wrap(words, _BLOCK_LINE)]
        for number, line in enumerate(lines):
            height = y + 0.42 * ((len(lines) - 1) / 2 - number)
            self.text((middle, height), line, align="center", size=_NET_SIZE)
        return {pin.name: _place(made, f"p{n}") for n, pin in enumerate(pins)}

    def finished(self) -> CircuitSheet:
        """Sheet with its SVG text."""
        svg = _room_for_text(_plain_text(self._drawing.get_imagedata("svg").decode()))
        return CircuitSheet(
            self._name, self._title, svg, tuple(self._drawn), tuple(dict.fromkeys(self._nets))
        )


def drawing_lock() -> threading.RLock:
    """Lock to hold while a sheet is in the making; sets the SVG back end up."""
    schemdraw.use("svg")
    svgconfig.text = "text"
    return _LOCK


def _plain_text(svg: str) -> str:
    """SVG text whose words stand on plain baselines.

    Renderers differ in how they take `dominant-baseline`; Qt's leaves it out. The shift is put into
    the coordinate instead, by the usual proportions of a sans-serif face.
    """

    def plain(found: re.Match[str]) -> str:
        size = float(found["size"])
        y = float(found["y"]) + float(found["dy"]) + _BASELINES[found["baseline"]] * size
        return (
            f'<text x="{float(found["x"]):.2f}" y="{y:.2f}" font-size="{size:g}" '
            f'font-family="sans-serif" text-anchor="{found["anchor"]}" fill="black">'
            f"{found['words']}</text>"
        )

    return _TEXT.sub(plain, svg)


def _room_for_text(svg: str) -> str:
    """SVG text whose view box holds all words; schemdraw's own leaves some of them outside."""
    left, top, width, height = map(float, _HEAD.search(svg)["box"].split())  # type: ignore[index]
    right, bottom = left + width, top + height
    for found in _PLACED.finditer(svg):
        x, y, size = float(found["x"]), float(found["y"]), float(found["size"])
        wide = _LETTER * size * len(found["words"])
        start = x - {"start": 0.0, "middle": 0.5, "end": 1.0}[found["anchor"]] * wide
        left, right = min(left, start), max(right, start + wide)
        top, bottom = min(top, y - size), max(bottom, y + 0.4 * size)
    left, top, right, bottom = left - 4, top - 4, right + 4, bottom + 4
    width, height = right - left, bottom - top
    head = (
        f'height="{height:.1f}pt" width="{width:.1f}pt" '
        f'viewBox="{left:.1f} {top:.1f} {width:.1f} {height:.1f}"'
    )
    return _HEAD.sub(head, svg, count=1)


def _place(element: Any, anchor: str) -> Point:
    point = element.absanchors[anchor]
    return float(point.x), float(point.y)
