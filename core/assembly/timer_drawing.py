"""Sheet of the interrupter and of the low-voltage supply."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from core.assembly.board import Board, CircuitSheet, Pin, Point
from core.assembly.part import Part
from core.design.document import Design
from core.interrupter.circuits import circuit_named

Parts = Mapping[str, Part]
_TOP: Final = 11.0
_PINS: Final = (
    Pin("discharge", "L", 0.86),
    Pin("threshold", "L", 0.34),
    Pin("trigger", "L", 0.14),
    Pin("supply", "T", 0.3),
    Pin("reset", "T", 0.72),
    Pin("ground", "B", 0.3),
    Pin("control", "B", 0.72),
    Pin("output", "R", 0.5),
)
_BOX: Final = (5.8, 6.0)
_FLOOR: Final = 3.0
"""Height of a timer's lower edge."""


def interrupter_sheet(design: Design, parts: Parts) -> CircuitSheet | None:
    """Sheet of the interrupter; None where none is fitted."""
    if not design.interrupter.enabled:
        return None
    board = Board("interrupter", "Interrupter")
    _source(board, design, parts)
    return board.finished()


def chain_sheet(design: Design, parts: Parts) -> CircuitSheet | None:
    """Sheet of the low voltage and of what stands between interrupter and drive."""
    supplied = any(role in parts for role in ("low_supply", "regulator", "zener"))
    fitted = design.interrupter.enabled
    if not fitted and not supplied:
        return None
    board = Board("chain", "Low voltage and way to the drive" if fitted else "Low voltage")
    x = _low_voltage(board, parts) if supplied else 0.0
    if fitted:
        _chain(board, design, parts, x + 4.0)
    return board.finished()


def _low_voltage(board: Board, parts: Parts) -> float:
    board.wire((0, 0), (5.2, 0))
    board.earth((0, 0))
    if "low_supply" in parts:
        board.two_pole(parts["low_supply"], "source", (0, 0), (0, 5.0), reach=0.8)
        board.wire((0, 5.0), (5.2, 5.0))
    elif "regulator" in parts:
        pins = [Pin("input", "L", 0.5), Pin("output", "R", 0.5), Pin("common", "B", 0.5)]
        ends = board.block(parts["regulator"], (0.4, 3.8), (3.8, 2.4), pins, middle_shift=0.75)
        board.net(ends["input"], "MAIN +", align="right")
        board.wire(ends["common"], (ends["common"][0], 0))
        board.wire(ends["output"], (5.2, 5.0))
    else:
        board.net((0, 5.0), "MAIN +", align="right")
        board.two_pole(parts["zener_resistor"], "resistor", (0, 5.0), (2.6, 5.0))
        board.two_pole(parts["zener"], "zener", (2.6, 0), (2.6, 5.0))
        board.wire((2.6, 5.0), (5.2, 5.0))
    if "low_output" in parts:
        board.two_pole(parts["low_output"], "capacitor", (5.2, 5.0), (5.2, 0))
    board.net((5.2, 5.0), "LOW +")
    return 7.4


def _source(board: Board, design: Design, parts: Parts) -> None:
    """Timer or pulse source; ends at the net that carries its pulses."""
    if design.interrupter.given_by != "parts":
        pins = [Pin("supply", "T", 0.5), Pin("ground", "B", 0.5), Pin("output", "R", 0.5)]
        ends = board.block(parts["timer"], (0, 2.0), (6.4, 4.0), pins)
        board.net(ends["supply"], "LOW +")
        board.earth(ends["ground"])
        board.net(ends["output"], "PULSES")
        return
    name = design.interrupter.parts.circuit
    circuit = circuit_named(name)
    second = circuit.timers == 2
    ends = _timer(board, parts, "timer", (7.5, _FLOOR))
    if name in ("astable-classic", "two-timer"):
        pot = "frequency_potentiometer" if name == "two-timer" else "potentiometer"
        _classic(board, parts, pot, 3.5, ends)
    else:
        _steered(board, parts, 0.2, ends, output_driven=circuit.output_driven)
    board.net(ends["reset"], "LOW +")
    board.net(ends["output"], "ASTABLE" if second else "PULSES")
    if not second:
        return
    x = 18.5
    pulse = _timer(board, parts, "pulse_timer", (x + 10.6, _FLOOR))
    _monostable(board, parts, x + 8.4, pulse)
    _trigger(board, parts, x, pulse, edge=name == "two-timer")
    board.net(pulse["reset"], "LOW +" if name == "two-timer" else "ASTABLE")
    board.net(pulse["output"], "PULSES")


