"""Circuit drawing of a design, drawn from its list of parts."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import Final

from core.assembly.board import Board, CircuitSheet, Pin, Point, drawing_lock
from core.assembly.part import Part
from core.assembly.parts import PartsList, parts_list
from core.assembly.timer_drawing import chain_sheet, interrupter_sheet
from core.evaluate.results import Results

RAIL: Final = 10.0
"""Height of the supply rail in the stage's sheet."""
_DRAIN: Final = 6.4
_LETTER: Final = 0.21
"""Width of a letter in drawing units."""


def circuit(results: Results, parts: PartsList | None = None) -> tuple[CircuitSheet, ...]:
    """Sheets of the circuit: stage with main supply, drive, interrupter, low voltage and chain.

    Parameters
    ----------
    results : Results
        Evaluated design.
    parts : PartsList, optional
        Its parts; made here if not given.
    """
    found = (parts or parts_list(results)).by_role
    with drawing_lock():
        sheets = [_stage_sheet(results, found), _drive_sheet(results, found)]
        timer = interrupter_sheet(results.design, found)
        chain = chain_sheet(results.design, found)
        return (*sheets, *(sheet for sheet in (timer, chain) if sheet is not None))


def _stage_sheet(results: Results, parts: Mapping[str, Part]) -> CircuitSheet:
    board = Board("stage", "Main supply, stage and protection")
    x = _supply_side(board, parts)
    _primary_and_switch(board, results, parts, x)
    end = _protection(board, parts, x)
    clear = x + 0.55 + _LETTER * len(parts["switch"].drawn_text)
    _secondary(board, parts, max(end, clear) + 4.0)
    board.wire((0, 0), (end, 0))
    return board.finished()


def _supply_side(board: Board, parts: Mapping[str, Part]) -> float:
    """Supply, fuse and capacitors; returns the place of the primary."""
    board.two_pole(parts["supply"], "source", (0, 0), (0, RAIL), beside="left", reach=0.8)
    if "fuse" in parts:
        board.two_pole(parts["fuse"], "fuse", (0, RAIL), (2.6, RAIL))
    else:
        board.wire((0, RAIL), (2.6, RAIL))
    branches = (("bulk", "polar"), ("bleed", "resistor"), ("bus_film", "capacitor"))
    x = 2.6
    for role, symbol in branches:
        if role not in parts:
            continue
        board.two_pole(parts[role], symbol, (x, RAIL), (x, 0))  # type: ignore[arg-type]
        board.dot((x, RAIL))
        board.dot((x, 0))
        x += 2.7
    board.wire((2.6, RAIL), (x + 0.8, RAIL))
    board.wire((x + 0.8, RAIL), (x + 0.8, RAIL + 0.7))
    board.dot((x + 0.8, RAIL))
    board.net((x + 0.8, RAIL + 0.7), "MAIN +")
    board.earth((1.3, 0))
    board.text((1.75, -0.45), "0 V", size=12)
    return x + 0.8


def _primary_and_switch(
    board: Board, results: Results, parts: Mapping[str, Part], x: float
) -> None:
    board.two_pole(parts["primary"], "inductor", (x, RAIL), (x, _DRAIN), reach=0.7)
    normal = results.design.drive.feedback_sense == "normal"
    board.mark((x - 0.45, RAIL - 0.9 if normal else _DRAIN + 0.9))
    board.wire((x, _DRAIN), (x, 4.6))
    board.dot((x, _DRAIN))
    gate, source = board.mosfet(parts["switch"], (x, 4.6))
    board.wire(gate, (gate[0] - 0.4, gate[1]))
    board.net((gate[0] - 0.4, gate[1]), "GATE", align="right")
    if "shunt" in parts:
        board.wire(source, (x, 2.6))
        board.two_pole(parts["shunt"], "resistor", (x, 2.6), (x, 0), reach=0.5)
        board.dot((x, 2.6))
        board.wire((x, 2.6), (x - 0.9, 2.6))
        board.net((x - 0.9, 2.6), "SHUNT", align="right")
    else:
        board.wire(source, (x, 0))


