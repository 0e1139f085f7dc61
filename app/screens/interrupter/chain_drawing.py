"""The way from the timer's output to the stage, drawn below the timer."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final, Literal

import schemdraw.elements as elm

from app.screens.interrupter.circuit_sheet import SMALL, Sheet, pin
from core.design.document import Design
from core.interrupter.chain_report import chain_sizes
from core.units import shown

_UNDER: Final = -3.2
"""Height of the wire that leads from the output back to the left, below all of the timer."""
_LEFT: Final = -0.4
_BOX: Final = (5.4, 2.4)

Goal = Literal["enable", "supply", "pull-down"]


@dataclass(frozen=True, slots=True)
class Buffer:
    """Values of the buffer transistor's resistors [ohm]; no base where none would work."""

    base: float | None
    collector: float


@dataclass(frozen=True, slots=True)
class Lamp:
    """Resistor of the indicator LED [ohm], None where none would work; forward voltage [V]."""

    resistor: float | None
    forward: float


@dataclass(frozen=True, slots=True)
class Chain:
    """What the drawing shows between timer and stage; parts that are not fitted are None.

    Attributes
    ----------
    buffer, lamp
        Buffer transistor and indicator LED.
    goal : str
        What the chain acts on: the driver's enable, its supply, or the pull-down of the gate.
    active_low : bool
        Whether the driver is enabled by a low level.
    supply : float
        Supply of the collector resistor [V].
    """

    buffer: Buffer | None
    lamp: Lamp | None
    goal: Goal
    active_low: bool
    supply: float


def chain_of_design(design: Design) -> Chain:
    """Chain of a design with the sizes that evaluation and list of parts use."""
    part, sizes = design.interrupter.chain, chain_sizes(design)
    gated = design.drive.kind == "gated"
    buffer = lamp = None
    if part.buffer is not None:
        base = None if sizes.buffer is None else sizes.buffer.base_resistor
        buffer = Buffer(base, part.buffer.collector_resistor)
    if part.indicator is not None:
        resistor = None if sizes.indicator is None else sizes.indicator.resistor
        lamp = Lamp(resistor, part.indicator.forward_voltage)
    return Chain(
        buffer,
        lamp,
        goal=part.gating if gated else "pull-down",
        active_low=part.active_level == "low",
        supply=design.drive.gated.driver_supply if gated else design.interrupter.parts.supply,
    )


def draw_chain(sheet: Sheet, chain: Chain, out: Any) -> None:
    """Lamp, buffer and what they act on, from the output at `out`."""
    level = _UNDER - (4.6 if chain.buffer is not None else 1.9)
    turn = (out[0] + 1.0, out[1])
    sheet.wire(out, turn, (turn[0], _UNDER), (_LEFT, _UNDER), (_LEFT, level))
    sheet.write((turn[0] - 0.1, turn[1] + 0.5), "output", align="left", size=SMALL)
    at = (_LEFT + 1.0, level)
    sheet.wire((_LEFT, level), at)
    if chain.lamp is not None:
        at = _lamp(sheet, chain.lamp, at)
    if chain.buffer is not None:
        at = _buffer(sheet, chain.buffer, at, chain.supply)
    if chain.goal == "pull-down":
        _pull_down(sheet, at)
    elif chain.goal == "supply":
        _switch(sheet, at)
    else:
        _enable(sheet, at, active_low=chain.active_low)


def _value(sheet: Sheet, role: str, value: float | None) -> str:
    told = "no value works" if value is None else shown(value, "Ω")
    return f"{sheet.references[role]} {told}"


