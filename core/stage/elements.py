"""Elements of the stage network: what stands between which nodes, and where its law breaks."""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import IntEnum
from typing import Final

from burstwise.core.stage.charge import ChargeSegments
from burstwise.core.stage.circuit import GatedFeed, StageCircuit

GROUND: Final = "ground"


class Monitor(IntEnum):
    """Signals watched at every step; the position is the column in the engine's tables."""

    GATE = 0
    DRAIN = 1
    TOP = 2
    INPUT = 3
    RESERVOIR = 4
    PRIMARY_CURRENT = 5
    DRAIN_CURRENT = 6
    DRAIN_GATE = 7


@dataclass(frozen=True, slots=True)
class Element:
    """Two-terminal piecewise-linear element: current ``g v + c`` in each of three segments."""

    name: str
    start: str
    end: str
    monitor: Monitor
    low: float
    high: float
    conductance: tuple[float, float, float]
    offset: tuple[float, float, float]
    loss_names: tuple[str, str, str]


@dataclass(frozen=True, slots=True)
class Resistor:
    """Resistor from a node to another, or to a fixed voltage behind `fixed`."""

    name: str
    start: str
    end: str
    conductance: float
    fixed: float = 0.0


@dataclass(frozen=True, slots=True)
class Charge:
    """Capacitance from `start` to `end` whose charge is piecewise linear in their voltage."""

    start: str
    end: str
    monitor: Monitor
    law: ChargeSegments


def clamp_element(
    name: str,
    ends: tuple[str, str],
    monitor: Monitor,
    *,
    low: float,
    high: float,
    low_resistance: float,
    high_resistance: float,
    loss_names: tuple[str, str, str] | None = None,
) -> Element:
    """Element that conducts below `low` and above `high` volts through slope resistances."""
    g_low = 0.0 if math.isinf(low) else 1.0 / low_resistance
    g_high = 0.0 if math.isinf(high) else 1.0 / high_resistance
    return Element(
        name,
        *ends,
        monitor=monitor,
        low=low,
        high=high,
        conductance=(g_low, 0.0, g_high),
        offset=(
            0.0 if g_low == 0.0 else -g_low * low,
            0.0,
            0.0 if g_high == 0.0 else -g_high * high,
        ),
        loss_names=loss_names or (name, name, name),
    )


def source_node(circuit: StageCircuit) -> str:
    """Source terminal that the gate's return ends at: ground unless a shunt stands below it."""
    return "source" if circuit.shunted else GROUND


def die_node(circuit: StageCircuit) -> str:
    """Source on the die, below which the common-source inductance stands where there is one."""
    return "die" if circuit.lifted else source_node(circuit)


def gate_terminal(circuit: StageCircuit) -> str:
    """Terminal of the gate; the gate itself lies behind the internal gate resistance."""
    return "terminal" if circuit.switch.internal_gate_resistance > 0 else "gate"


def base_node(circuit: StageCircuit) -> str:
    """Node that the secondary's base current flows into."""
    return "input" if circuit.gated else gate_terminal(circuit)


def input_ends(circuit: StageCircuit) -> tuple[str, str]:
    """Ends of the clamp that the base current meets: driver's input, or gate terminal to source."""
    return base_node(circuit), GROUND if circuit.gated else source_node(circuit)


