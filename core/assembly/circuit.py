"""Circuit drawing of a design, drawn from its list of parts."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import Final

from burstwise.core.assembly.board import (
    BESIDE_SWITCH,
    SCALE,
    Board,
    Pin,
    Symbol,
    drawing,
)
from burstwise.core.assembly.drawn import ZERO, CircuitSheet, Point
from burstwise.core.assembly.part import Part
from burstwise.core.assembly.parts import PartsList, interrupter_parts, parts_list
from burstwise.core.assembly.references import with_timer_parts
from burstwise.core.assembly.svg_text import text_width
from burstwise.core.assembly.symbol_style import SymbolStyle
from burstwise.core.assembly.timer_drawing import chain_sheet, interrupter_sheets
from burstwise.core.design.document import Design
from burstwise.core.evaluate.results import Results
from burstwise.core.units import shown

_RAIL: Final = 12.4
"""Height of the supply rail in the stage's sheet; the secondary stands below it."""
_DRAIN: Final = 6.4
_SOURCE: Final = 2.6
"""Heights of the drain's line and of the source's, above the shunt."""
_LINE: Final = 4.0
"""Height of the signal line in the drive's sheet."""
_TITLE_SPACE: Final = 36.0
"""Space above each sheet for its title [pt]."""


def circuit(
    results: Results,
    parts: PartsList | None = None,
    *,
    style: SymbolStyle = SymbolStyle.IEC,
) -> tuple[CircuitSheet, ...]:
    """Sheets of the circuit: stage with main supply, drive, interrupter, low voltage and chain.

    Parameters
    ----------
    results : Results
        Evaluated design.
    parts : PartsList, optional
        Its parts; made here if not given.
    style : SymbolStyle
        Standard of the symbols.
    """
    known = (parts or parts_list(results)).by_role
    return drawn_circuit(results.design, known, coupling=results.coil.coupling, style=style)


def drawn_circuit(
    design: Design,
    parts: Mapping[str, Part],
    *,
    coupling: float | None = None,
    style: SymbolStyle = SymbolStyle.IEC,
) -> tuple[CircuitSheet, ...]:
    """As `circuit`, of a design and its parts by role; the coupling is written where given."""
    with drawing(style):
        sheets = [_stage_sheet(design, parts, coupling), _drive_sheet(design, parts)]
        sheets += interrupter_sheets(design, parts)
        chain = chain_sheet(design, parts)
        return (*sheets, *(() if chain is None else (chain,)))


def drawn_interrupter(
    design: Design, *, place: str = "", style: SymbolStyle = SymbolStyle.IEC
) -> tuple[CircuitSheet, ...]:
    """Sheets of `circuit` that show the timer and its way to the drive, from the design alone.

    The low-voltage supply, whose sizes ask for an operating point, is left out.

    Parameters
    ----------
    design : Design
        The design; its timer parts are drawn, whatever its interrupter is given by.
    place : str
        Words about the knob's place, to stand beside its potentiometer.
    style : SymbolStyle
        Standard of the symbols.
    """
    design = with_timer_parts(design)
    parts = interrupter_parts(design)
    with drawing(style):
        sheets = interrupter_sheets(design, parts, place=place)
        chain = chain_sheet(design, parts)
        return sheets if chain is None else (*sheets, chain)


def _stage_sheet(design: Design, parts: Mapping[str, Part], coupling: float | None) -> CircuitSheet:
    notes = {}
    if coupling is not None:
        primary = parts["primary"].reference
        notes["secondary"] = f"k {shown(coupling, '', digits=3)} to {primary}"
    board = Board("stage", "Main supply, stage and protection", notes)
    x = _supply_side(board, parts)
    _primary_and_switch(board, design, parts, x)
    zero = _protection(board, parts, x, free=_secondary(board, parts, x))
    board.wire((0, 0), (zero, 0))
    return board.finished()


def _supply_side(board: Board, parts: Mapping[str, Part]) -> float:
    """Supply, fuse and capacitors; returns the place of the primary."""
    board.two_pole(parts["supply"], "source", (0, _RAIL), (0, 0), beside="left", reach=0.8)
    board.text((0.25, _RAIL / 2 + 1.2), "+")
    if "fuse" in parts:
        board.two_pole(parts["fuse"], "fuse", (0, _RAIL), (2.6, _RAIL))
    else:
        board.wire((0, _RAIL), (2.6, _RAIL))
    branches: tuple[tuple[str, Symbol], ...] = (
        ("bulk", "polar"), ("bleed", "resistor"), ("bus_film", "capacitor"),
    )  # fmt: skip
    x = 2.6
    for role, symbol in branches:
        if role not in parts:
            continue
        board.two_pole(parts[role], symbol, (x, _RAIL), (x, 0))
        if symbol == "polar":
            board.text((x - 0.3, _RAIL / 2 + 0.35), "+", align="right")
        x += 2.7
    board.wire((2.6, _RAIL), (x + 0.8, _RAIL))
    board.wire((x + 0.8, _RAIL), (x + 0.8, _RAIL + 0.7))
    board.net((x + 0.8, _RAIL + 0.7), "MAIN +")
    board.earth((1.3, 0))
    board.text((1.75, -0.5), "0 V", size=12)
    return x + 0.8


