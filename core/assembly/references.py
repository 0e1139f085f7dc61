"""Reference designators: which parts a design has, and their numbers, from the design alone."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping
from types import MappingProxyType
from typing import Final

from burstwise.core.assembly.drive_parts import bias_divider, gate_trimmer, low_rail
from burstwise.core.design.document import Design
from burstwise.core.interrupter.circuits import circuit_named

_LETTERS: Final = (
    ("capacitor", "C"),
    ("potentiometer", "RV"),
    ("resistor", "R"),
)
"""Letter of a timing part by how its role ends."""

Lettered = Iterator[tuple[str, str]]


def references(design: Design) -> Mapping[str, str]:
    """Reference designator of every part by its role, in the order of the list of parts.

    Numbers run per letter in that order, so that a part has the same reference in the list, in
    every drawing and in the build sheet.

    Parameters
    ----------
    design : Design
        The design.
    """
    counts: Counter[str] = Counter()
    found = {}
    for letter, role in _lettered(design):
        counts[letter] += 1
        found[role] = f"{letter}{counts[letter]}"
    return MappingProxyType(found)


def timer_references(design: Design) -> Mapping[str, str]:
    """References as they are once the design takes its interrupter from its timer parts.

    Parameters
    ----------
    design : Design
        The design, whatever its interrupter is given by.
    """
    return references(with_timer_parts(design))


def with_timer_parts(design: Design) -> Design:
    """Design that takes its interrupter from its timer parts, whatever it is given by now."""
    part = design.interrupter.model_copy(update={"enabled": True, "given_by": "parts"})
    return design.model_copy(update={"interrupter": part})


def _lettered(design: Design) -> Lettered:
    yield from _stage(design)
    yield from _drive(design)
    yield from _interrupter(design)
    yield from _low_voltage(design)


def _stage(design: Design) -> Lettered:
    protection = design.protection
    yield "G", "supply"
    if protection.fuse_rating is not None:
        yield "F", "fuse"
    if design.supply.bulk_fitted:
        yield "C", "bulk"
    yield "R", "bleed"
    yield "C", "bus_film"
    yield "L", "primary"
    yield "L", "secondary"
    yield "E", "top_load"
    if design.coil.given_by == "geometry" and design.coil.geometry.top_load.point_fitted:
        yield "E", "breakout_point"
    yield "Q", "switch"
    if design.drive.shunt_resistance > 0:
        yield "R", "shunt"
    if protection.drain_clamp is not None:
        yield "D", "drain_clamp"
    if protection.snubber is not None:
        yield "R", "snubber_resistor"
        yield "C", "snubber_capacitor"
    if protection.reservoir_clamp is not None:
        yield "D", "reservoir_diode"
        yield "C", "reservoir_capacitor"
        yield "R", "reservoir_resistor"
    if protection.trip is not None:
        yield "U", "trip"


def _drive(design: Design) -> Lettered:
    if design.drive.kind == "direct":
        part = design.drive.direct
        yield from _bias(design, "gate", part.bias_voltage, part.bias_resistance)
        if part.clamp_fitted:
            yield from _clamps("gate")
        if design.interrupter.enabled:
            yield "Q", "pull_down"
        return
    gated = design.drive.gated
    yield "U", "driver"
    yield "C", "driver_decoupling"
    if gated.gate_resistor > 0:
        yield "R", "gate_resistor"
    if gated.gate_source_resistor is not None:
        yield "R", "gate_source_resistor"
    if gated.feedback == "current transformer":
        yield "T", "current_transformer"
        yield "R", "burden"
        yield "C", "input_bias_capacitor"
    if gated.feedback == "antenna":
        yield "E", "antenna"
    yield from _bias(design, "input", gated.input_bias, gated.input_bias_resistance)
    yield from _clamps("input")


def _bias(design: Design, where: str, voltage: float, resistance: float) -> Lettered:
    made = bias_divider(low_rail(design), voltage, resistance=resistance)
    if made.upper is not None:
        yield "R", f"{where}_bias_upper"
    if where == "gate" and gate_trimmer(design) is not None:
        yield "RV", "gate_bias_trimmer"
    if made.lower is not None:
        yield "R", f"{where}_bias_lower"


def _clamps(where: str) -> Lettered:
    yield "D", f"{where}_clamp_high"
    yield "D", f"{where}_clamp_low"


def _interrupter(design: Design) -> Lettered:
    part = design.interrupter
    if not part.enabled:
        return
    if part.given_by == "parts":
        yield from _timer(design)
    else:
        yield "U", "timer"
    if part.chain.buffer is not None:
        yield "Q", "buffer"
        yield "R", "buffer_collector"
        yield "R", "buffer_base"
    if part.chain.indicator is not None:
        yield "R", "indicator_resistor"
        yield "D", "indicator"
    if switched_supply(design):
        yield "U", "supply_switch"


def _timer(design: Design) -> Lettered:
    parts = design.interrupter.parts
    circuit = circuit_named(parts.circuit)
    timers = ("timer", "pulse_timer")[: circuit.timers]
    for name in timers:
        yield "U", name
    for role in circuit.roles:
        if getattr(parts, role) > 0:
            yield next(letter for ending, letter in _LETTERS if role.endswith(ending)), role
    for index in range(circuit.diodes):
        yield "D", f"steering_diode_{index + 1}"
    for name in timers:
        yield "C", f"{name}_control"
        yield "C", f"{name}_decoupling"


def switched_supply(design: Design) -> bool:
    """Whether the interrupter acts through a switch in the gate driver's supply."""
    part = design.interrupter
    return part.enabled and design.drive.kind == "gated" and part.chain.gating == "supply"


def low_voltage_needed(design: Design) -> bool:
    """Whether anything of the design runs from a low-voltage supply."""
    drive = design.drive
    return drive.kind == "gated" or design.interrupter.enabled or drive.direct.bias_voltage > 0


def _low_voltage(design: Design) -> Lettered:
    part = design.supply.low_voltage
    if not low_voltage_needed(design):
        return
    if part is None or part.kind == "separate":
        yield "G", "low_supply"
        return
    if part.kind == "regulator":
        yield "U", "regulator"
    else:
        yield "R", "zener_resistor"
        yield "D", "zener"
    yield "C", "low_output"
