"""Drawing board: places parts of the list as symbols with reference and value beside them.

A thin layer over schemdraw's SVG back end with absolute coordinates; it books every part with its
pins, every wire and every named end, so that drawing, list and circuit can be compared.
"""

from __future__ import annotations

import itertools
import math
import re
import textwrap
import threading
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any, Final, Literal

import schemdraw
import schemdraw.elements as symbols
from schemdraw import svgconfig

from burstwise.core.assembly.drawn import (
    ZERO,
    Box,
    CircuitSheet,
    Drawn,
    Line,
    Named,
    Point,
    joints,
    same,
)
from burstwise.core.assembly.part import Part
from burstwise.core.assembly.svg_text import plain_text, room_for_text, text_width
from burstwise.core.assembly.symbol_style import SymbolStyle

SCALE: Final = 36.0
"""Points per drawing unit."""
_LOCK: Final = threading.RLock()
"""schemdraw keeps its back end in module state; one drawing at a time."""
_SIZE: Final = 13
_NET_SIZE: Final = 12
_PIN_SIZE: Final = 11
_UNIT: Final = 2.0
_LINE: Final = 0.44
"""Height of a line of words beside a part."""
BESIDE_SWITCH: Final = 0.75
"""Distance of a transistor's words from its drain's line, right of its body diode."""
_BLOCK_LINE: Final = 17
_SIDE_LINE: Final = 20
"""Longest line of words within a block and beside a part [characters]."""

Side = Literal["left", "right"]
Symbol = Literal[
    "resistor", "trimmer", "capacitor", "polar", "inductor", "diode", "zener", "led", "fuse",
    "source",
]  # fmt: skip
_DIODE: Final = ("anode", "cathode")
_POLES: Final = ("+", "-")
_SYMBOLS: Final[dict[str, tuple[Any, tuple[str, str]]]] = {
    "capacitor": (symbols.Capacitor, ("1", "2")),
    "polar": (symbols.Capacitor2, _POLES),
    "inductor": (symbols.Inductor2, ("1", "2")),
    "diode": (symbols.Diode, _DIODE),
    "zener": (symbols.Zener, _DIODE),
    "led": (symbols.LED, _DIODE),
    "source": (symbols.BatteryDouble, _POLES),
}
"""Symbol, and what its start and its end are called; a battery starts at its long plate."""
_BY_STYLE: Final[dict[SymbolStyle, dict[str, Any]]] = {
    SymbolStyle.IEC: {
        "resistor": symbols.ResistorIEC,
        "trimmer": symbols.ResistorVarIEC,
        "fuse": symbols.FuseIEC,
        "potentiometer": symbols.PotentiometerIEC,
    },
    SymbolStyle.ANSI: {
        "resistor": symbols.ResistorIEEE,
        "trimmer": symbols.ResistorVarIEEE,
        "fuse": symbols.FuseIEEE,
        "potentiometer": symbols.PotentiometerIEEE,
    },
}


@dataclass(frozen=True, slots=True)
class Pin:
    """Named pin of a block.

    Attributes
    ----------
    name : str
        Written inside the block.
    side : str
        Left, right, top or bottom.
    place : float
        Along the side, 0 to 1 from bottom or left; a lone pin stands in the middle.
    number : str
        Of the package; written before the name.
    inverted : bool
        Whether a small circle marks it as acting when low.
    """

    name: str
    side: Literal["L", "R", "T", "B"]
    place: float
    number: str = ""
    inverted: bool = False