def _primary_and_switch(board: Board, design: Design, parts: Mapping[str, Part], x: float) -> None:
    if design.drive.feedback_sense == "normal":
        board.winding(parts["primary"], (x, _RAIL), (x, _DRAIN))
    else:
        board.winding(parts["primary"], (x, _DRAIN), (x, _RAIL))
    board.wire((x, _DRAIN), (x, 5.0))
    gate, source = board.mosfet(parts["switch"], (x, 5.0))
    board.wire(gate, (gate[0] - 0.4, gate[1]))
    board.net((gate[0] - 0.4, gate[1]), "GATE", align="right")
    if "shunt" in parts:
        board.wire(source, (x, _SOURCE))
        board.two_pole(parts["shunt"], "resistor", (x, _SOURCE), (x, 0))
        board.wire((x, _SOURCE), (x - 0.9, _SOURCE))
        board.net((x - 0.9, _SOURCE), "SOURCE", align="right")
    else:
        board.wire(source, (x, 0))


def _secondary(board: Board, parts: Mapping[str, Part], primary: float) -> float:
    """Secondary beside the primary, above what hangs on the drain; returns its right end."""
    top, foot = _RAIL - 0.9, _DRAIN + 1.0
    x = primary + 2.0 + board.words_width(parts["primary"]) + board.words_width(parts["secondary"])
    over = x + 2.4
    board.winding(parts["secondary"], (x, foot + 0.6), (x, top - 0.6), beside="left")
    board.wire((x, top - 0.6), (x, top), (over, top), (over, top - 0.6))
    board.two_pole(parts["top_load"], "capacitor", (over, top - 0.6), (over, foot + 1.6))
    board.earth((over, foot + 1.6))
    board.text((over, foot + 0.5), "earth plane", align="center", size=12)
    board.wire((x, foot + 0.6), (x, foot))
    board.net((x, foot), "BASE")
    board.text((x, top + 0.35), "top", align="center", size=12)
    if "antenna" in parts:
        board.wire((over, top), (over + 1.0, top))
        board.net((over + 1.0, top), "TOP")
    return over + 0.9 + board.words_width(parts["top_load"])


def _protection(board: Board, parts: Mapping[str, Part], x: float, *, free: float) -> float:
    """What hangs on the drain; returns the right end of the 0 V line.

    Clamp and snubber go back to the source, above the shunt, as the evaluation takes them. What
    rises to the rail stands right of `free`.
    """
    foot = _SOURCE if "shunt" in parts else 0.0
    # The words of the transistor stand right of it, below the drain's line.
    at = x + max(2.0, BESIDE_SWITCH + board.words_width(parts["switch"])) + 0.6
    last, zero = x, x
    if "drain_clamp" in parts:
        board.two_pole(parts["drain_clamp"], "zener", (at, foot), (at, _DRAIN))
        last, at = at, at + 0.9 + board.words_width(parts["drain_clamp"])
    if "snubber_resistor" in parts:
        middle = (_DRAIN + foot) / 2
        resistor, capacitor = parts["snubber_resistor"], parts["snubber_capacitor"]
        board.two_pole(resistor, "resistor", (at, _DRAIN), (at, middle))
        board.two_pole(capacitor, "capacitor", (at, middle), (at, foot))
        last, at = at, at + 0.9 + max(board.words_width(resistor), board.words_width(capacitor))
    if foot > 0.0:
        board.wire((x, foot), (last, foot))
    else:
        zero = last
    if "reservoir_diode" in parts:
        over = max(at + 3.4, at + 1.2 + board.words_width(parts["reservoir_diode"]), free + 0.6)
        board.two_pole(parts["reservoir_diode"], "diode", (at, _DRAIN), (over, _DRAIN))
        board.two_pole(parts["reservoir_capacitor"], "capacitor", (over, _DRAIN), (over, 0))
        board.two_pole(parts["reservoir_resistor"], "resistor", (over, _RAIL), (over, _DRAIN))
        board.wire((x, _RAIL), (over, _RAIL))
        last, zero = at, over
    board.wire((x, _DRAIN), (last, _DRAIN))
    return zero