def _protection(board: Board, parts: Mapping[str, Part], x: float) -> float:
    """What hangs on the drain; returns the right end of the 0 V line."""
    # The text of the transistor runs to the right below the drain node.
    at = x + max(2.6, 0.55 + _LETTER * len(parts["switch"].drawn_text)) + 0.6
    last = x
    if "drain_clamp" in parts:
        board.two_pole(parts["drain_clamp"], "zener", (at, 0), (at, _DRAIN))
        last, at = at, at + 2.8
    if "snubber_resistor" in parts:
        board.two_pole(parts["snubber_resistor"], "resistor", (at, _DRAIN), (at, 3.2))
        board.two_pole(parts["snubber_capacitor"], "capacitor", (at, 3.2), (at, 0))
        last, at = at, at + 2.8
    if "reservoir_diode" in parts:
        end = at + 3.4
        board.two_pole(parts["reservoir_diode"], "diode", (at, _DRAIN), (end, _DRAIN))
        board.two_pole(parts["reservoir_capacitor"], "capacitor", (end, _DRAIN), (end, 0))
        board.two_pole(parts["reservoir_resistor"], "resistor", (end, RAIL), (end, _DRAIN))
        board.wire((x, RAIL), (end, RAIL))
        board.dot((end, _DRAIN))
        board.wire((last, _DRAIN), (at, _DRAIN))
        board.wire((x, _DRAIN), (last, _DRAIN))
        return end
    board.wire((x, _DRAIN), (last, _DRAIN))
    return last


def _secondary(board: Board, parts: Mapping[str, Part], x: float) -> None:
    board.two_pole(parts["secondary"], "inductor", (x, 3.0), (x, 7.4), beside="left", reach=0.7)
    board.mark((x + 0.45, 3.9))
    board.wire((x, 7.4), (x, 8.4), (x + 2.4, 8.4), (x + 2.4, 6.6))
    board.dot((x, 8.4))
    board.two_pole(parts["top_load"], "capacitor", (x + 2.4, 6.6), (x + 2.4, 4.2))
    board.wire((x + 2.4, 4.2), (x + 2.4, 3.4))
    board.earth((x + 2.4, 3.4))
    board.text((x + 2.4, 2.2), "earth plane", align="center", size=12)
    board.wire((x, 3.0), (x, 2.0))
    board.net((x, 2.0), "BASE")
    board.text((x, 8.85), "top", align="center", size=12)


def _drive_sheet(results: Results, parts: Mapping[str, Part]) -> CircuitSheet:
    board = Board("drive", "Drive")
    if results.design.drive.kind == "direct":
        _direct(board, parts)
    else:
        _gated(board, results, parts)
    return board.finished()


def _bias_and_clamps(board: Board, parts: Mapping[str, Part], where: str, *, rail: float) -> float:
    """Signal line at height 4 with bias and clamps on it; returns its right end."""
    line, x = 4.0, 2.2
    board.net((0, line), "BASE", align="right")
    for end, top, bottom in (("upper", rail, line), ("lower", line, 0.0)):
        part = parts.get(f"{where}_bias_{end}")
        board.two_pole(part, "resistor", (x, top), (x, bottom))
    if f"{where}_bias_upper" in parts:
        board.net((x, rail), "LOW +")
    board.dot((x, line))
    low = parts.get(f"{where}_clamp_low")
    if low is None:
        return x
    x += 3.2
    if low.kind == "Zener diode":
        board.two_pole(parts[f"{where}_clamp_high"], "zener", (x, 2.0), (x, line))
        board.two_pole(low, "zener", (x, 2.0), (x, 0.0))
    else:
        board.two_pole(parts[f"{where}_clamp_high"], "zener", (x, 0.0), (x, line))
        board.dot((x, line))
        x += 2.6
        board.two_pole(low, "diode", (x, 0.0), (x, line))
    board.dot((x, line))
    return x


def _direct(board: Board, parts: Mapping[str, Part]) -> None:
    x = _bias_and_clamps(board, parts, "gate", rail=7.0)
    # The words beside clamps and bias are long; the next branch keeps clear of them.
    end = x + (4.6 if "gate_clamp_low" in parts else 6.4)
    board.wire((0, 4.0), (end, 4.0))
    right = x
    if "pull_down" in parts:
        gate, source = board.mosfet(parts["pull_down"], (end, 3.2))
        board.wire((end, 4.0), (end, 3.2))
        board.dot((end, 4.0))
        board.wire(source, (end, 0.0))
        board.net(gate, "PULL DOWN", align="right")
        right = end
        board.wire((end, 4.0), (end + 2.0, 4.0))
        end += 2.0
    board.net((end, 4.0), "GATE")
    _zero_line(board, 2.2 if "gate_bias_lower" in parts else 5.4, right)