class Board:
    """One sheet in the making; coordinates in drawing units, y upward.

    Parameters
    ----------
    name, title : str
        Stable name, and words.
    notes : mapping, optional
        Line of words to add beside the part of a role.
    """

    def __init__(
        self, name: str, title: str, notes: Mapping[str, str] = MappingProxyType({})
    ) -> None:
        self._name, self._title, self._notes = name, title, notes
        self._drawn: list[Drawn] = []
        self._wires: list[Line] = []
        self._named: list[Named] = []
        self._unused: list[Point] = []
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

    def two_pole(
        self,
        part: Part | None,
        symbol: Symbol,
        start: Point,
        end: Point,
        *,
        beside: Side = "right",
        reach: float = 0.5,
    ) -> None:
        """Part with two ends, text beside it (or above it when it lies); None leaves it out."""
        if part is None:
            return
        kind, names = _SYMBOLS.get(symbol) or (_present.symbols[symbol], ("1", "2"))
        made = self._drawing.add(kind().endpoints(start, end))
        self._book(part, made, dict(zip(names, (start, end), strict=True)))
        self._name_beside(part, start, end, beside, reach)

    def winding(self, part: Part, dotted: Point, other: Point, *, beside: Side = "right") -> None:
        """Upright winding with a dot on the other side of its words, at its beginning."""
        made = self._drawing.add(symbols.Inductor2().endpoints(dotted, other))
        self._book(part, made, {"dotted": dotted, "other": other})
        self._name_beside(part, dotted, other, beside, 0.7)
        x = dotted[0] + (-0.5 if beside == "right" else 0.5)
        y = (dotted[1] + other[1]) / 2 + math.copysign(0.85, dotted[1] - other[1])
        self._drawing.add(symbols.Dot(radius=0.13).at((x, y)))

    def words_width(self, part: Part) -> float:
        """Room that the words beside a part need [drawing units]."""
        return max(text_width(line, _SIZE) for line in self._lines(part)) / SCALE

    def knob(self, part: Part, start: Point, end: Point) -> Point:
        """Potentiometer from start to end; returns its wiper, right of the way when seen along."""
        made = self._drawing.add(_present.symbols["potentiometer"]().endpoints(start, end).flip())
        wiper = _place(made, "tap")
        self._book(part, made, {"1": start, "2": end, "wiper": wiper})
        self._name_beside(part, start, end, "right", 0.5)
        return wiper

    def wire(self, *points: Point) -> None:
        """Straight wires from point to point; dots where they meet others come by themselves."""
        for start, end in itertools.pairwise(points):
            if not same(start, end):
                self._drawing.add(symbols.Line().endpoints(start, end))
                self._wires.append((start, end))

    def loop(self, start: Point, end: Point) -> None:
        """Dashed rectangle between two corners: marks a way of current, joins nothing."""
        (left, top), (right, bottom) = start, end
        corners = ((left, top), (right, top), (right, bottom), (left, bottom), (left, top))
        for one, two in itertools.pairwise(corners):
            self._drawing.add(symbols.Line().endpoints(one, two).linestyle("--").linewidth(0.8))

    def earth(self, at: Point) -> None:
        """Connection to 0 V."""
        self._drawing.add(symbols.Ground().at(at).theta(0))
        self._named.append(Named(ZERO, at))

    def net(self, at: Point, name: str, *, align: Side = "left") -> None:
        """Named end of a wire; the name goes on elsewhere."""
        self._drawing.add(symbols.Dot(radius=0.1, open=True).at(at))
        self._named.append(Named(name, at))
        away = 0.25 if align == "left" else -0.25
        self.text((at[0] + away, at[1]), name, align=align, size=_NET_SIZE)

    def unused(self, at: Point) -> None:
        """Pin that stays open."""
        self._drawing.add(symbols.NoConnect().at(at).theta(0))
        self._unused.append(at)

    def mosfet(self, part: Part, drain: Point) -> tuple[Point, Point]:
        """N-channel MOSFET with its body diode, its drain there; returns gate, source."""
        made = self._drawing.add(
            symbols.NMos(diode=True).scale(1.3).anchor("drain").at(drain).theta(0)
        )
        pins = {name: _place(made, name) for name in ("drain", "gate", "source")}
        self._book(part, made, pins)
        middle = _place(made, "center")[1]
        lines = self._lines(part)
        for number, line in enumerate(lines):
            self.text((drain[0] + BESIDE_SWITCH, middle + _LINE * _above(number, lines)), line)
        return pins["gate"], pins["source"]

    def npn(self, part: Part, base: Point) -> tuple[Point, Point]:
        """NPN transistor with its base there; returns collector and emitter."""
        made = self._drawing.add(symbols.BjtNpn().anchor("base").at(base).theta(0))
        pins = {name: _place(made, name) for name in ("base", "collector", "emitter")}
        self._book(part, made, pins)
        lines = self._lines(part)
        for number, line in enumerate(lines):
            self.text((pins["collector"][0] + 0.35, base[1] + _LINE * _above(number, lines)), line)
        return pins["collector"], pins["emitter"]

    def block(
        self, part: Part, corner: Point, size: Point, pins: Sequence[Pin], *, lift: float = 0.0
    ) -> dict[str, Point]:
        """Box with named pins, its lower left corner there; returns the pins' ends.

        The words stand in the middle, or as much above as `lift` says.
        """
        made = self._drawing.add(
            symbols.Ic(
                size=size,
                pins=[
                    symbols.IcPin(
                        name=f"{pin.number} {pin.name}".strip(),
                        side=pin.side,
                        pos=pin.place,
                        invert=pin.inverted,
                        anchorname=f"p{n}",
                    )
                    for n, pin in enumerate(pins)
                ],
                lsize=_PIN_SIZE,
                leadlen=0.5,
            )
            .at(corner)
            .theta(0)
        )
        ends = {pin.name: _place(made, f"p{n}") for n, pin in enumerate(pins)}
        body = Box(corner[0], corner[1], corner[0] + size[0], corner[1] + size[1])
        self._drawn.append(Drawn(part.reference, part.role, part.drawn_text, ends, body))
        middle, y = corner[0] + size[0] / 2, corner[1] + size[1] / 2 + lift
        lines = [part.reference, *_wrapped(part.drawn_text, _BLOCK_LINE)]
        for number, line in enumerate(lines):
            at = (middle, y + 0.42 * _above(number, lines))
            self.text(at, line, align="center", size=_NET_SIZE)
        return ends

    def finished(self) -> CircuitSheet:
        """Sheet with its SVG text, a dot at every joint."""
        meeting = joints(self._wires, self._drawn, self._named)
        for at in meeting:
            self._drawing.add(symbols.Dot(radius=0.08).at(at))
        return CircuitSheet(
            self._name,
            self._title,
            room_for_text(plain_text(self._drawing.get_imagedata("svg").decode())),
            tuple(self._drawn),
            tuple(self._wires),
            meeting,
            tuple(self._named),
            tuple(self._unused),
        )

    def _book(self, part: Part, made: Any, pins: Mapping[str, Point]) -> Drawn:
        """Note a part as drawn; its body is all of its symbol but the pins."""
        places = [at for at in _places(made) if not any(same(at, pin) for pin in pins.values())]
        across, up = zip(*places, strict=True)
        body = Box(min(across), min(up), max(across), max(up))
        drawn = Drawn(part.reference, part.role, part.drawn_text, pins, body)
        self._drawn.append(drawn)
        return drawn

    def _lines(self, part: Part) -> list[str]:
        """Reference, value or kind, and what the notes add, line by line."""
        note = self._notes.get(part.role)
        return [part.reference, *_wrapped(part.drawn_text, _SIDE_LINE), *([note] if note else [])]

    def _name_beside(
        self, part: Part, start: Point, end: Point, beside: Side, reach: float
    ) -> None:
        middle = ((start[0] + end[0]) / 2, (start[1] + end[1]) / 2)
        lines = self._lines(part)
        if start[1] == end[1]:
            for number, line in enumerate(reversed(lines)):
                self.text((middle[0], middle[1] + reach + _LINE * number), line, align="center")
            return
        x = middle[0] + (reach if beside == "right" else -reach)
        for number, line in enumerate(lines):
            at = (x, middle[1] + _LINE * _above(number, lines))
            self.text(at, line, align="left" if beside == "right" else "right")