def _drive_sheet(design: Design, parts: Mapping[str, Part]) -> CircuitSheet:
    board = Board("drive", "Drive")
    if "driver" in parts:
        _gated(board, design, parts)
    else:
        _direct(board, parts)
    return board.finished()


def _bias_and_clamps(
    board: Board, parts: Mapping[str, Part], where: str, *, clamped_to: str
) -> tuple[float, float]:
    """Signal line with bias and clamps on it; returns where there is room above and below it."""
    above = _bias(board, parts, where, 2.2)
    return above, _clamps(board, parts, where, above, clamped_to=clamped_to)


def _bias(
    board: Board, parts: Mapping[str, Part], where: str, x: float, *, line: float = _LINE
) -> float:
    """Bias on a line at a height; returns where the next branch has room."""
    upper, lower = (parts.get(f"{where}_bias_{end}") for end in ("upper", "lower"))
    trimmer, top = parts.get(f"{where}_bias_trimmer"), line
    if trimmer is not None:
        board.two_pole(trimmer, "trimmer", (x, line + 3.0), (x, line), reach=0.75)
        top = line + 3.0
    board.two_pole(upper, "resistor", (x, top + 3.0), (x, top))
    if upper is not None:
        board.net((x, top + 3.0), "LOW +")
    board.two_pole(lower, "resistor", (x, line), (x, line - _LINE))
    if lower is not None:
        board.earth((x, line - _LINE))
    wide = max(board.words_width(part) for part in (upper, trimmer, lower) if part is not None)
    return x + 1.2 + wide


def _clamps(
    board: Board, parts: Mapping[str, Part], where: str, x: float, *, clamped_to: str
) -> float:
    """Clamps on the signal line; returns where the next branch has room."""
    high, low = (parts.get(f"{where}_clamp_{end}") for end in ("high", "low"))
    if high is None or low is None:
        return x
    wide = max(board.words_width(high), board.words_width(low))
    left = x
    if low.kind == "Zener diode":
        board.two_pole(high, "zener", (x, 2.0), (x, _LINE))
        board.two_pole(low, "zener", (x, 2.0), (x, 0.0))
    else:
        board.two_pole(high, "zener", (x, 0.0), (x, _LINE))
        x += 1.2 + board.words_width(high)
        board.two_pole(low, "diode", (x, 0.0), (x, _LINE))
        board.wire((left, 0.0), (x, 0.0))
    if clamped_to == ZERO:
        board.earth((left, 0.0))
    else:
        board.wire((left, 0.0), (left, -0.6))
        board.net((left, -0.6), clamped_to)
    return x + 0.9 + wide


def _direct(board: Board, parts: Mapping[str, Part]) -> None:
    source = "SOURCE" if "shunt" in parts else ZERO
    board.net((0, _LINE), "BASE", align="right")
    _, end = _bias_and_clamps(board, parts, "gate", clamped_to=source)
    if "pull_down" in parts:
        name = "PULL DOWN"
        end += 1.6 + text_width(name, 12.0) / SCALE
        gate, foot = board.mosfet(parts["pull_down"], (end, _LINE))
        board.wire(gate, (gate[0] - 0.3, gate[1]))
        board.net((gate[0] - 0.3, gate[1]), name, align="right")
        board.earth(foot)
        end += 2.0
    board.wire((0, _LINE), (end, _LINE))
    board.net((end, _LINE), "GATE")


def _input_side(board: Board, parts: Mapping[str, Part]) -> tuple[float, float, float]:
    """What feeds the driver's input; begin of the signal line, and room above and below it."""
    if "current_transformer" in parts:
        return _transformed(board, parts)
    if "antenna" in parts:
        _antenna(board, parts)
    else:
        board.net((0, _LINE), "BASE", align="right")
    return 0.0, *_bias_and_clamps(board, parts, "input", clamped_to=ZERO)


def _antenna(board: Board, parts: Mapping[str, Part]) -> None:
    """Antenna at the begin of the signal line, and the base current's own way to 0 V."""
    board.net((-4.0, 1.4), "BASE", align="right")
    board.wire((-4.0, 1.4), (-3.4, 1.4), (-3.4, 0.6))
    board.earth((-3.4, 0.6))
    board.net((-2.6, _LINE), "TOP", align="right")
    board.two_pole(parts["antenna"], "capacitor", (-2.6, _LINE), (0.0, _LINE))
    board.text((-1.3, _LINE - 0.8), "through the air", align="center", size=12)


