"""What stands in a circuit drawing: symbols with their pins, wires, joints and named ends."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Final

Point = tuple[float, float]
Line = tuple[Point, Point]

ZERO: Final = "0 V"
"""Name of the net of every earth symbol."""
_NEAR: Final = 1e-6
"""Distance below which two places are the same [drawing units]."""


@dataclass(frozen=True, slots=True)
class Box:
    """Upright rectangle in drawing units, y upward."""

    left: float
    bottom: float
    right: float
    top: float

    def nearest(self, at: Point) -> Point:
        """Place of the rectangle next to a point.

        Examples
        --------
        >>> Box(0.0, 0.0, 2.0, 1.0).nearest((1.0, 4.0))
        (1.0, 1.0)
        """
        return min(max(at[0], self.left), self.right), min(max(at[1], self.bottom), self.top)


@dataclass(frozen=True, slots=True)
class Drawn:
    """A part as it stands in a drawing.

    Attributes
    ----------
    reference, role, text : str
        Of the part; the text is what is written beside it.
    pins : mapping
        Ends to solder to, by name.
    body : Box
        What its symbol covers without the leads.
    """

    reference: str
    role: str
    text: str
    pins: Mapping[str, Point]
    body: Box

    @property
    def leads(self) -> Iterator[Line]:
        """Lines from the pins to the body."""
        for pin in self.pins.values():
            foot = self.body.nearest(pin)
            if not same(pin, foot):
                yield pin, foot


@dataclass(frozen=True, slots=True)
class Named:
    """End of a wire with the name of its net."""

    name: str
    at: Point


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
    wires : tuple of Line
        Straight wires between the parts.
    joints : tuple of Point
        Dots where wires meet.
    named : tuple of Named
        Ends that go on elsewhere under the same name, earth symbols among them.
    unused : tuple of Point
        Pins that stay open.
    """

    name: str
    title: str
    svg: str
    drawn: tuple[Drawn, ...]
    wires: tuple[Line, ...]
    joints: tuple[Point, ...]
    named: tuple[Named, ...]
    unused: tuple[Point, ...]

    @property
    def nets(self) -> tuple[str, ...]:
        """Names of nets that go on in another sheet or are named for the builder."""
        return tuple(dict.fromkeys(end.name for end in self.named if end.name != ZERO))


def same(one: Point, two: Point) -> bool:
    """Whether two places are the same."""
    return abs(one[0] - two[0]) < _NEAR and abs(one[1] - two[1]) < _NEAR


def within(at: Point, line: Line) -> bool:
    """Whether a place lies on a line between its ends.

    Examples
    --------
    >>> within((1.0, 0.0), ((0.0, 0.0), (2.0, 0.0)))
    True
    >>> within((0.0, 0.0), ((0.0, 0.0), (2.0, 0.0)))
    False
    """
    (ax, ay), (bx, by) = line
    if same(at, line[0]) or same(at, line[1]):
        return False
    across = (bx - ax) * (at[1] - ay) - (by - ay) * (at[0] - ax)
    along = (bx - ax) * (at[0] - ax) + (by - ay) * (at[1] - ay)
    length = (bx - ax) ** 2 + (by - ay) ** 2
    return abs(across) < _NEAR * max(length, 1.0) and 0.0 < along < length


def joints(
    wires: Iterable[Line], parts: Iterable[Drawn], named: Iterable[Named]
) -> tuple[Point, ...]:
    """Places where three or more ends meet, and so a dot has to stand.

    A wire that passes counts for two; so does the foot of a lead, which goes on into its part.
    Wires that only cross do not meet.
    """
    wires, parts, ends = tuple(wires), tuple(parts), [end.at for end in named]
    leads = [lead for part in parts for lead in part.leads]
    found: list[Point] = []
    places = [place for line in wires for place in line]
    for at in (*places, *(pin for pin, _ in leads), *ends):
        meeting = sum(same(at, place) for place in places)
        meeting += sum(same(at, pin) + 2 * same(at, foot) for pin, foot in leads)
        meeting += sum(2 * within(at, line) for line in (*wires, *leads))
        meeting += sum(same(at, end) for end in ends)
        if meeting > 2 and not any(same(at, other) for other in found):
            found.append(at)
    return tuple(found)