class _Present:
    """Symbols of the sheets in the making, set by who holds the lock."""

    symbols = _BY_STYLE[SymbolStyle.IEC]


_present = _Present()


@contextmanager
def drawing(style: SymbolStyle = SymbolStyle.IEC) -> Iterator[None]:
    """Hold the lock while sheets are in the making, their symbols of a style.

    Sets the SVG back end up.
    """
    with _LOCK:
        schemdraw.use("svg")
        svgconfig.text = "text"
        before, _present.symbols = _present.symbols, _BY_STYLE[style]
        try:
            yield
        finally:
            _present.symbols = before


def _wrapped(words: str, longest: int) -> list[str]:
    """Lines of words; a number keeps its unit on its line."""
    kept = re.sub(r"(?<=\d) (?=\S)", "\N{NO-BREAK SPACE}", words)
    return textwrap.wrap(kept, longest, break_on_hyphens=False)


def _above(number: int, lines: Sequence[str]) -> float:
    """Lines by which one line stands above the middle of all."""
    return (len(lines) - 1) / 2 - number


def _places(element: Any) -> Iterator[Point]:
    """Corners of all lines of a placed symbol."""
    for segment in element.segments:
        placed = segment.xform(element.transform)
        corners: Any = getattr(placed, "path", None) or getattr(placed, "verts", None)
        for corner in corners or ():
            if math.isfinite(corner.x):
                yield float(corner.x), float(corner.y)


def _place(element: Any, anchor: str) -> Point:
    point = element.absanchors[anchor]
    return float(point.x), float(point.y)
