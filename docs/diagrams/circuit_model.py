"""The stage as the engine solves it: parts, signs and the ratio of base current."""

from __future__ import annotations

import re
from itertools import pairwise
from typing import Any

import schemdraw
import schemdraw.elements as symbols

from burstwise.app.theme import LIGHT
from burstwise.core.assembly.board import drawing as drawing_held
from burstwise.core.assembly.svg_text import plain_text, room_for_text

_UP, _DRAIN, _SOURCE, _GATE = 8.0, 5.2, 1.4, 3.3


def svg() -> str:
    """Text of the diagram."""
    with drawing_held():
        drawing = schemdraw.Drawing(canvas="svg", show=False, fontsize=13, unit=2.0, lw=1.5)
        _supply(drawing)
        _device(drawing)
        _drive(drawing)
        _secondary(drawing)
        made = room_for_text(plain_text(drawing.get_imagedata("svg").decode()))
    return _coloured(made)


def _coloured(svg: str) -> str:
    """In the colours of the light look, on its ground."""
    inked = svg.replace("black", LIGHT.text).replace("white", LIGHT.panel)
    box = re.search(r'viewBox="([-\d.]+) ([-\d.]+) ([-\d.]+) ([-\d.]+)"', inked)
    assert box is not None
    x, y, width, height = box.groups()
    ground = f'<rect x="{x}" y="{y}" width="{width}" height="{height}" fill="{LIGHT.panel}"/>'
    return re.sub(r"(<svg[^>]*>)", lambda found: found[1] + ground, inked, count=1)


def _say(drawing: Any, x: float, y: float, words: str, align: str = "left") -> None:
    drawing.add(
        symbols.Label()
        .at((x, y))
        .theta(0)
        .label(words, loc="center", halign=align, valign="center", ofst=0, fontsize=13)
    )


def _wire(drawing: Any, *points: tuple[float, float]) -> None:
    for start, end in pairwise(points):
        drawing.add(symbols.Line().endpoints(start, end))


def _dot(drawing: Any, x: float, y: float, radius: float = 0.08) -> None:
    drawing.add(symbols.Dot(radius=radius).at((x, y)))


def _arrow(drawing: Any, start: tuple[float, float], end: tuple[float, float]) -> None:
    drawing.add(symbols.Line(arrow="->").endpoints(start, end).color(LIGHT.accent))


def _supply(drawing: Any) -> None:
    drawing.add(symbols.BatteryDouble().endpoints((-3.2, _UP), (-3.2, 0)))
    _say(drawing, -3.9, 4.0, "bus V", "right")
    drawing.add(symbols.Inductor2().endpoints((-1.6, _UP), (1.4, _UP)))
    _say(drawing, -0.1, _UP + 0.75, "leads Lx", "center")
    _wire(drawing, (-3.2, _UP), (-1.6, _UP))
    _wire(drawing, (1.4, _UP), (5, _UP))
    drawing.add(symbols.ResistorIEC().endpoints((2.0, _UP), (4.2, _UP)))
    _say(drawing, 3.1, _UP + 0.75, "R1", "center")
    drawing.add(symbols.Inductor2().endpoints((5, _UP), (5, _DRAIN)))
    _dot(drawing, 4.5, 7.5, 0.13)
    _say(drawing, 4.2, 6.2, "L1", "right")
    _arrow(drawing, (5.7, 7.4), (5.7, 6.2))
    _say(drawing, 5.95, 6.8, "i1")
    _wire(drawing, (-3.2, 0), (5, 0))
    drawing.add(symbols.Ground().at((-3.2, 0)).theta(0))