def elements_of(circuit: StageCircuit) -> tuple[Element, ...]:
    """Two-terminal piecewise-linear elements of a circuit, in the order of the region code."""
    switch, coil, clamps, feed = circuit.switch, circuit.coil, circuit.clamps, circuit.feed
    elements = [
        clamp_element(
            "device",
            ("drain", die_node(circuit)),
            Monitor.DRAIN,
            low=-switch.diode_voltage,
            high=switch.avalanche_voltage,
            low_resistance=switch.diode_resistance,
            high_resistance=switch.avalanche_resistance,
            loss_names=("body_diode", "avalanche", "avalanche"),
        ),
        clamp_element(
            "breakout",
            ("top", GROUND),
            Monitor.TOP,
            low=-coil.breakout_voltage,
            high=coil.breakout_voltage,
            low_resistance=coil.breakout_resistance,
            high_resistance=coil.breakout_resistance,
        ),
        clamp_element(
            "input_clamp" if isinstance(feed, GatedFeed) else "gate_clamp",
            input_ends(circuit),
            Monitor.INPUT,
            low=-feed.clamp_low,
            high=feed.clamp_high,
            low_resistance=feed.clamp_resistance,
            high_resistance=feed.clamp_resistance,
        ),
    ]
    if math.isfinite(clamps.drain_voltage):
        elements.append(
            clamp_element(
                "drain_clamp",
                ("drain", die_node(circuit)),
                Monitor.DRAIN,
                low=-math.inf,
                high=clamps.drain_voltage,
                low_resistance=1.0,
                high_resistance=clamps.drain_resistance,
            )
        )
    if circuit.has_reservoir:
        elements.append(
            clamp_element(
                "reservoir_diode",
                ("drain", "reservoir"),
                Monitor.RESERVOIR,
                low=-math.inf,
                high=clamps.reservoir_diode_voltage,
                low_resistance=1.0,
                high_resistance=clamps.reservoir_diode_resistance,
            )
        )
    return tuple(elements)


def resistors_of(circuit: StageCircuit, level: int) -> list[Resistor]:
    """Resistors of a circuit with the drive at `level`, windings and channel aside."""
    feed, clamps, terminal = circuit.feed, circuit.clamps, gate_terminal(circuit)
    parts = []
    if terminal != "gate":
        conductance = 1.0 / circuit.switch.internal_gate_resistance
        parts.append(Resistor("internal_gate", terminal, "gate", conductance))
    if circuit.shunted:
        parts.append(Resistor("shunt", "source", GROUND, 1.0 / circuit.shunt_resistance))
    if isinstance(feed, GatedFeed):
        high = level == 1
        ohms = feed.pull_up_resistance if high else feed.pull_down_resistance
        volts = feed.supply if high else 0.0
        parts.append(Resistor("gate_drive", terminal, GROUND, 1.0 / ohms, volts))
        if math.isfinite(feed.hold_resistance):
            conductance = 1.0 / feed.hold_resistance
            parts.append(Resistor("gate_hold", terminal, source_node(circuit), conductance))
        conductance = 1.0 / feed.bias_resistance
        name = "burden" if feed.turns > 0.0 else "bias"
        parts.append(Resistor(name, "input", GROUND, conductance, feed.bias_voltage))
    else:
        conductance = 1.0 / feed.bias_resistance
        parts.append(Resistor("bias", terminal, GROUND, conductance, feed.bias_voltage))
        if level == 0:
            parts.append(Resistor("pull_down", terminal, GROUND, 1.0 / feed.pull_down_resistance))
    if circuit.snubbed:
        ohms = clamps.snubber_resistance
        parts.append(Resistor("snubber", "drain", "snubber", 1.0 / ohms))
    if circuit.has_reservoir:
        conductance = 1.0 / clamps.reservoir_resistance
        volts = circuit.supply_voltage
        parts.append(Resistor("reservoir_bleed", "reservoir", GROUND, conductance, volts))
    return parts


def charges_of(circuit: StageCircuit) -> tuple[Charge, ...]:
    """Capacitances that fall with voltage, in the order of the region code."""
    switch = circuit.switch
    return (
        Charge("drain", die_node(circuit), Monitor.DRAIN, switch.drain_source_capacitance),
        Charge("drain", "gate", Monitor.DRAIN_GATE, switch.gate_drain_capacitance),
    )


def capacitors_of(circuit: StageCircuit) -> list[tuple[str, str, float]]:
    """Capacitors of constant value as (node, node, farad)."""
    clamps = circuit.clamps
    parts = [
        ("gate", die_node(circuit), circuit.switch.gate_source_capacitance),
        ("top", GROUND, circuit.coil.secondary_capacitance),
    ]
    if isinstance(circuit.feed, GatedFeed):
        parts.append(("input", GROUND, circuit.feed.input_capacitance))
        if circuit.feed.antenna > 0.0:
            parts.append(("top", "input", circuit.feed.antenna))
    if circuit.snubbed:
        parts.append(("snubber", source_node(circuit), clamps.snubber_capacitance))
    if circuit.has_reservoir:
        parts.append(("reservoir", GROUND, clamps.reservoir_capacitance))
    return parts
