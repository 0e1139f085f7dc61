"""The sheet on which the circuit is drawn: parts between points, each with reference and value."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import pairwise
from typing import Any, Final

import schemdraw
import schemdraw.elements as elm

from core.assembly.timer_parts import CONTROL_FILTER
from core.interrupter.sets import TimerSet
from core.units import shown

WIPER_TEXT: Final = "wiper-place"
"""Stands in the drawing where the knob's travel is written."""
SIZE: Final = 13.0
SMALL: Final = 12.0
PIN_SIZE: Final = 10.5
"""Type of values, of words inside blocks and at supplies, and of pins' numbers [pt]."""
_TEXT_DROP: Final = 0.28
"""Qt writes from the base line what is meant to be centred."""
_CHIP: Final = (4.4, 5.4)
_MARGIN: Final = 0.5
"""Room around the drawing, since texts at its rim are not part of its bounds."""


@dataclass(frozen=True, slots=True)
class Ink:
    """Colours of a drawing as `#rrggbb`."""

    line: str
    value: str


@dataclass
class Sheet:
    """A drawing in the making: places parts between points and writes their values.

    Attributes
    ----------
    drawing
        The library's drawing.
    ink : Ink
        Colours.
    chosen : TimerSet
        Timer with the parts that set its timing.
    references : mapping
        Reference designators by role.
    """

    drawing: Any
    ink: Ink
    chosen: TimerSet
    references: Mapping[str, str]

    def text(self, role: str) -> str:
        """Reference of a part and, where it sets the timing, its value."""
        part = next((part for part in self.chosen.parts if part.role == role), None)
        if part is None:
            return self.references[role]
        unit = "Ω" if part.unit == "ohm" else part.unit
        return f"{self.references[role]} {shown(part.value, unit)}"

    def fitted(self, role: str) -> bool:
        """Whether the set holds the part."""
        return any(part.role == role for part in self.chosen.parts)

    def place(self, element: Any, start: Any, end: Any, *, role: str = "", side: int = 1) -> Any:
        """Two-terminal element between two points; its value right (1) or left (-1), or above."""
        added = self.drawing.add(element.endpoints(start, end))
        if role:
            at, align = self._beside(start, end, side)
            self.write(at, self.text(role), align=align)
            if role == "potentiometer":
                # The arrow of a rheostat reaches out on this side.
                self.write((at[0] + 0.25 * side, at[1] - 0.6), WIPER_TEXT, align=align)
        return added

    def told(self, element: Any, start: Any, end: Any, text: str, *, side: int = 1) -> None:
        """Two-terminal element with any words beside it."""
        self.drawing.add(element.endpoints(start, end))
        at, align = self._beside(start, end, side)
        self.write(at, text, align=align)

    @staticmethod
    def _beside(start: Any, end: Any, side: int) -> tuple[tuple[float, float], str]:
        middle = ((start[0] + end[0]) / 2, (start[1] + end[1]) / 2)
        if abs(start[0] - end[0]) < abs(start[1] - end[1]):
            return (middle[0] + 0.5 * side, middle[1]), "left" if side > 0 else "right"
        return (middle[0], middle[1] + 0.6), "center"

    def write(
        self, at: Any, text: str, *, align: str = "left", size: float = SIZE, pale: bool = False
    ) -> None:
        """Words at a place, in the colour of values or, pale, in that of lines."""
        label = elm.Label().at((at[0], at[1] - _TEXT_DROP)).theta(0)
        self.drawing.add(
            label.label(
                text, loc="center", halign=align, valign="center", fontsize=size,
                color=self.ink.line if pale else self.ink.value,
            )
        )  # fmt: skip

    def wire(self, *points: Any) -> None:
        """Line through some points."""
        for start, end in pairwise(points):
            self.drawing.add(elm.Line().endpoints(start, end))

    def dot(self, at: Any) -> None:
        """Junction."""
        self.drawing.add(elm.Dot().at(at))

    def arrow(self, at: Any) -> None:
        """Head of an arrow to the right."""
        self.drawing.add(elm.Arrowhead().at(at).theta(0))

    def ground(self, at: Any) -> None:
        """Ground symbol."""
        self.drawing.add(elm.Ground().at(at).theta(0))

    def supply(self, at: Any, voltage: float | None = None) -> None:
        """Supply symbol with its voltage [V]; the timer's if not given."""
        self.drawing.add(elm.Vdd().at(at).theta(0))
        volts = self.chosen.supply if voltage is None else voltage
        self.write((at[0], at[1] + 0.75), f"{volts:g} V", align="center", size=SMALL)

    def timer(self, left: float, bottom: float, role: str) -> Any:
        """Timer with the pins in use; its lower left corner at the given place."""
        pins = [
            pin("TRG", "2", "left", "1/3"), pin("THR", "6", "left", "2/3"),
            pin("DIS", "7", "left", "3/3"), pin("OUT", "3", "right", "1/1"),
            pin("RST", "", "top", "1/2"), pin("VCC", "", "top", "2/2"),
            pin("GND", "", "bottom", "1/2"), pin("CTL", "", "bottom", "2/2"),
        ]  # fmt: skip
        chip = elm.Ic(pins=pins, size=_CHIP, leadlen=0.6, edgepadW=0.9, edgepadH=1.1)
        chip = self.drawing.add(chip.theta(0).anchor("center").at((left + 2.2, bottom + 2.7)))
        kind = {"cmos": "CMOS", "bipolar": "bipolar"}[self.chosen.timer.name]
        words = f"{self.references[role]} {kind}"
        self.write((left + 2.2, bottom + 3.5), words, align="center", size=SMALL)
        for place, text, inward in (
            (chip.RST, "4 RST", (0.3, -1.08)), (chip.VCC, "8 V+", (0.0, -1.08)),
            (chip.GND, "1 GND", (0.0, 1.0)), (chip.CTL, "5 CTL", (0.0, 1.0)),
        ):  # fmt: skip
            at = (place[0] + inward[0], place[1] + inward[1])
            self.write(at, text, align="center", size=PIN_SIZE, pale=True)
        self.supply(chip.VCC)
        self.ground(chip.GND)
        foot = (chip.CTL[0], chip.CTL[1] - 0.9)
        self.drawing.add(elm.Capacitor().endpoints(chip.CTL, foot))
        reference = self.references[f"{role}_control"]
        words = f"{reference} {shown(CONTROL_FILTER, 'F')}"
        self.write((foot[0] + 0.5, foot[1] + 0.45), words, size=SMALL)
        self.ground(foot)
        return chip


def pin(name: str, number: str, side: str, slot: str) -> Any:
    """Pin of a block; without a number it has no words of its own."""
    return elm.IcPin(
        name if number else None,
        pin=number or None,
        side=side,
        slot=slot,
        anchorname=name,
        lblsize=SMALL,
        pinlblsize=PIN_SIZE,
    )


def new_drawing(ink: Ink) -> Any:
    """Empty drawing in the colours of a look."""
    drawing = schemdraw.Drawing(show=False)
    drawing.config(
        fontsize=SIZE,
        color=ink.line,
        bgcolor="transparent",
        lw=1.6,
        font="sans-serif",
        margin=_MARGIN,
    )
    return drawing