def _timer(board: Board, parts: Parts, role: str, corner: Point) -> dict[str, Point]:
    ends = board.block(parts[role], corner, _BOX, _PINS)
    supply, control = ends["supply"], ends["control"]
    board.net(supply, "LOW +", align="right")
    board.earth(ends["ground"])
    board.two_pole(parts[f"{role}_control"], "capacitor", control, (control[0], 0.6))
    board.earth((control[0], 0.6))
    at = corner[0] + _BOX[0] + 1.4
    board.net((at, _TOP + 1.2), "LOW +")
    board.two_pole(parts[f"{role}_decoupling"], "capacitor", (at, _TOP + 1.2), (at, _TOP - 0.8))
    board.earth((at, _TOP - 0.8))
    return ends


def _classic(board: Board, parts: Parts, pot: str, x: float, ends: dict[str, Point]) -> None:
    upper, lower = ends["discharge"][1], ends["threshold"][1]
    top = _TOP + 2.4
    board.net((x, top), "LOW +")
    if pot in parts:
        board.two_pole(parts["charge_resistor"], "resistor", (x, top), (x, top - 2.4))
        _rheostat(board, parts[pot], x, top - 2.4, upper)
    else:
        board.two_pole(parts["charge_resistor"], "resistor", (x, top), (x, upper))
    board.two_pole(parts["discharge_resistor"], "resistor", (x, upper), (x, lower))
    board.wire((x, upper), ends["discharge"])
    board.dot((x, upper))
    _capacitor(board, parts["timing_capacitor"], x, ends)


def _rheostat(board: Board, part: Part, x: float, top: float, bottom: float) -> None:
    """Potentiometer with its wiper tied to the lower end."""
    wiper = board.knob(part, (x, top), (x, bottom))
    board.wire(wiper, (wiper[0], bottom + 0.3), (x, bottom + 0.3))
    board.dot((x, bottom + 0.3))


def _capacitor(board: Board, part: Part, x: float, ends: dict[str, Point]) -> None:
    """Timing capacitor below the line to threshold and trigger."""
    lower, trigger = ends["threshold"][1], ends["trigger"][1]
    board.wire((x, lower), ends["threshold"])
    turn = ends["threshold"][0] - 0.5
    board.wire((turn, lower), (turn, trigger), ends["trigger"])
    board.dot((turn, lower))
    board.dot((x, lower))
    board.two_pole(part, "capacitor", (x, lower), (x, 0.6))
    board.earth((x, 0.6))


def _steered(
    board: Board, parts: Parts, x: float, ends: dict[str, Point], *, output_driven: bool
) -> None:
    """Two steering diodes around the potentiometer, whose wiper holds the capacitor."""
    node, lower = ends["discharge"][1] + 1.6, ends["threshold"][1]
    track, left, right = lower + 1.5, x, x + 4.6
    middle = (left + right) / 2
    board.wire((left, node), (right, node))
    if output_driven:
        board.wire((middle, node), (middle, node + 0.8))
        board.net((middle, node + 0.8), "OUTPUT")
        board.net((ends["output"][0], ends["output"][1] + 0.9), "OUTPUT")
        board.wire(ends["output"], (ends["output"][0], ends["output"][1] + 0.9))
        board.two_pole(
            parts["charge_resistor"], "resistor", (left, node), (left, node - 1.9), beside="left"
        )
    else:
        board.net((middle, node + 2.4), "LOW +")
        board.two_pole(parts["charge_resistor"], "resistor", (middle, node + 2.4), (middle, node))
        board.dot((middle, node))
        board.wire((right, node), (right + 0.9, node), (right + 0.9, ends["discharge"][1]))
        board.wire((right + 0.9, ends["discharge"][1]), ends["discharge"])
        board.dot((right, node))
        board.wire((left, node), (left, node - 1.9))
    board.two_pole(
        parts["steering_diode_1"], "diode", (left, node - 1.9), (left, track), beside="left"
    )
    board.two_pole(parts["discharge_resistor"], "resistor", (right, node - 1.9), (right, track))
    board.two_pole(
        parts["steering_diode_2"], "diode", (right, node - 1.9), (right, node), beside="left"
    )
    wiper = board.knob(parts["potentiometer"], (left, track), (right, track))
    board.wire(wiper, (middle, lower))
    _capacitor(board, parts["timing_capacitor"], middle, ends)


