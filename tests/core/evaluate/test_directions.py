"""Figures move the way that physics says, and by its power where it gives one.

Each row moves one field by a factor and takes the local exponent ``ln(y2/y1)/ln(factor)`` of a
figure from two complete evaluations. A closed form gives a narrow range, everything else the sign.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from burstwise.core.design.document import Design, value_at, with_values
from burstwise.core.evaluate import evaluate, results_object
from burstwise.core.evaluate.chain import chain_of
from burstwise.core.interrupter.resolve import resolved_interrupter
from burstwise.core.stage.elements import Monitor
from burstwise.core.storage import load
from burstwise.core.studies.quick import warm_up_of

EXAMPLES = Path(__file__).parents[3] / "resources" / "examples"
MEASURED = {
    "coil.given_by": "measured",
    "coil.measured": {
        "primary_inductance": 3e-6, "primary_resistance": 0.08, "secondary_inductance": 9e-3,
        "secondary_capacitance": 7e-12, "quality_factor": 150.0, "coupling": 0.22,
        "breakout_voltage": 9e3,
    },
}  # fmt: skip
QUIET = MEASURED | {
    "coil.measured": MEASURED["coil.measured"] | {"breakout_voltage": 3e6},
    "protection.snubber": None,
    "supply.voltage": 10.0,
    "device.capacitance_law": "constant",
}
"""Far below breakout and avalanche, with capacitances that do not bend: close to a linear one."""
BRIEF = {"interrupter.frequency": 500.0, "interrupter.duty": 0.05}
"""Bursts that end long before the source has refilled the bulk capacitor."""
BASES: Mapping[str, tuple[str, Mapping[str, object]]] = {
    "built": ("classroom-gated-interrupted", {"coil.measured.breakout_voltage": None}),
    "large": ("demonstration-gated-large", {"coil.measured.breakout_voltage": None}),
    "stage": ("classroom-gated-interrupted", MEASURED),
    "quiet": ("classroom-gated-interrupted", QUIET),
    "brief": ("classroom-gated-interrupted", MEASURED | BRIEF),
    "long loop": (
        "classroom-gated-interrupted",
        MEASURED | {"interrupter.chain.loop_inductance": 1e-7},
    ),
    "leads": ("classroom-gated-interrupted", MEASURED | {"coil.lead_inductance": 1e-6}),
    "direct": ("classroom-direct-continuous", {}),
    "timer": ("classroom-gated-interrupted", MEASURED | {"interrupter.given_by": "parts"}),
}


@dataclass(frozen=True)
class Relation:
    """Field of a base times a factor: the figure goes with its power between low and high."""

    base: str
    field: str
    figure: str
    low: float
    high: float
    factor: float = 1.2

    def __str__(self) -> str:
        return f"{self.field} -> {self.figure} ({self.base})"


GATE = ("gate_power", "rise_time", "overshoot")
UP, DOWN = (0.01, 4.0), (-4.0, -0.01)
RELATIONS = (
    Relation("quiet", "coil.measured.secondary_capacitance", "coil.resonance_Hz", -0.5001, -0.4999),
    Relation("quiet", "coil.measured.secondary_inductance", "coil.resonance_Hz", -0.5001, -0.4999),
    Relation("quiet", "coil.measured.secondary_capacitance", "carrier.frequency_Hz", -0.55, -0.4),
    Relation("quiet", "supply.voltage", "carrier.input_power_W", 1.95, 2.1),
    Relation("quiet", "supply.voltage", "carrier.top_voltage_peak_V", 0.97, 1.05),
    Relation("quiet", "coil.measured.quality_factor", "carrier.top_voltage_peak_V", *UP),
    Relation("quiet", "coil.measured.coupling", "carrier.time_to_90_percent_s", *DOWN),
    Relation("quiet", "coil.measured.coupling", "carrier.cycles_to_90_percent", *DOWN),
    Relation("quiet", "coil.measured.primary_resistance", "carrier.losses_W.primary_winding", *UP),
    Relation("quiet", "coil.measured.primary_inductance", "carrier.drain_current_peak_A", *DOWN),
    Relation("stage", "coil.measured.breakout_voltage", "carrier.top_voltage_peak_V", *UP),
    Relation("stage", "coil.breakout_resistance", "carrier.top_voltage_peak_V", *UP),
    Relation("stage", "drive.shunt_resistance", "carrier.losses_W.shunt", 0.8, 1.01),
    Relation("stage", "drive.shunt_resistance", "limits.shunt_power", 0.8, 1.01),
    Relation("leads", "coil.lead_inductance", "carrier.drain_current_peak_A", *DOWN),
    Relation("stage", "protection.snubber.capacitance", "carrier.losses_W.snubber", *UP),
    Relation("stage", "device.on_resistance", "carrier.losses_W.channel", *UP),
    Relation("stage", "device.hot_resistance_ratio", "carrier.losses_W.channel", *UP),
    Relation("stage", "device.input_capacitance", "carrier.losses_W.gate_drive", 0.5, 1.1),
    Relation("stage", "device.gate_charge", "chain.gate_power", 0.9999, 1.0001),
    Relation("stage", "drive.gated.driver_supply", "chain.rise_time", -1.0001, -0.9999),
    Relation("stage", "drive.gated.gate_resistor", "chain.rise_time", 0.45, 0.55),
    Relation("long loop", "interrupter.chain.loop_inductance", "chain.overshoot", *UP),
    Relation("stage", "interrupter.duty", "burst.average_power_W", 0.95, 1.1),
    Relation("stage", "interrupter.duty", "thermal.junction_rise_K", 0.9, 1.5),
    Relation("stage", "interrupter.frequency", "burst.energy_per_burst_J", -1.1, -0.9),
    Relation("stage", "interrupter.frequency", "thermal.junction_ripple_K", *DOWN),
    Relation("stage", "cooling.sink_resistance", "thermal.heat_sink_rise_K", 0.99, 1.3),
    Relation("stage", "cooling.interface_resistance", "thermal.junction_rise_K", *UP),
    Relation("stage", "cooling.ambient", "thermal.junction_rise_K", *UP),
    Relation("stage", "cooling.sink_heat_capacity", "warm_up.half_time_s", 0.99, 1.01),
    Relation("brief", "supply.bulk_capacitance", "burst.supply_droop_V", *DOWN),
    Relation("stage", "supply.source_resistance", "burst.average_power_W", -0.1, -0.002),
    Relation("brief", "supply.bulk_esr", "burst.supply_droop_V", *UP),
    Relation("stage", "supply.voltage", "burst.supply_droop_V", *UP),
    Relation("built", "coil.geometry.secondary.turns", "coil.resonance_Hz", -1.2, -0.5),
    Relation("built", "coil.geometry.secondary.turns", "coil.secondary_inductance_H", 1.0, 2.0),
    Relation("built", "coil.geometry.top_load.diameter", "coil.resonance_Hz", *DOWN),
    Relation("built", "coil.geometry.top_load.diameter", "coil.breakout_voltage_V", *UP),
    Relation("built", "coil.geometry.base_height", "coil.resonance_Hz", 0.002, 0.1),
    Relation("built", "coil.geometry.primary.turns", "coil.primary_inductance_H", 1.0, 2.0),
    Relation("built", "coil.geometry.primary.inner_radius", "coil.coupling", *DOWN),
    Relation("built", "coil.geometry.air_pressure", "coil.breakout_voltage_V", 0.5, 1.0, 0.8),
    Relation("large", "coil.geometry.primary.conductor.diameter", "coil.primary_resistance_ohm",
             *DOWN),
    Relation("large", "coil.geometry.top_load.thickness", "coil.resonance_Hz", *DOWN),
    Relation("direct", "cooling.sink_resistance", "thermal.junction_rise_K", *UP),
    Relation("direct", "drive.direct.clamp_high", "carrier.gate_peak_V", *UP),
    Relation("direct", "supply.source_resistance", "burst.average_power_W", -0.1, -0.002),
    Relation("timer", "interrupter.parts.timing_capacitor", "timer.frequency", -1.0001, -0.9999),
    Relation("timer", "interrupter.parts.potentiometer", "timer.frequency", -1.01, -0.9),
    Relation("timer", "interrupter.parts.travel", "timer.duty", *UP),
)  # fmt: skip


@cache
def figures(design: Design) -> dict[str, float]:
    """Figures of a complete evaluation by name; rises are above ambient."""
    results = evaluate(design, verify=False)
    found = {}
    known = results_object(results)
    for group in ("coil", "carrier", "burst", "thermal"):
        found |= {f"{group}.{name}": value for name, value in known[group].items()}
    found |= {f"carrier.losses_W.{n}": power for n, power in results.carrier.losses.items()}
    found["carrier.gate_peak_V"] = float(results.carrier.peaks[Monitor.GATE])
    found |= {f"limits.{item.rating}": item.value for item in results.limits}
    ambient = design.cooling.ambient
    found["thermal.junction_rise_K"] = results.junction_mean - ambient
    found["thermal.heat_sink_rise_K"] = known["thermal"]["heat_sink_C"] - ambient
    gate = chain_of(results).gate
    if gate is not None:
        found |= {f"chain.{name}": getattr(gate, name) for name in GATE}
    timer = resolved_interrupter(design)
    found |= {"timer.frequency": timer.frequency, "timer.duty": timer.duty}
    course = warm_up_of(results)
    half = 0.5 * (course.heat_sink[0] + course.heat_sink[-1])
    found["warm_up.half_time_s"] = float(np.interp(half, course.heat_sink, course.time))
    return found


@cache
def base(name: str) -> Design:
    file, changes = BASES[name]
    return with_values(load(EXAMPLES / f"{file}.burstwise"), changes)


@pytest.mark.parametrize("relation", RELATIONS, ids=str)
def test_a_figure_moves_as_physics_says(relation: Relation) -> None:
    before = base(relation.base)
    value = value_at(before, relation.field) * relation.factor
    after = with_values(before, {relation.field: value})
    first, second = figures(before)[relation.figure], figures(after)[relation.figure]
    assert first > 0
    assert second > 0
    exponent = math.log(second / first) / math.log(relation.factor)
    assert relation.low <= exponent <= relation.high