def _lamp(sheet: Sheet, lamp: Lamp, at: tuple[float, float]) -> tuple[float, float]:
    """Resistor and LED to ground; returns the end of the wire beyond their words."""
    x, y = at
    sheet.dot(at)
    words = _value(sheet, "indicator_resistor", lamp.resistor)
    sheet.told(elm.Resistor(), at, (x, y - 1.7), words)
    led = f"{sheet.references['indicator']} {shown(lamp.forward, 'V')}"
    sheet.drawing.add(elm.LED().endpoints((x, y - 1.7), (x, y - 3.2)))
    sheet.write((x + 1.0, y - 2.45), led)
    sheet.ground((x, y - 3.2))
    end = (x + (2.2 if lamp.resistor is not None else 3.4), y)
    sheet.wire(at, end)
    return end


def _buffer(
    sheet: Sheet, buffer: Buffer, at: tuple[float, float], supply: float
) -> tuple[float, float]:
    """Base resistor, transistor and collector resistor; returns a place on the collector's wire."""
    x, y = at
    base = (x + 2.2, y)
    sheet.told(elm.Resistor(), at, base, _value(sheet, "buffer_base", buffer.base))
    made = sheet.drawing.add(elm.BjtNpn().anchor("base").at(base).theta(0))
    collector, emitter = (tuple(made.absanchors[name]) for name in ("collector", "emitter"))
    sheet.ground(emitter)
    sheet.write((collector[0] + 0.4, y), sheet.references["buffer"])
    node = (collector[0], collector[1] + 0.4)
    sheet.wire(collector, node)
    sheet.dot(node)
    top = (node[0], node[1] + 1.9)
    words = _value(sheet, "buffer_collector", buffer.collector)
    sheet.told(elm.Resistor(), top, node, words)
    sheet.supply(top, supply)
    end = (node[0] + 2.4, node[1])
    sheet.wire(node, end)
    return end


def _enable(sheet: Sheet, at: tuple[float, float], *, active_low: bool) -> None:
    """The driver with the one pin that the timer moves."""
    level = "low" if active_low else "high"
    _box(sheet, at, elm.IcPin(name="enable", side="left", slot="1/1", lblsize=SMALL,
                              anchorname="in_", invert=active_low),
         (f"{sheet.references['driver']} gate driver", f"on when {level}"))  # fmt: skip


def _switch(sheet: Sheet, at: tuple[float, float]) -> None:
    """The switch in the driver's supply."""
    made = _box(
        sheet,
        at,
        elm.IcPin(name="on", side="left", slot="1/1", lblsize=SMALL, anchorname="in_"),
        (f"{sheet.references['supply_switch']} switch", "on when high"),
        pin("out", "", "right", "1/1"),
    )
    end = tuple(made.absanchors["out"])
    sheet.arrow(end)
    words = f"supply of {sheet.references['driver']}"
    sheet.write((end[0] + 0.3, end[1]), words)


def _box(
    sheet: Sheet, at: tuple[float, float], left: Any, words: tuple[str, str], *others: Any
) -> Any:
    box = elm.Ic(pins=[left, *others], size=_BOX, leadlen=0.6)
    made = sheet.drawing.add(box.theta(0).anchor("in_").at(at))
    middle = at[0] + 0.6 + _BOX[0] * 0.63
    for word, up in zip(words, (0.35, -0.35), strict=True):
        sheet.write((middle, at[1] + up), word, align="center", size=SMALL)
    return made


def _pull_down(sheet: Sheet, at: tuple[float, float]) -> None:
    """The transistor that holds the stage's gate down while its own gate is high."""
    made = sheet.drawing.add(elm.NFet(bulk=True).reverse().anchor("gate").at(at).theta(0))
    drain, source = (tuple(made.absanchors[name]) for name in ("drain", "source"))
    sheet.ground(source)
    sheet.write((drain[0] + 0.5, at[1]), sheet.references["pull_down"])
    up = (drain[0], drain[1] + 0.4)
    end = (up[0] + 1.4, up[1])
    sheet.wire(drain, up, end)
    sheet.arrow(end)
    sheet.write((end[0] + 0.3, end[1]), f"gate of {sheet.references['switch']}")
