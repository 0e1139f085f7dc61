"""Sheets of the interrupter, of the way to the drive, and of the low-voltage supply.

Build screen, build sheet and interrupter screen all show these.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from burstwise.core.assembly.board import Board, Pin
from burstwise.core.assembly.drawn import CircuitSheet, Point
from burstwise.core.assembly.low_voltage_parts import low_voltage_fitted
from burstwise.core.assembly.part import Part
from burstwise.core.design.document import Design
from burstwise.core.interrupter.circuits import circuit_named

Parts = Mapping[str, Part]
_TOP: Final = 11.0
_PINS: Final = (
    Pin("discharge", "L", 0.96, "7"),
    Pin("threshold", "L", 0.24, "6"),
    Pin("trigger", "L", 0.06, "2"),
    Pin("supply", "T", 0.3, "8"),
    Pin("reset", "T", 0.72, "4"),
    Pin("ground", "B", 0.3, "1"),
    Pin("control", "B", 0.72, "5"),
    Pin("output", "R", 0.5, "3"),
)
"""Pins of a timer with their numbers in the eight-pin package; from memory."""
_BOX: Final = (5.8, 6.0)
_FLOOR: Final = 3.0
"""Height of a timer's lower edge."""
_FOOT: Final = 0.6
"""Height of the earth symbols below the timing parts."""


def interrupter_sheets(
    design: Design, parts: Parts, *, place: str = ""
) -> tuple[CircuitSheet, ...]:
    """One sheet for each timer of the interrupter; none where it is not fitted.

    Parameters
    ----------
    design : Design
        The design.
    parts : mapping
        Its parts by role.
    place : str
        Words about the knob's place, to stand beside the potentiometer of the duty or on-time.
    """
    if "timer" not in parts:
        return ()
    notes = {
        f"{role}_decoupling": f"beside {parts[role].reference}"
        for role in ("timer", "pulse_timer")
        if role in parts
    }
    if place:
        notes["potentiometer"] = place
    board = Board("interrupter", "Interrupter", notes)
    if "timer_control" not in parts:
        _pulse_source(board, parts)
        return (board.finished(),)
    name = design.interrupter.parts.circuit
    if "pulse_timer" not in parts:
        _astable(board, parts, name, out="PULSES")
        return (board.finished(),)
    _astable(board, parts, name, out="ASTABLE")
    second = Board("pulse", "Interrupter, timer of the on-time", notes)
    _monostable(second, parts, edge=name == "two-timer")
    return board.finished(), second.finished()


def chain_sheet(design: Design, parts: Parts) -> CircuitSheet | None:
    """Sheet of the low voltage and of what stands between interrupter and drive."""
    supplied, fitted = low_voltage_fitted(parts), "timer" in parts
    if not fitted and not supplied:
        return None
    way, low = "Way to the drive", "Low voltage"
    title = f"{low} and {way.lower()}" if fitted and supplied else way if fitted else low
    board = Board("chain", title)
    x = _low_voltage(board, parts) if supplied else 0.0
    if fitted:
        _chain(board, design, parts, x + 4.0)
    return board.finished()


def _low_voltage(board: Board, parts: Parts) -> float:
    """Supply at the left; returns its right end."""
    top, foot = 5.0, 1.4
    if "low_supply" in parts:
        board.two_pole(parts["low_supply"], "source", (0, top), (0, foot), reach=0.8)
        board.text((0.25, (top + foot) / 2 + 1.2), "+")
        board.earth((0, foot))
        board.wire((0, top), (1.0, top))
        board.net((1.0, top), "LOW +")
        return 1.2 + board.words_width(parts["low_supply"])
    x = 6.2
    if "regulator" in parts:
        pins = [Pin("input", "L", 0.5), Pin("output", "R", 0.5), Pin("common", "B", 0.5)]
        corner, size = (0.4, top - 1.7), (4.4, 3.4)
        ends = board.block(parts["regulator"], corner, size, pins, lift=0.85)
        board.net(ends["input"], "MAIN +", align="right")
        board.earth(ends["common"])
        board.wire(ends["output"], (x, top))
    else:
        board.net((0, top), "MAIN +", align="right")
        board.two_pole(parts["zener_resistor"], "resistor", (0, top), (2.8, top))
        board.two_pole(parts["zener"], "zener", (2.8, foot), (2.8, top))
        board.earth((2.8, foot))
        board.wire((2.8, top), (x, top))
    board.two_pole(parts["low_output"], "capacitor", (x, top), (x, foot))
    board.earth((x, foot))
    board.wire((x, top), (x + 0.8, top))
    board.net((x + 0.8, top), "LOW +")
    return x + 2.4