def _monostable(board: Board, parts: Parts, x: float, ends: dict[str, Point]) -> None:
    upper, lower = ends["discharge"][1], ends["threshold"][1]
    top = _TOP + 2.4
    board.net((x, top), "LOW +")
    if "potentiometer" in parts and "frequency_potentiometer" in parts:
        board.two_pole(parts["pulse_resistor"], "resistor", (x, top), (x, top - 2.4))
        _rheostat(board, parts["potentiometer"], x, top - 2.4, upper)
    else:
        board.two_pole(parts["pulse_resistor"], "resistor", (x, top), (x, upper))
    board.wire((x, upper), ends["discharge"])
    board.dot((x, upper))
    board.wire((x, upper), (x, lower), ends["threshold"])
    board.dot((x, lower))
    board.two_pole(parts["pulse_capacitor"], "capacitor", (x, lower), (x, 0.6), beside="left")
    board.earth((x, 0.6))


def _trigger(board: Board, parts: Parts, x: float, ends: dict[str, Point], *, edge: bool) -> None:
    """Trigger of the monostable: a falling edge through a capacitor, or a delayed level."""
    y = ends["trigger"][1]
    turn = ends["trigger"][0]
    level = 1.6 if edge else y
    if edge:
        board.net((x, level), "ASTABLE", align="right")
        board.two_pole(parts["trigger_capacitor"], "capacitor", (x, level), (x + 2.4, level))
        board.wire((x + 2.4, level), (turn - 0.6, level), (turn - 0.6, y), (turn, y))
        board.net((x + 2.4, 5.8), "LOW +")
        board.two_pole(
            parts["trigger_resistor"], "resistor", (x + 2.4, 5.8), (x + 2.4, level), beside="left"
        )
        board.dot((x + 2.4, level))
        board.net((x + 5.4, 4.6), "LOW +", align="right")
        board.two_pole(
            parts["steering_diode_1"], "diode", (x + 5.4, level), (x + 5.4, 4.6),
            beside="left",
        )  # fmt: skip
        board.dot((x + 5.4, level))
        return
    board.net((x, level), "ASTABLE", align="right")
    board.two_pole(parts["trigger_resistor"], "resistor", (x, level), (x + 2.4, level))
    board.wire((x + 2.4, level), (turn, level))
    board.dot((x + 2.4, level))
    board.two_pole(
        parts["trigger_capacitor"], "capacitor", (x + 2.4, level), (x + 2.4, 0.6), beside="left"
    )
    board.earth((x + 2.4, 0.6))


def _chain(board: Board, design: Design, parts: Parts, x: float) -> None:
    """Lamp and buffer on the pulses, and the net that goes to the drive."""
    y = 5.0
    board.net((x, y), "PULSES", align="right")
    end = x
    if "indicator" in parts:
        board.wire((x, y), (x + 1.2, y))
        end = x + 1.2
        board.dot((end, y))
        board.two_pole(parts["indicator_resistor"], "resistor", (end, y), (end, y - 2.2))
        board.two_pole(parts["indicator"], "led", (end, y - 2.2), (end, y - 4.4), reach=1.0)
        board.earth((end, y - 4.4))
    if "buffer" in parts:
        start, base = end, end + 4.2
        board.wire((start, y), (start + 1.6, y))
        board.two_pole(parts["buffer_base"], "resistor", (start + 1.6, y), (base, y))
        collector, emitter = board.npn(parts["buffer"], (base, y))
        board.earth(emitter)
        up = (collector[0], collector[1] + 0.6)
        board.wire(collector, up)
        board.dot(up)
        board.two_pole(
            parts["buffer_collector"], "resistor", (up[0], up[1] + 2.4), up, beside="right"
        )
        board.net((up[0], up[1] + 2.4), "LOW +")
        # The words of the transistor and of its resistor stand right of it.
        _goal(board, design, parts, up, reach=4.4)
        return
    _goal(board, design, parts, (end, y), reach=1.8)


def _goal(board: Board, design: Design, parts: Parts, at: Point, *, reach: float) -> None:
    """End of the chain: the net of the drive that it acts on, or the switch in its supply."""
    end = (at[0] + reach, at[1])
    board.wire(at, end)
    if "supply_switch" not in parts:
        board.net(end, "PULL DOWN" if design.drive.kind == "direct" else "ENABLE")
        return
    pins = [
        Pin("on", "L", 0.5), Pin("supply", "T", 0.5), Pin("ground", "B", 0.5),
        Pin("output", "R", 0.5),
    ]  # fmt: skip
    ends = board.block(parts["supply_switch"], (end[0] + 0.5, end[1] - 2.2), (6.0, 4.4), pins)
    board.net(ends["supply"], "LOW +")
    board.earth(ends["ground"])
    board.net(ends["output"], "LOW +, SWITCHED")
