"""Circuit drawing of a timer set and its chain to the stage as SVG, each part with its value."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import schemdraw.elements as elm

from app.screens.interrupter.chain_drawing import Chain, draw_chain
from app.screens.interrupter.circuit_sheet import SMALL, WIPER_TEXT, Ink, Sheet, new_drawing
from core.assembly.board import drawing_lock
from core.interrupter.circuits import circuit_named
from core.interrupter.sets import TimerSet
from core.units import percent


def circuit_svg(chosen: TimerSet, chain: Chain, ink: Ink, *, references: Mapping[str, str]) -> str:
    """Drawing of a set as SVG text; `WIPER_TEXT` in it stands for the knob's place.

    Parameters
    ----------
    chosen : TimerSet
        Timer and the parts that set its timing.
    chain : Chain
        What stands between the timer's output and the stage.
    ink : Ink
        Colours.
    references : mapping
        Reference designators by role.
    """
    with drawing_lock():
        drawing = new_drawing(ink)
        sheet = Sheet(drawing, ink, chosen, references)
        draw_chain(sheet, chain, _timers(sheet).OUT)
        return str(drawing.get_imagedata("svg").decode())


def _timers(sheet: Sheet) -> Any:
    """The timers with what sets their timing; returns the one that makes the pulses."""
    circuit = circuit_named(sheet.chosen.circuit)
    chip = sheet.timer(6.0, 0.0, "timer")
    sheet.wire(chip.RST, chip.VCC)
    if circuit.steered:
        _steered(sheet, chip, from_output=circuit.output_driven)
    else:
        _classic(sheet, chip, two_timer=circuit.name == "two-timer")
    if "pulse_resistor" not in circuit.roles:
        return chip
    second = sheet.timer(18.8, 0.0, "pulse_timer")
    if circuit.name == "two-timer":
        sheet.wire(second.RST, second.VCC)
        _edge_trigger(sheet, chip.OUT, second)
    else:
        _capped(sheet, chip.OUT, second)
    _pulse(sheet, second)
    return second


def with_wiper(svg: str, travel: float) -> bytes:
    """Drawing with the knob's travel written in."""
    return svg.replace(WIPER_TEXT, f"at {percent(travel)}").encode()


def _timing_node(sheet: Sheet, chip: Any, x: float) -> None:
    """Threshold and trigger on the timing capacitor."""
    corner = (x, chip.TRG[1])
    sheet.wire((x, chip.THR[1]), chip.THR)
    sheet.wire((x, chip.THR[1]), corner, chip.TRG)
    sheet.dot((x, chip.THR[1]))
    sheet.dot(corner)
    foot = (x, chip.TRG[1] - 1.8)
    sheet.place(elm.Capacitor(), corner, foot, role="timing_capacitor", side=-1)
    sheet.ground(foot)


def _steered(sheet: Sheet, chip: Any, *, from_output: bool) -> None:
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
        sheet.wire((x, node), (4.8, node), (4.8, chip.DIS[1]), chip.DIS)
    sheet.dot((x, node))
    sheet.place(elm.Diode(), (x, top), (x, middle), role="steering_diode_1")
    if sheet.fitted("potentiometer"):
        pot = elm.Potentiometer().reverse()
        tap = sheet.place(pot, (x, middle), (x, low), role="potentiometer", side=-1).tap
    else:
        sheet.wire((x, middle), (x, low))
        tap = (x, y)
    sheet.place(elm.Resistor(), (x, low), (x, low - 1.9), role="discharge_resistor")
    left = x - 2.9
    sheet.wire((x, low - 1.9), (left, low - 1.9), (left, low))
    sheet.place(elm.Diode(), (left, low), (left, low + 1.6), role="steering_diode_2", side=-1)
    sheet.wire((left, low + 1.6), (left, node), (x, node))
    sheet.wire(tap, (tap[0], y), (4.8, y))
    _timing_node(sheet, chip, 4.8)


def _classic(sheet: Sheet, chip: Any, *, two_timer: bool) -> None:
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


def _pulse(sheet: Sheet, chip: Any) -> None:
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
    foot = (x - 1.9, chip.THR[1] - 1.4)
    sheet.wire(node, (foot[0], chip.THR[1]))
    sheet.place(elm.Capacitor(), (foot[0], chip.THR[1]), foot, role="pulse_capacitor")
    sheet.ground(foot)


def _edge_trigger(sheet: Sheet, out: Any, chip: Any) -> None:
    """Falling edge through a capacitor; a resistor and a diode hold the trigger at the supply."""
    y = float(chip.TRG[1]) - 0.9
    x = float(out[0]) + 0.9
    sheet.wire(out, (x, out[1]), (x, y))
    sheet.place(elm.Capacitor(), (x, y), (x + 1.8, y), role="trigger_capacitor")
    node = (float(chip.TRG[0]) - 0.5, y)
    sheet.wire((x + 1.8, y), node, (node[0], chip.TRG[1]), chip.TRG)
    foot = y - 1.8
    for at, element, role in (
        (x + 2.2, elm.Resistor(), "trigger_resistor"),
        (node[0], elm.Diode(), "steering_diode_1"),
    ):
        sheet.dot((at, y))
        sheet.place(element, (at, y), (at, foot), role=role)
        sheet.drawing.add(elm.Vdd().at((at, foot)).theta(0).flip())
        sheet.write((at, foot - 1.1), f"{sheet.chosen.supply:g} V", align="center", size=SMALL)


def _capped(sheet: Sheet, out: Any, chip: Any) -> None:
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