def _pulse_source(board: Board, parts: Parts) -> None:
    pins = [Pin("supply", "T", 0.5), Pin("ground", "B", 0.5), Pin("output", "R", 0.5)]
    ends = board.block(parts["timer"], (0, 2.0), (7.0, 4.0), pins)
    board.net(ends["supply"], "LOW +")
    board.earth(ends["ground"])
    board.net(ends["output"], "PULSES")


def _astable(board: Board, parts: Parts, name: str, *, out: str) -> None:
    """The timer that runs by itself; its output is the net `out`."""
    circuit = circuit_named(name)
    ends = _timer(board, parts, "timer", (7.5, _FLOOR))
    if circuit.steered:
        _steered(board, parts, 0.2, ends, out=out if circuit.output_driven else "")
    else:
        pot = "frequency_potentiometer" if circuit.timers == 2 else "potentiometer"
        _classic(board, parts, pot, 3.5, ends)
    board.net(ends["reset"], "LOW +")
    board.net(ends["output"], out)


def _monostable(board: Board, parts: Parts, *, edge: bool) -> None:
    """The timer that the other one triggers."""
    ends = _timer(board, parts, "pulse_timer", (11.4, _FLOOR))
    _pulse(board, parts, 9.2, ends, knob=edge and "potentiometer" in parts)
    _trigger(board, parts, ends, edge=edge)
    board.net(ends["reset"], "LOW +" if edge else "ASTABLE")
    board.net(ends["output"], "PULSES")


def _timer(board: Board, parts: Parts, role: str, corner: Point) -> dict[str, Point]:
    ends = board.block(parts[role], corner, _BOX, _PINS, lift=0.9)
    supply, control = ends["supply"], ends["control"]
    board.net(supply, "LOW +", align="right")
    board.earth(ends["ground"])
    board.two_pole(parts[f"{role}_control"], "capacitor", control, (control[0], _FOOT))
    board.earth((control[0], _FOOT))
    at = corner[0] + _BOX[0] + 1.4
    board.net((at, _TOP + 1.2), "LOW +")
    board.two_pole(parts[f"{role}_decoupling"], "capacitor", (at, _TOP + 1.2), (at, _TOP - 0.8))
    board.earth((at, _TOP - 0.8))
    return ends


def _classic(board: Board, parts: Parts, pot: str, x: float, ends: dict[str, Point]) -> None:
    upper, lower = ends["discharge"][1], ends["threshold"][1]
    _pull_up(board, parts["charge_resistor"], parts.get(pot), x, upper)
    board.two_pole(parts["discharge_resistor"], "resistor", (x, upper), (x, lower))
    board.wire((x, upper), ends["discharge"])
    _capacitor(board, parts["timing_capacitor"], x, ends)


def _pull_up(board: Board, part: Part, pot: Part | None, x: float, bottom: float) -> None:
    """Resistor from the supply, with the potentiometer as a rheostat below it where there is one.

    The wiper is tied to the lower end, so that a lifted wiper leaves the whole track.
    """
    top = _TOP + 2.4
    board.net((x, top), "LOW +")
    if pot is None:
        board.two_pole(part, "resistor", (x, top), (x, bottom))
        return
    middle, tie = top - 2.2, bottom + 0.5
    board.two_pole(part, "resistor", (x, top), (x, middle))
    wiper = board.knob(pot, (x, middle), (x, tie))
    board.wire(wiper, (wiper[0], tie), (x, tie), (x, bottom))


def _capacitor(board: Board, part: Part, x: float, ends: dict[str, Point]) -> None:
    """Timing capacitor below the line to threshold and trigger."""
    lower, trigger = ends["threshold"][1], ends["trigger"][1]
    board.wire((x, lower), ends["threshold"])
    turn = ends["threshold"][0] - 0.5
    board.wire((turn, lower), (turn, trigger), ends["trigger"])
    board.two_pole(part, "capacitor", (x, lower), (x, _FOOT))
    board.earth((x, _FOOT))


def _steered(board: Board, parts: Parts, x: float, ends: dict[str, Point], *, out: str) -> None:
    """Two steering diodes around the potentiometer, whose wiper holds the capacitor.

    The branches start at the net `out` of the output, or at the discharge pin where it is empty.
    """
    discharge, lower = ends["discharge"], ends["threshold"][1]
    node, track, left, right = discharge[1] + 1.5, lower + 1.5, x, x + 4.6
    middle, turn = (left + right) / 2, track + 1.5
    board.wire((left, node), (right, node))
    if out:
        board.wire((middle, node), (middle, node + 0.8))
        board.net((middle, node + 0.8), out)
        board.unused(discharge)
        charge = parts["charge_resistor"]
        board.two_pole(charge, "resistor", (left, node), (left, turn), beside="left")
    else:
        board.net((middle, node + 2.4), "LOW +")
        board.two_pole(parts["charge_resistor"], "resistor", (middle, node + 2.4), (middle, node))
        board.wire((right, node), (right + 0.9, node), (right + 0.9, discharge[1]), discharge)
        board.wire((left, node), (left, turn))
    board.two_pole(parts["steering_diode_1"], "diode", (left, turn), (left, track), beside="left")
    board.two_pole(parts["discharge_resistor"], "resistor", (right, turn), (right, track))
    board.two_pole(parts["steering_diode_2"], "diode", (right, turn), (right, node), beside="left")
    if "potentiometer" in parts:
        wiper = board.knob(parts["potentiometer"], (left, track), (right, track))
    else:
        board.wire((left, track), (right, track))
        wiper = (middle, track)
    board.wire(wiper, (middle, lower))
    _capacitor(board, parts["timing_capacitor"], middle, ends)


