"""Drawing of the two loops that have to be short: the drain's fast loop and the gate's."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from burstwise.core.assembly.board import Board, Pin, Symbol, drawing
from burstwise.core.assembly.drawn import CircuitSheet, Point
from burstwise.core.assembly.layout_notes import fast_loop_figures, gate_loop_figures
from burstwise.core.assembly.part import Part
from burstwise.core.assembly.parts import PartsList
from burstwise.core.assembly.symbol_style import SymbolStyle
from burstwise.core.evaluate.results import Results

_DRAIN: Final = 7.4
_SOURCE: Final = 2.6
"""Heights of the drain's line and of the source's."""
_INSIDE: Final = 0.35
"""Room between a loop's wires and the dashed line that marks it."""


def fast_loop(
    results: Results, parts: PartsList, *, style: SymbolStyle = SymbolStyle.IEC
) -> CircuitSheet:
    """Transistor with what stands right at its pins: snubber, clamp, shunt, gate and driver.

    Each part is drawn where its leads count, the driver's return at the source: at the source pin
    itself, or at the lower end of a shunt that sits right below it.

    Parameters
    ----------
    results : Results
        Evaluated design.
    parts : PartsList
        Its parts.
    style : SymbolStyle
        Standard of the symbols.
    """
    known = parts.by_role
    with drawing(style):
        board = Board("fast-loop", "Short loops: what sits right at the transistor's pins")
        gate, pin = board.mosfet(known["switch"], (0.0, 6.0))
        board.wire((0.0, 6.0), (0.0, _DRAIN), (0.0, _DRAIN + 1.0))
        board.net((0.0, _DRAIN + 1.0), "PRIMARY", align="right")
        board.wire(pin, (0.0, _SOURCE))
        zero = _below_source(board, known)
        _at_drain(board, results, known)
        _at_gate(board, results, known, gate, zero)
        return board.finished()


def _below_source(board: Board, known: Mapping[str, Part]) -> float:
    """Shunt, if there is one, and 0 V; returns the height of the driver's return."""
    if "shunt" not in known:
        board.wire((0.0, _SOURCE), (0.0, _SOURCE - 0.8))
        board.earth((0.0, _SOURCE - 0.8))
        return _SOURCE
    board.two_pole(known["shunt"], "resistor", (0.0, _SOURCE), (0.0, 0.6))
    board.wire((0.0, 0.6), (0.0, 0.0))
    board.earth((0.0, 0.0))
    return 0.6


def _at_drain(board: Board, results: Results, known: Mapping[str, Part]) -> None:
    """Clamp and snubber from the drain pin to the source pin, with their loop marked."""
    at = max(2.2, 0.6 + board.words_width(known["switch"])) + 0.8
    if "shunt" in known:
        at = max(at, 1.2 + board.words_width(known["shunt"]))
    last = 0.0
    if "drain_clamp" in known:
        board.two_pole(known["drain_clamp"], "zener", (at, _SOURCE), (at, _DRAIN))
        last, at = at, at + 1.2 + board.words_width(known["drain_clamp"])
    if "snubber_resistor" in known:
        middle = (_DRAIN + _SOURCE) / 2
        board.two_pole(known["snubber_resistor"], "resistor", (at, _DRAIN), (at, middle))
        board.two_pole(known["snubber_capacitor"], "capacitor", (at, middle), (at, _SOURCE))
        last = at
    words = f"drain: {fast_loop_figures(results)}"
    if last:
        board.wire((0.0, _DRAIN), (last, _DRAIN))
        board.wire((0.0, _SOURCE), (last, _SOURCE))
        board.loop((2.0 * _INSIDE, _DRAIN - _INSIDE), (last - _INSIDE, _SOURCE + _INSIDE))
        words = f"fast loop: {fast_loop_figures(results)}"
    board.text((0.5, _DRAIN + 0.6), words, size=11)


def _at_gate(
    board: Board, results: Results, known: Mapping[str, Part], gate: Point, zero: float
) -> None:
    """Gate resistor, resistor to the source and driver; or clamps of a direct drive."""
    at: Point = (gate[0] - 0.8, gate[1])
    board.wire(gate, at)
    held = known.get("gate_source_resistor")
    if held is not None:
        at = _hung(board, held, "resistor", at)
    if "gate_clamp_high" in known:
        at = _gate_clamps(board, known["gate_clamp_high"], known["gate_clamp_low"], at)
    if "driver" in known:
        _driver(board, results, known, at, zero)
    else:
        board.wire(at, (at[0] - 0.8, at[1]))
        board.net((at[0] - 0.8, at[1]), "GATE", align="right")


def _hung(board: Board, part: Part, symbol: Symbol, at: Point) -> Point:
    """Part from the gate's line to the source's, left of a place; returns its upper end."""
    x = at[0] - 1.4 - board.words_width(part)
    board.wire(at, (x, at[1]))
    board.two_pole(part, symbol, (x, _SOURCE), (x, at[1]))
    board.wire((x, _SOURCE), (0.0, _SOURCE))
    return (x, at[1])


def _gate_clamps(board: Board, high: Part, low: Part, at: Point) -> Point:
    """Clamps between gate and source pins, as in the drive's sheet."""
    if low.kind != "Zener diode":
        return _hung(board, low, "diode", _hung(board, high, "zener", at))
    x = at[0] - 1.4 - max(board.words_width(high), board.words_width(low))
    middle = (x, (at[1] + _SOURCE) / 2)
    board.wire(at, (x, at[1]))
    board.two_pole(high, "zener", middle, (x, at[1]))
    board.two_pole(low, "zener", middle, (x, _SOURCE))
    board.wire((x, _SOURCE), (0.0, _SOURCE))
    return (x, at[1])


def _driver(
    board: Board, results: Results, known: Mapping[str, Part], at: Point, zero: float
) -> None:
    """Driver with its decoupling, back to the source at `zero`."""
    resistor = known.get("gate_resistor")
    start: Point = (at[0] - 1.4 - (0.0 if resistor is None else board.words_width(resistor)), at[1])
    if resistor is None:
        board.wire(start, at)
    else:
        board.two_pole(resistor, "resistor", start, at)
    wide, high = 6.2, 3.4
    corner: Point = (start[0] - 0.5 - wide, at[1] - high / 2)
    pins = [Pin("supply", "T", 0.5), Pin("ground", "B", 0.5), Pin("output", "R", 0.5)]
    ends = board.block(known["driver"], corner, (wide, high), pins)
    up, down = ends["supply"], (ends["ground"][0], zero)
    x, room = corner[0] - 0.8, start[0] - 0.2
    board.wire(up, (up[0], up[1] + 0.4), (x - 0.8, up[1] + 0.4))
    board.net((x - 0.8, up[1] + 0.4), "LOW +", align="right")
    board.two_pole(
        known["driver_decoupling"], "capacitor", (x, up[1] + 0.4), (x, zero), beside="left"
    )
    board.wire((x, zero), down)
    board.wire(ends["ground"], down, (0.0, zero))
    board.loop((room, at[1] - _INSIDE), (-2.5 * _INSIDE, zero + _INSIDE))
    board.text((corner[0], up[1] + 1.1), f"gate loop: {gate_loop_figures(results)}", size=11)
