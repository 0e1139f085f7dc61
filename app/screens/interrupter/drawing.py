"""Circuit drawing of a timer set as SVG, each part with its value."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import Any, Final

import schemdraw
import schemdraw.elements as elm

from core.interrupter.circuits import circuit_named
from core.interrupter.sets import TimerSet
from core.units import shown

WIPER_TEXT: Final = "wiper-place"
"""Stands in the drawing where the knob's travel is written."""
DESIGNATORS: Final = {
    "charge_resistor": "R1",
    "discharge_resistor": "R2",
    "potentiometer": "RV1",
    "frequency_potentiometer": "RV2",
    "timing_capacitor": "C1",
    "pulse_resistor": "R3",
    "pulse_capacitor": "C2",
    "trigger_resistor": "R4",
    "trigger_capacitor": "C3",
}
"""Names of the parts in drawing and parts list, by role."""
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
class _Sheet:
    """A drawing in the making: places parts between points and writes their values."""

    drawing: Any
    ink: Ink
    chosen: TimerSet

    def text(self, role: str) -> str:
        """Designator and value of a part."""
        part = next((part for part in self.chosen.parts if part.role == role), None)
        if part is None:
            return ""
        unit = "Ω" if part.unit == "ohm" else part.unit
        return f"{DESIGNATORS[role]} {shown(part.value, unit)}"

    def fitted(self, role: str) -> bool:
        """Whether the set holds the part."""
        return any(part.role == role for part in self.chosen.parts)

    def place(self, element: Any, start: Any, end: Any, *, role: str = "", side: int = 1) -> Any:
        """Two-terminal element between two points; its value right (1) or left (-1), or above."""
        added = self.drawing.add(element.endpoints(start, end))
        if role:
            middle = ((start[0] + end[0]) / 2, (start[1] + end[1]) / 2)
            upright = abs(start[0] - end[0]) < abs(start[1] - end[1])
            at = (middle[0] + 0.5 * side, middle[1]) if upright else (middle[0], middle[1] + 0.6)
            align = ("left" if side > 0 else "right") if upright else "center"
            self.write(at, self.text(role), align=align)
            if role == "potentiometer":
                self.write((at[0], at[1] - 0.6), WIPER_TEXT, align=align)
        return added

    def write(
        self, at: Any, text: str, *, align: str = "left", size: float = 11.0, pale: bool = False
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

    def ground(self, at: Any) -> None:
        """Ground symbol."""
        self.drawing.add(elm.Ground().at(at).theta(0))

    def supply(self, at: Any) -> None:
        """Supply symbol."""
        self.drawing.add(elm.Vdd().at(at).theta(0))
        self.write((at[0], at[1] + 0.75), f"{self.chosen.supply:g} V", align="center", size=10)

    def timer(self, left: float, bottom: float) -> Any:
        """Timer with the pins in use; its lower left corner at the given place."""
        pins = [
            _pin("TRG", "2", "left", "1/3"), _pin("THR", "6", "left", "2/3"),
            _pin("DIS", "7", "left", "3/3"), _pin("OUT", "3", "right", "1/1"),
            _pin("RST", "", "top", "1/2"), _pin("VCC", "", "top", "2/2"),
            _pin("GND", "", "bottom", "1/2"), _pin("CTL", "", "bottom", "2/2"),
        ]  # fmt: skip
        chip = elm.Ic(pins=pins, size=_CHIP, leadlen=0.6, edgepadW=0.9, edgepadH=1.0)
        chip = self.drawing.add(chip.theta(0).anchor("center").at((left + 2.2, bottom + 2.7)))
        kind = {"cmos": "CMOS", "bipolar": "bipolar"}[self.chosen.timer.name]
        self.write((left + 2.2, bottom + 2.7), kind, align="center", size=10)
        for pin, text, inward in (
            (chip.RST, "4 RST", -1), (chip.VCC, "8 V+", -1),
            (chip.GND, "1 GND", 1), (chip.CTL, "5 CTL", 1),
        ):  # fmt: skip
            self.write((pin[0], pin[1] + 1.0 * inward), text, align="center", size=9, pale=True)
        self.supply(chip.VCC)
        self.ground(chip.GND)
        foot = (chip.CTL[0], chip.CTL[1] - 0.9)
        self.place(elm.Capacitor(), chip.CTL, foot)
        self.write((foot[0] + 0.5, foot[1] + 0.45), "10 nF", size=10)
        self.ground(foot)
        return chip


def _pin(name: str, number: str, side: str, slot: str) -> Any:
    return elm.IcPin(
        name if number else None,
        pin=number or None,
        side=side,
        slot=slot,
        anchorname=name,
        lblsize=10,
        pinlblsize=9,
    )


def circuit_svg(chosen: TimerSet, ink: Ink) -> str:
    """Drawing of a set as SVG text; `WIPER_TEXT` in it stands for the knob's place."""
    schemdraw.use("svg")
    drawing = schemdraw.Drawing(show=False)
    drawing.config(
        fontsize=11,
        color=ink.line,
        bgcolor="transparent",
        lw=1.6,
        font="sans-serif",
        margin=_MARGIN,
    )
    sheet = _Sheet(drawing, ink, chosen)
    circuit = circuit_named(chosen.circuit)
    chip = sheet.timer(6.0, 0.0)
    if circuit.steered:
        _steered(sheet, chip, from_output=circuit.output_driven)
    else:
        _classic(sheet, chip, two_timer=circuit.name == "two-timer")
    if "pulse_resistor" not in circuit.roles:
        sheet.wire(chip.RST, chip.VCC)
        _output(sheet, chip.OUT)
        return _text(drawing)
    second = sheet.timer(18.8, 0.0)
    if circuit.name == "two-timer":
        sheet.wire(chip.RST, chip.VCC)
        sheet.wire(second.RST, second.VCC)
        _edge_trigger(sheet, chip.OUT, second)
    else:
        sheet.wire(chip.RST, chip.VCC)
        _capped(sheet, chip.OUT, second)
    _pulse(sheet, second)
    _output(sheet, second.OUT)
    return _text(drawing)


def with_wiper(svg: str, travel: float) -> bytes:
    """Drawing with the knob's travel written in."""
    return svg.replace(WIPER_TEXT, f"at {100 * travel:.0f} %").encode()


def _text(drawing: Any) -> str:
    return str(drawing.get_imagedata("svg").decode())


def _output(sheet: _Sheet, out: Any) -> None:
    end = (out[0] + 1.6, out[1])
    sheet.wire(out, end)
    sheet.drawing.add(elm.Arrowhead().at(end).theta(0))
    sheet.write((end[0] - 0.2, end[1] + 0.5), "output", align="center", size=10)


def _timing_node(sheet: _Sheet, chip: Any, x: float) -> None:
    """Threshold and trigger on the timing capacitor."""
    corner = (x, chip.TRG[1])
    sheet.wire((x, chip.THR[1]), chip.THR)
    sheet.wire((x, chip.THR[1]), corner, chip.TRG)
    sheet.dot((x, chip.THR[1]))
    sheet.dot(corner)
    foot = (x, chip.TRG[1] - 1.8)
    sheet.place(elm.Capacitor(), corner, foot, role="timing_capacitor", side=-1)
    sheet.ground(foot)


def _steered(sheet: _Sheet, chip: Any, *, from_output: bool) -> None:
    """Two diodes and the knob between them; the common node is the output or the switch."""
    x, y = 1.8, float(chip.THR[1])
    top, middle, low = y + 2.5, y + 1.0, y - 1.0
    if from_output:
        node = top + 2.2
        sheet.place(elm.Resistor(), (x, node), (x, top), role="charge_resistor")
        around = (chip.OUT[0] + 0.5, chip.OUT[1])
        sheet.wire(chip.OUT, around, (around[0], node), (x, node))
        sheet.dot(around)
    else:
        node = top
        sheet.place(elm.Resistor(), (x, node + 2.0), (x, node), role="charge_resistor")
        sheet.supply((x, node + 2.0))
        sheet.wire((x, node), (4.3, node), (4.3, chip.DIS[1]), chip.DIS)
    sheet.dot((x, node))
    sheet.place(elm.Diode(), (x, top), (x, middle))
    if sheet.fitted("potentiometer"):
        pot = elm.Potentiometer().reverse()
        tap = sheet.place(pot, (x, middle), (x, low), role="potentiometer", side=-1).tap
    else:
        sheet.wire((x, middle), (x, low))
        tap = (x, y)
    sheet.place(elm.Resistor(), (x, low), (x, low - 1.9), role="discharge_resistor")
    left = x - 2.6
    sheet.wire((x, low - 1.9), (left, low - 1.9), (left, low))
    sheet.place(elm.Diode(), (left, low), (left, low + 1.6))
    sheet.wire((left, low + 1.6), (left, node), (x, node))
    sheet.wire(tap, (tap[0], y), (4.3, y))
    _timing_node(sheet, chip, 4.3)


def _classic(sheet: _Sheet, chip: Any, *, two_timer: bool) -> None:
    """Charge resistor, with the knob as a rheostat, discharge resistor, capacitor."""
    x, node = 3.4, float(chip.DIS[1])
    role = "frequency_potentiometer" if two_timer else "potentiometer"
    top = node + 1.8
    sheet.place(elm.Resistor(), (x, top), (x, node), role="charge_resistor")
    if sheet.fitted(role):
        sheet.place(elm.ResistorVar(), (x, top + 1.9), (x, top), role=role)
        top += 1.9
    sheet.supply((x, top))
    sheet.dot((x, node))
    sheet.wire((x, node), chip.DIS)
    sheet.place(elm.Resistor(), (x, node), (x, chip.THR[1]), role="discharge_resistor")
    _timing_node(sheet, chip, x)


def _pulse(sheet: _Sheet, chip: Any) -> None:
    """Monostable: resistor, with the knob where there is one, and capacitor."""
    x = float(chip.THR[0]) - 0.9
    node = (x, chip.THR[1])
    sheet.wire(node, chip.THR)
    sheet.wire((x, chip.DIS[1]), chip.DIS)
    sheet.dot((x, chip.DIS[1]))
    sheet.wire((x, chip.DIS[1]), node)
    top = float(chip.DIS[1]) + 1.9
    sheet.place(elm.Resistor(), (x, top), (x, chip.DIS[1]), role="pulse_resistor", side=-1)
    if sheet.chosen.circuit == "two-timer" and sheet.fitted("potentiometer"):
        sheet.place(elm.ResistorVar(), (x, top + 2.1), (x, top), role="potentiometer")
        top += 2.1
    sheet.supply((x, top))
    foot = (x - 1.9, chip.THR[1] - 1.7)
    sheet.wire(node, (foot[0], chip.THR[1]))
    sheet.place(elm.Capacitor(), (foot[0], chip.THR[1]), foot, role="pulse_capacitor")
    sheet.ground(foot)


def _edge_trigger(sheet: _Sheet, out: Any, chip: Any) -> None:
    """Falling edge through a capacitor; a resistor and a diode hold the trigger at the supply."""
    y = float(chip.TRG[1]) - 0.9
    x = float(out[0]) + 0.9
    sheet.wire(out, (x, out[1]), (x, y))
    sheet.place(elm.Capacitor(), (x, y), (x + 1.8, y), role="trigger_capacitor")
    node = (float(chip.TRG[0]) - 0.5, y)
    sheet.wire((x + 1.8, y), node, (node[0], chip.TRG[1]), chip.TRG)
    foot = y - 1.8
    for at, element, role in (
        (x + 2.2, elm.Resistor(), "trigger_resistor"), (node[0], elm.Diode(), ""),
    ):  # fmt: skip
        sheet.dot((at, y))
        sheet.place(element, (at, y), (at, foot), role=role)
        sheet.drawing.add(elm.Vdd().at((at, foot)).theta(0).flip())
        sheet.write((at, foot - 1.1), f"{sheet.chosen.supply:g} V", align="center", size=10)


def _capped(sheet: _Sheet, out: Any, chip: Any) -> None:
    """The astable holds the reset, and the trigger through a small RC."""
    x = float(out[0]) + 0.5
    sheet.wire(out, (x, out[1]))
    sheet.dot((x, out[1]))
    over = float(chip.RST[1]) + 2.6
    sheet.wire((x, out[1]), (x, over), (chip.RST[0], over), chip.RST)
    y = float(chip.TRG[1]) - 0.9
    sheet.wire((x, out[1]), (x, y))
    sheet.place(elm.Resistor(), (x, y), (x + 2.2, y), role="trigger_resistor")
    node = (float(chip.TRG[0]) - 0.5, y)
    sheet.wire((x + 2.2, y), node, (node[0], chip.TRG[1]), chip.TRG)
    sheet.dot(node)
    sheet.place(elm.Capacitor(), node, (node[0], y - 1.7), role="trigger_capacitor", side=-1)
    sheet.ground((node[0], y - 1.7))