def _pulse(board: Board, parts: Parts, x: float, ends: dict[str, Point], *, knob: bool) -> None:
    """What sets the on-time of the monostable."""
    upper, lower = ends["discharge"][1], ends["threshold"][1]
    pot = parts["potentiometer"] if knob else None
    _pull_up(board, parts["pulse_resistor"], pot, x, upper)
    board.wire((x, upper), ends["discharge"])
    board.wire((x, upper), (x, lower), ends["threshold"])
    board.two_pole(parts["pulse_capacitor"], "capacitor", (x, lower), (x, _FOOT), beside="left")
    board.earth((x, _FOOT))


def _trigger(board: Board, parts: Parts, ends: dict[str, Point], *, edge: bool) -> None:
    """Trigger of the monostable: a falling edge through a capacitor, or a delayed level."""
    trigger, node = ends["trigger"], 2.4
    y = trigger[1]
    board.net((0, y), "ASTABLE", align="right")
    first, second = parts["trigger_capacitor"], parts["trigger_resistor"]
    if edge:
        board.two_pole(first, "capacitor", (0, y), (node, y))
        top = y + 3.2
        board.net((node, top), "LOW +")
        board.two_pole(second, "resistor", (node, top), (node, y))
        diode = node + 2.9
        board.net((diode, top), "LOW +")
        board.two_pole(parts["steering_diode_1"], "diode", (diode, y), (diode, top))
    else:
        board.two_pole(second, "resistor", (0, y), (node, y))
        board.two_pole(first, "capacitor", (node, y), (node, _FOOT))
        board.earth((node, _FOOT))
    board.wire((node, y), trigger)


def _chain(board: Board, design: Design, parts: Parts, x: float) -> None:
    """Lamp and buffer on the pulses, and the net that goes to the drive."""
    y = 5.0
    board.net((x, y), "PULSES", align="right")
    end = x
    if "indicator" in parts:
        board.wire((x, y), (x + 1.2, y))
        end = x + 1.2
        board.two_pole(parts["indicator_resistor"], "resistor", (end, y), (end, y - 2.2))
        board.two_pole(parts["indicator"], "led", (end, y - 2.2), (end, y - 4.4), reach=1.0)
        board.earth((end, y - 4.4))
    if "buffer" not in parts:
        _goal(board, design, parts, (end, y), reach=3.8)
        return
    start, base = end + 1.6, end + 4.2
    board.wire((end, y), (start, y))
    board.two_pole(parts["buffer_base"], "resistor", (start, y), (base, y))
    collector, emitter = board.npn(parts["buffer"], (base, y))
    board.earth(emitter)
    up = (collector[0], collector[1] + 0.6)
    board.wire(collector, up)
    board.two_pole(parts["buffer_collector"], "resistor", (up[0], up[1] + 2.4), up)
    board.net((up[0], up[1] + 2.4), "LOW +")
    # The words of the transistor stand right of it, below the wire.
    _goal(board, design, parts, up, reach=0.6 + board.words_width(parts["buffer"]))


def _goal(board: Board, design: Design, parts: Parts, at: Point, *, reach: float) -> None:
    """End of the chain: the net of the drive that it acts on, or the switch in its supply.

    A switch stands `reach` away.
    """
    direct = design.drive.kind == "direct"
    if "supply_switch" not in parts:
        end = (at[0] + 2.6, at[1])
        board.wire(at, end)
        board.net(end, "PULL DOWN" if direct else "ENABLE")
        level = design.interrupter.chain.active_level
        words = "high holds the gate down" if direct else f"{level} while the stage runs"
        board.text((end[0] + 0.25, end[1] + 0.45), words, size=11)
        return
    pins = [
        Pin("on", "L", 0.5), Pin("supply", "T", 0.5), Pin("ground", "B", 0.5),
        Pin("output", "R", 0.5),
    ]  # fmt: skip
    corner = (at[0] + reach + 0.5, at[1] - 2.2)
    ends = board.block(parts["supply_switch"], corner, (7.0, 4.4), pins)
    board.wire(at, ends["on"])
    board.net(ends["supply"], "LOW +")
    board.earth(ends["ground"])
    board.net(ends["output"], "LOW +, SWITCHED")