def _gated(board: Board, results: Results, parts: Mapping[str, Part]) -> None:
    x = _bias_and_clamps(board, parts, "input", rail=7.0)
    corner: Point = (x + 5.4, 1.8)
    enable = results.design.interrupter.enabled
    gating = results.design.interrupter.chain.gating
    pins = [
        Pin("input", "L", 0.5),
        Pin("enable", "L", 0.85),
        Pin("supply", "T", 0.5),
        Pin("ground", "B", 0.5),
        Pin("output", "R", 0.5),
    ]
    ends = board.block(parts["driver"], corner, (6.0, 4.4), pins)
    board.wire((0, 4.0), ends["input"])
    board.wire(ends["enable"], (ends["enable"][0] - 0.4, ends["enable"][1]))
    name = "ENABLE" if enable and gating == "enable" else "LOW +"
    board.net((ends["enable"][0] - 0.4, ends["enable"][1]), name, align="right")
    top = (ends["supply"][0], 9.0)
    board.wire(ends["supply"], top)
    board.net(top, "LOW +, SWITCHED" if enable and gating == "supply" else "LOW +")
    at = top[0] + 3.4
    board.wire((top[0], 8.4), (at, 8.4))
    board.dot((top[0], 8.4))
    board.two_pole(parts["driver_decoupling"], "capacitor", (at, 8.4), (at, 6.6))
    board.earth((at, 6.6))
    board.earth(ends["ground"])
    out = ends["output"]
    if "gate_resistor" in parts:
        board.two_pole(parts["gate_resistor"], "resistor", out, (out[0] + 2.6, out[1]))
        out = (out[0] + 2.6, out[1])
    board.net(out, "GATE")
    _zero_line(board, 2.2 if "input_bias_lower" in parts else 5.4, x)


def _zero_line(board: Board, left: float, right: float) -> None:
    if right < left:
        return
    if right > left:
        board.wire((left, 0), (right, 0))
    board.earth((left, 0))


def combined_svg(sheets: Sequence[CircuitSheet], *, gap: float = 36.0) -> str:
    """All sheets below one another in one SVG text, each under its title.

    Parameters
    ----------
    sheets : sequence of CircuitSheet
        Sheets in order.
    gap : float
        Space above each sheet for its title [pt].
    """
    sizes = [svg_size(sheet.svg) for sheet in sheets]
    width = max(size[0] for size in sizes)
    height = sum(size[1] + gap for size in sizes)
    pieces = [
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width:.1f}pt" height="{height:.1f}pt" '
        f'viewBox="0 0 {width:.1f} {height:.1f}">'
    ]
    y = 0.0
    for sheet, (_, tall) in zip(sheets, sizes, strict=True):
        pieces.append(
            f'<text x="0" y="{y + 18:.1f}" font-size="14" font-weight="bold" '
            f'font-family="sans-serif">{sheet.title}</text>'
        )
        pieces.append(f'<g transform="translate(0 {y + gap:.1f})">{_inner(sheet.svg)}</g>')
        y += tall + gap
    return "".join(pieces) + "</svg>"


def _inner(svg: str) -> str:
    """Content of an SVG text moved to its own origin."""
    left, top, *_ = map(float, re.search(r'viewBox="([^"]+)"', svg)[1].split())  # type: ignore[index]
    body = svg[svg.index(">") + 1 : svg.rindex("</svg>")]
    return f'<g transform="translate({-left:.2f} {-top:.2f})">{body}</g>'


def svg_size(svg: str) -> tuple[float, float]:
    """Width and height of an SVG text in points.

    Examples
    --------
    >>> svg_size('<svg width="10pt" height="20.5pt" viewBox="0 0 10 20.5"></svg>')
    (10.0, 20.5)
    """
    found = re.search(r'viewBox="[^"]*?([\d.]+) ([\d.]+)"', svg)
    if found is None:
        raise ValueError("an SVG text without a view box")
    return float(found[1]), float(found[2])