def _transformed(board: Board, parts: Mapping[str, Part]) -> tuple[float, float, float]:
    """Transformer and burden on the signal line, the bias that its cold end stands on below."""
    pins = [
        Pin("base", "L", 0.8), Pin("return", "L", 0.2), Pin("hot", "R", 0.8), Pin("cold", "R", 0.2),
    ]  # fmt: skip
    ends = board.block(parts["current_transformer"], (0.0, 1.1), (5.0, 4.0), pins)
    for name, end in (("base", -1.6), ("return", -1.6)):
        board.wire(ends[name], (end, ends[name][1]))
    board.net((-1.6, ends["base"][1]), "BASE", align="right")
    board.earth((-1.6, ends["return"][1]))
    start, cold = ends["hot"][0] + 0.4, ends["cold"][1]
    board.wire(ends["hot"], (start, ends["hot"][1]), (start, _LINE))
    x = start + 1.0
    board.two_pole(parts["burden"], "resistor", (x, _LINE), (x, cold))
    board.wire(ends["cold"], (x, cold), (x, cold - 1.0))
    board.net((x, cold - 1.0), "INPUT BIAS")
    line = -6.0
    board.net((-1.6, line), "INPUT BIAS", align="right")
    at = _bias(board, parts, "input", 0.6, line=line)
    board.two_pole(parts["input_bias_capacitor"], "capacitor", (at, line), (at, line - _LINE))
    board.earth((at, line - _LINE))
    board.wire((-1.6, line), (at, line))
    wide = max(board.words_width(parts["burden"]), text_width("INPUT BIAS", 12.0) / SCALE)
    above = x + 1.2 + wide
    return start, above, _clamps(board, parts, "input", above, clamped_to=ZERO)


def _gated(board: Board, design: Design, parts: Mapping[str, Part]) -> None:
    start, above, below = _input_side(board, parts)
    chain, inverting = design.interrupter.chain, design.drive.gated.inverting
    low = chain.active_level == "low"
    switched = "supply_switch" in parts
    supply = "LOW +, SWITCHED" if switched else "LOW +"
    enable = supply
    if "timer" in parts and not switched:
        enable = "ENABLE"
    corner: Point = (max(below, above + text_width(enable, 12.0) / SCALE), 1.8)
    pins = [
        Pin("input", "L", 0.5),
        Pin("enable", "L", 0.85, inverted=low),
        Pin("supply", "T", 0.5),
        Pin("ground", "B", 0.5),
        Pin("output", "R", 0.5, inverted=inverting),
    ]
    ends = board.block(parts["driver"], corner, (6.0, 4.4), pins)
    board.wire((start, _LINE), ends["input"])
    held = (ends["enable"][0] - 0.5, ends["enable"][1])
    board.wire(ends["enable"], held)
    if low and enable == supply:
        board.earth(held)
    else:
        board.net(held, enable, align="right")
    top = (ends["supply"][0], 8.4)
    board.wire(ends["supply"], (top[0], 9.0))
    board.net((top[0], 9.0), supply)
    at = top[0] + 4.2
    board.wire(top, (at, 8.4))
    board.two_pole(parts["driver_decoupling"], "capacitor", (at, 8.4), (at, 6.6))
    board.earth((at, 6.6))
    board.earth(ends["ground"])
    out = ends["output"]
    if "gate_resistor" in parts:
        board.two_pole(parts["gate_resistor"], "resistor", out, (out[0] + 2.6, out[1]))
        out = (out[0] + 2.6, out[1])
    if "gate_source_resistor" in parts:
        out = _gate_to_source(board, parts, out)
    board.net(out, "GATE")


def _gate_to_source(board: Board, parts: Mapping[str, Part], out: Point) -> Point:
    """Resistor that hangs on the gate's line; returns where the line ends."""
    held, x, foot = parts["gate_source_resistor"], out[0] + 0.6, out[1] - 2.6
    board.two_pole(held, "resistor", (x, out[1]), (x, foot))
    if "shunt" in parts:
        board.net((x, foot), "SOURCE")
    else:
        board.earth((x, foot))
    end = (x + 0.9 + board.words_width(held), out[1])
    board.wire(out, (x, out[1]), end)
    return end


def combined_svg(sheets: Sequence[CircuitSheet]) -> str:
    """All sheets below one another in one SVG text, each under its title.

    Parameters
    ----------
    sheets : sequence of CircuitSheet
        Sheets in order.
    """
    sizes = [svg_size(sheet.svg) for sheet in sheets]
    width = max(size[0] for size in sizes)
    height = sum(size[1] + _TITLE_SPACE for size in sizes)
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
        pieces.append(f'<g transform="translate(0 {y + _TITLE_SPACE:.1f})">{_inner(sheet.svg)}</g>')
        y += tall + _TITLE_SPACE
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