def _device(drawing: Any) -> None:
    _wire(drawing, (3, _DRAIN), (9.4, _DRAIN))
    _wire(drawing, (3, _SOURCE), (9.4, _SOURCE))
    drawing.add(symbols.SourceControlledI().endpoints((5, _DRAIN), (5, _SOURCE)))
    _say(drawing, 5.75, 3.5, "channel")
    _say(drawing, 5.75, 3.0, "i(vgs, vds)")
    drawing.add(symbols.Diode().endpoints((8.1, _SOURCE), (8.1, _DRAIN)))
    _say(drawing, 8.45, 2.5, "diode,")
    _say(drawing, 8.45, 2.05, "avalanche")
    drawing.add(symbols.Capacitor().endpoints((10.6, _DRAIN), (10.6, _SOURCE)))
    _wire(drawing, (9.4, _DRAIN), (10.6, _DRAIN))
    _wire(drawing, (9.4, _SOURCE), (10.6, _SOURCE))
    _say(drawing, 11.0, 3.3, "Cds")
    drawing.add(symbols.Capacitor().endpoints((3, _DRAIN), (3, _GATE)))
    _say(drawing, 2.6, 4.4, "Cgd", "right")
    drawing.add(symbols.Capacitor().endpoints((3, _GATE), (3, _SOURCE)))
    _say(drawing, 2.6, 2.2, "Cgs", "right")
    drawing.add(symbols.ResistorIEC().endpoints((5, _SOURCE), (5, 0)))
    _say(drawing, 5.4, 0.7, "shunt Rs, lead Ls")
    for x, y in ((3, _GATE), (5, _DRAIN), (5, _SOURCE), (8.1, _DRAIN), (8.1, _SOURCE), (5, 0)):
        _dot(drawing, x, y)
    _say(drawing, 5.25, _DRAIN + 0.4, "drain")


def _drive(drawing: Any) -> None:
    drawing.add(symbols.ResistorIEC().endpoints((0.0, _GATE), (3, _GATE)))
    _say(drawing, 1.5, _GATE + 0.55, "Rg", "center")
    drawing.add(symbols.SourceV().endpoints((0.0, 0), (0.0, _GATE)))
    _say(drawing, -0.75, 1.9, "drive", "right")
    _dot(drawing, 0, 0)


def _secondary(drawing: Any) -> None:
    drawing.add(symbols.Inductor2().endpoints((14, 3.4), (14, 6.4)))
    _dot(drawing, 13.5, 3.8, 0.13)
    _say(drawing, 13.2, 5.2, "L2", "right")
    _wire(drawing, (14, 6.4), (14, 7.4), (19.2, 7.4))
    _say(drawing, 16.6, 7.85, "top, v", "center")
    drawing.add(symbols.ResistorIEC().endpoints((14, 3.4), (14, 1.6)))
    _say(drawing, 14.4, 2.5, "R2")
    _arrow(drawing, (14.7, 5.5), (14.7, 4.3))
    _say(drawing, 14.95, 4.9, "i2")
    _wire(drawing, (14, 1.6), (14, 0.6))
    drawing.add(symbols.Dot(radius=0.1, open=True).at((14, 0.6)))
    _say(drawing, 14.0, -0.2, "base: ρ·i2 into the gate (direct)", "center")
    _say(drawing, 14.0, -0.7, "or into the driver's input (gated)", "center")
    drawing.add(symbols.Capacitor().endpoints((17, 7.4), (17, 2.6)))
    _say(drawing, 17.4, 5.0, "C2")
    drawing.add(symbols.Zener().endpoints((19.2, 4.9), (19.2, 7.4)))
    drawing.add(symbols.ResistorIEC().endpoints((19.2, 4.9), (19.2, 2.6)))
    _say(drawing, 19.6, 5.5, "breakout,")
    _say(drawing, 19.6, 5.05, "either sign")
    _wire(drawing, (17, 2.6), (19.2, 2.6))
    drawing.add(symbols.Ground().at((17, 2.6)).theta(0))
    _dot(drawing, 17, 7.4)
    _dot(drawing, 17, 2.6)
    _arrow(drawing, (12.6, 6.9), (6.6, 6.9))
    _arrow(drawing, (6.6, 6.9), (12.6, 6.9))
    _say(drawing, 9.6, 7.35, "M = k √(L1 L2)", "center")
