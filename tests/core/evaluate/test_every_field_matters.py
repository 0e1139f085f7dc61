"""Every field of the design moves the figures that it is there for.

The walk follows the types, so a new field without a place in `SEEN_BY`, or one that nothing reads,
fails here.
"""

from __future__ import annotations

import typing
from collections.abc import Iterator, Mapping
from typing import Any

import pytest
from pydantic import BaseModel

from burstwise.core.coil.resolve import resolved_coil
from burstwise.core.design.coil import REQUIRED_MEASURED
from burstwise.core.design.document import Design, design_from, field_info
from burstwise.core.design.drive import FEEDBACK_FIELDS
from burstwise.core.design.supply import LOW_VOLTAGE_FIELDS
from burstwise.core.errors import InputError

SEEN_BY: Mapping[str, tuple[str, tuple[str, ...]]] = {
    "name": ("gated", ("sheet.title",)),
    "notes": ("gated", ("sheet.Operating point",)),
    "coil.given_by": ("both", ("coil.", "carrier.")),
    "coil.measured": ("gated", ("carrier.input_power_W",)),
    "coil.measured.resonance": ("resonant", ("carrier.frequency_Hz",)),
    "coil.not_used": ("both", ("carrier.input_power_W",)),
    "coil.breakout_resistance": ("gated", ("carrier.input_power_W",)),
    "coil.lead_inductance": ("gated", ("carrier.drain_voltage_peak_V", "coil.loop_coupling")),
    "coil.geometry.secondary": ("helical", ("coil.secondary_inductance_H",)),
    "coil.geometry.secondary.winding_length": ("tapped", ("coil.secondary_inductance_H",)),
    "coil.geometry.primary": ("tapped", ("coil.primary_inductance_H",)),
    "coil.geometry.primary.turns": ("helical", ("coil.primary_inductance_H",)),
    "coil.geometry.primary.conductor": ("tapped", ("coil.primary_resistance_ohm",)),
    "coil.geometry.primary.conductor.width": ("strip", ("coil.primary_resistance_ohm",)),
    "coil.geometry.primary.conductor.thickness": ("strip", ("coil.primary_resistance_ohm",)),
    "coil.geometry.primary.start_height": ("helical", ("coil.coupling",)),
    "coil.geometry.top_load": ("tapped", ("coil.secondary_capacitance_F",)),
    "coil.geometry.top_load.roughness": ("tapped", ("coil.breakout_voltage_V",)),
    "coil.geometry.base_height": ("helical", ("coil.resonance_Hz",)),
    "coil.geometry.top_load.point_fitted": ("tapped", ("coil.breakout_voltage_V",)),
    "coil.geometry.top_load.point_tip_radius": ("pointed", ("coil.breakout_voltage_V",)),
    "coil.geometry.top_load.point_height": ("pointed", ("coil.breakout_voltage_V",)),
    "coil.geometry.strike_ring_height": ("helical", ("limits.strike",)),
    "coil.geometry.air_pressure": ("helical", ("coil.breakout_voltage_V",)),
    "device.name": ("gated", ("bill.switch.",)),
    "device.drain_voltage_rating": ("gated", ("limits.drain_voltage",)),
    "device.voltage_use": ("gated", ("limits.drain_voltage",)),
    "device.avalanche_voltage": ("bare", ("carrier.drain_voltage_peak_V",)),
    "device.avalanche_resistance": ("bare", ("carrier.drain_voltage_peak_V",)),
    "device.avalanche_energy": ("bare", ("limits.turn_off_energy",)),
    "device.repetitive_avalanche_energy": ("bare", ("limits.avalanche_energy",)),
    "device.avalanche_current": ("bare", ("limits.avalanche_current",)),
    "device.gate_voltage_rating": ("gated", ("limits.gate_voltage",)),
    "device.negative_gate_rating": ("gated", ("limits.gate_negative",)),
    "device.recommended_gate_low": ("gated", ("findings.gate-level-low",)),
    "device.recommended_gate_high": ("gated", ("findings.gate-level-high",)),
    "device.continuous_current": ("gated", ("limits.continuous_current",)),
    "device.pulsed_current": ("gated", ("limits.pulsed_current",)),
    "device.power_rating": ("gated", ("limits.device_power",)),
    "device.junction_limit": ("gated", ("limits.junction_peak",)),
    "device.kept_junction": ("gated", ("limits.junction_peak",)),
    "device.on_resistance": ("gated", ("burst.device_power_W",)),
    "device.hot_resistance_ratio": ("gated", ("thermal.on_resistance_ohm",)),
    "device.threshold_voltage": ("gated", ("carrier.device_power_W",)),
    "device.transconductance": ("gated", ("carrier.device_power_W",)),
    "device.input_capacitance": ("gated", ("carrier.auxiliary_power_W",)),
    "device.output_capacitance": ("gated", ("carrier.drain_voltage_peak_V",)),
    "device.reverse_capacitance": ("gated", ("carrier.device_power_W",)),
    "device.gate_charge": ("gated", ("chain.gate.gate_power",)),
    "device.internal_gate_resistance": ("direct", ("carrier.device_power_W",)),
    "device.body_diode_voltage": ("gated", ("carrier.device_power_W",)),
    "device.body_diode_resistance": ("gated", ("carrier.device_power_W",)),
    "device.body_diode_dv_dt": ("sound", ("limits.diode_dv_dt",)),
    "device.thermal_network": ("gated", ("thermal.junction_peak_C",)),
    "device.impedance_curve": ("gated", ("datasheet.network",)),
    "device.capacitance_law": ("gated", ("carrier.drain_voltage_peak_V",)),
    "device.output_capacitance_is": ("gated", ("carrier.drain_voltage_peak_V",)),
    "device.capacitance_voltage": ("gated", ("carrier.drain_voltage_peak_V",)),
    "device.time_related_capacitance": ("kneed", ("datasheet.charges",)),
    "device.stored_energy": ("kneed", ("datasheet.charges",)),
    "device.stored_charge": ("gated", ("datasheet.charges",)),
    "device.effective_voltage": ("kneed", ("datasheet.charges",)),
    "device.capacitance_curve": ("curved", ("datasheet.charges",)),
    "device.reverse_curve": ("curved", ("datasheet.charges",)),
    "device.safe_area": ("gated", ("limits.safe_area_single",)),
    "drive.kind": ("gated", ("carrier.input_power_W",)),
    "drive.feedback_sense": ("gated", ("carrier.frequency_Hz",)),
    "drive.shunt_resistance": ("gated", ("carrier.losses_W.shunt",)),
    "drive.shunt_power_rating": ("gated", ("limits.shunt_power",)),
    "drive.source_inductance": ("sound", ("carrier.device_power_W", "limits.gate_voltage")),
    "drive.direct": ("direct", ("carrier.input_power_W",)),
    "drive.direct.pull_down_resistance": ("direct", ("carrier.ring_down",)),
    "drive.direct.pull_down_current_rating": ("direct", ("limits.pull_down_current",)),
    "drive.gated": ("gated", ("carrier.input_power_W",)),
    "drive.gated.fast_slew": ("slewed", ("carrier.driver_delay_s", "carrier.input_power_W")),
    "drive.gated.slow_slew": ("slewed", ("carrier.driver_delay_s", "carrier.input_power_W")),
    "drive.gated.slow_delay": ("slewed", ("carrier.driver_delay_s", "carrier.input_power_W")),
    "drive.gated.transformer_turns": ("transformed", ("carrier.losses_W.burden",)),
    "drive.gated.transformer_inductance": ("transformed", ("carrier.losses_W.burden",)),
    "drive.gated.burden": ("transformed", ("carrier.losses_W.burden",)),
    "drive.gated.antenna_capacitance": ("aerial", ("carrier.losses_W.input_clamp",)),
    "drive.gated.gate_source_resistor": (
        "gated",
        ("carrier.losses_W.gate_hold", "bill.gate_source_resistor.", "chain.low_load"),
    ),
    "drive.gated.undervoltage_lockout": ("switched", ("chain.gating.off",)),
    "drive.gated.quiescent_current": ("gated", ("limits.driver_junction",)),
    "drive.gated.peak_current_rating": ("gated", ("limits.driver_current",)),
    "drive.gated.thermal_resistance": ("gated", ("limits.driver_junction",)),
    "drive.gated.junction_limit": ("gated", ("limits.driver_junction",)),
    "protection": ("gated", ("carrier.drain_voltage_peak_V",)),
    "protection.drain_clamp.power_rating": ("gated", ("limits.clamp_power",)),
    "protection.trip": ("gated", ("limits.lost_loop_current",)),
    "protection.fuse_rating": ("gated", ("limits.fuse",)),
    "interrupter.enabled": ("gated", ("burst.average_power_W",)),
    "interrupter.given_by": ("gated", ("burst.average_power_W",)),
    "interrupter.frequency": ("gated", ("burst.energy_per_burst_J",)),
    "interrupter.duty": ("gated", ("burst.average_power_W",)),
    "interrupter.parts": ("parts", ("timer.0.", "timer.1.")),
    "interrupter.parts.timing_capacitor_kind": ("parts", ("timer.drift.",)),
    "interrupter.parts.frequency_potentiometer": ("two timers", ("timer.0.nominal",)),
    "interrupter.parts.frequency_travel": ("two timers", ("timer.0.nominal",)),
    "interrupter.parts.pulse_resistor": ("capped", ("timer.1.nominal",)),
    "interrupter.parts.pulse_capacitor": ("capped", ("timer.1.nominal",)),
    "interrupter.parts.pulse_capacitor_tolerance": ("capped", ("timer.1.high",)),
    "interrupter.parts.pulse_capacitor_kind": ("two timers", ("timer.drift.",)),
    "interrupter.parts.trigger_resistor": ("capped", ("findings.",)),
    "interrupter.parts.trigger_capacitor": ("capped", ("findings.",)),
    "interrupter.parts.potentiometer_end": ("parts", ("timer.knob.",)),
    "interrupter.chain.buffer": ("gated", ("chain.buffer.",)),
    "interrupter.chain.indicator": ("gated", ("chain.low_load",)),
    "interrupter.chain.gating": ("gated", ("chain.gating.off",)),
    "interrupter.chain.active_level": ("gated", ("chain.polarity.on_when_high",)),
    "interrupter.chain.decoupling": ("switched", ("chain.gating.off",)),
    "interrupter.chain.loop_inductance": ("inductive", ("chain.gate.overshoot",)),
    "interrupter.wish": ("wished", ("sets.",)),
    "supply": ("gated", ("burst.average_power_W",)),
    "supply.tolerance": ("gated", ("limits.bulk_voltage", "limits.drain_voltage")),
    "supply.current_limit": ("gated", ("limits.supply_current",)),
    "supply.bulk_voltage_rating": ("gated", ("limits.bulk_voltage",)),
    "supply.bulk_ripple_rating": ("gated", ("limits.bulk_ripple",)),
    "supply.low_voltage": ("gated", ("limits.regulator_junction",)),
    "supply.low_voltage.input_limit": ("gated", ("limits.regulator_input",)),
    "supply.low_voltage.dropout": ("low", ("chain.low_supply.output_low",)),
    "supply.low_voltage.tolerance": ("zener", ("chain.low_supply.output_low",)),
    "supply.low_voltage.least_zener_current": ("zener", ("chain.low_supply.series_resistor",)),
    "supply.low_voltage.current_limit": ("separate", ("findings.low-supply-current",)),
    "cooling": ("gated", ("thermal.junction_peak_C",)),
    "cooling.sink_heat_capacity": ("gated", ("warm_up.time",)),
    "cooling.sink_limit": ("gated", ("limits.heat_sink",)),
    "readings.rows.0": ("bench", ("bench.derived.", "bench.symptoms.0.current_mean")),
    "readings.rows.0.shunt_peak": ("bench", ("model.peak current",)),
    "readings.rows.0.drain_peak": ("bench", ("bench.forecast.",)),
    "readings.rows.0.heat_sink_temperature": ("bench", ("model.mean current",)),
    "readings.rows.0.breakout_length": ("bench", ("bench.findings.breakout-falls",)),
    "readings.rows.0.note": ("bench", ("bench.note",)),
    "readings": ("bench", ("bench.derived.",)),
    "readings.side_load": ("bench", ("bench.forecast.",)),
    "readings.accuracy.shunt_peak": ("bench", ("model.peak current",)),
    "readings.accuracy.drain_peak": ("bench", ("bench.forecast.",)),
    "readings.probe": ("bench", ("bench.capture",)),
    "calibration": ("calibrated", ("carrier.input_power_W",)),
    "calibration.misfit": ("calibrated", ("findings.calibration-doubtful",)),
    "calibration.at_bound": ("bounded", ("findings.calibration-doubtful",)),
    "calibration.source": ("calibrated", ("sheet.Assumptions",)),
    "variants.0.name": ("varied", ("variant.name",)),
    "variants.0.changes": ("varied", ("variant.burst.average_power_W",)),
}
"""Field or section, the design to move it in, and the figures that must see it."""

ONE_VALUE = frozenset({"format"})
"""Fields that have one valid value only."""

OTHERS: Mapping[str, tuple[object, ...]] = {
    "coil.geometry.strike_ring_height": (0.03,),
    "coil.measured.base_current_ratio": (1.06,),
    "device.capacitance_curve.0.voltage": (5.0,),
    "device.avalanche_current": (5.0,),
    "device.continuous_current": (5.0,),
    "device.negative_gate_rating": (8.0,),
    "device.recommended_gate_low": (15.0,),
    "device.recommended_gate_high": (10.0,),
    "device.kept_junction": (110.0,),
    "device.stored_energy": (3.9e-5,),
    "device.stored_charge": (2.5e-8,),
    "coil.not_used": tuple([name] for name in REQUIRED_MEASURED),
    "calibration.at_bound": (["coupling"],),
    "interrupter.parts.trigger_resistor": (1e6,),
    "interrupter.parts.trigger_capacitor": (1e-7,),
    "interrupter.wish.frequency_high": (400.0,),
    "interrupter.wish.on_time_cap": (20e-3,),
    "interrupter.wish.potentiometers": ([22e3, 220e3],),
    "interrupter.wish.capacitors": (["x7r"],),
    "interrupter.wish.circuits": (["astable-steered-discharge"],),
    "interrupter.wish.timers": (["cmos"],),
    "variants.0.changes": ({"supply.voltage": 50.0}, {"interrupter.duty": 0.2}),
    "readings.rows.0.supply": ("21",),
    "readings.rows.0.duty": ("50 %",),
    "readings.rows.0.shunt_rms": ("25 mV",),
    "readings.rows.0.shunt_mean": ("11 mV",),
    "readings.rows.0.shunt_peak": ("200 mV",),
    "readings.rows.0.drain_peak": ("95",),
    "readings.rows.0.heat_sink_temperature": ("70",),
    "readings.rows.0.breakout_length": ("9 cm",),
}
"""Other values of fields that are neither numbers nor choices, or that matter far away only."""


def leaves(model: type[BaseModel], path: str = "") -> Iterator[tuple[str, Any]]:
    """Dotted paths and types of all fields; the first entry stands for a list."""
    for name, info in model.model_fields.items():
        here = f"{path}{name}"
        inner = next((one for one in parts_of(info.annotation) if is_section(one)), None)
        if inner is None:
            yield here, info.annotation
        else:
            a_list = typing.get_origin(info.annotation) is tuple
            yield from leaves(inner, f"{here}.0." if a_list else f"{here}.")


def parts_of(annotation: Any) -> tuple[Any, ...]:
    return (annotation, *typing.get_args(annotation))


def is_section(annotation: Any) -> bool:
    return isinstance(annotation, type) and issubclass(annotation, BaseModel)


LEAVES = dict(leaves(Design))


def seen_by(path: str) -> tuple[str, tuple[str, ...]]:
    """Entry of the nearest section that has one."""
    here = path
    while here not in SEEN_BY:
        here = here.rpartition(".")[0]
        assert here, f"{path} has no place in the table of what sees it"
    return SEEN_BY[here]


def value_in(design: Design, path: str) -> Any:
    here: Any = design
    for name in path.split("."):
        here = here[int(name)] if isinstance(here, tuple) else getattr(here, name)
    return here


def moved(design: Design, path: str, value: object) -> Design:
    """Design with one field set, also inside a list."""
    data: Any = design.model_dump(mode="json")
    *parents, last = path.split(".")
    here = data
    for name in parents:
        here = here[int(name)] if isinstance(here, list) else here[name]
    here[last] = value
    return design_from(data)


def other_values(path: str, value: Any) -> tuple[tuple[object, ...], bool]:
    """Other values to try, and whether each of them must be seen, not only one."""
    if path in OTHERS:
        return OTHERS[path], True
    literals = [one for one in parts_of(LEAVES[path]) if typing.get_origin(one) is typing.Literal]
    if typing.get_origin(LEAVES[path]) is typing.Literal or literals:
        choices = typing.get_args(literals[0] if literals else LEAVES[path])
        return tuple(one for one in choices if one != value), True
    if isinstance(value, bool):
        return (not value,), True
    if isinstance(value, str):
        return (f"{value} changed",), True
    assert isinstance(value, float), f"{path}: no other value is known for {value!r}"
    if value == 0.0:
        return (0.05 * field_info(without_places(path))["high"],), False
    return (1.3 * value, value / 1.3, 1.03 * value, value / 1.03), False


def without_places(path: str) -> str:
    return ".".join(name for name in path.split(".") if not name.isdigit())


def changed_figures(fields, path: str, name: str, design: Design, wanted: tuple[str, ...]) -> bool:
    for prefix in wanted:
        group = prefix.partition(".")[0]
        before = fields.figures(name, fields.base(name), group)
        after = fields.figures(name, design, group)
        keys = {key for key in {*before, *after} if key.startswith(prefix)}
        assert keys or prefix.startswith(("findings", "bench.findings")), f"{path}: no {prefix}"
        if any(before.get(key) != after.get(key) for key in keys):
            return True
    return False


def designs(path: str, base: Design) -> tuple[dict[str, Design], bool]:
    """Designs with another value of one field, and whether each of them must be seen."""
    values, each = other_values(path, value_in(base, path))
    found: dict[str, Design] = {}
    for value in values:
        try:
            design = moved(base, path, value)
            resolved_coil(design.coil)
            found[repr(value)] = design
        except InputError:
            if each:
                raise
    return found, each


@pytest.mark.parametrize("path", [path for path in LEAVES if path not in ONE_VALUE])
def test_a_field_moves_the_figures_that_it_is_there_for(path: str, fields) -> None:
    name, wanted = seen_by(path)
    others, each = designs(path, fields.base(name))
    assert others, f"no other value of {path} is valid"
    unseen = []
    for value, design in others.items():
        if changed_figures(fields, path, name, design, wanted):
            if not each:
                return
        else:
            unseen.append(value)
    assert not unseen, f"{path}: {', '.join(wanted)} stay with {', '.join(unseen)}"


def test_the_table_has_no_entry_without_a_field() -> None:
    for entry in (*SEEN_BY, *ONE_VALUE, *OTHERS):
        assert any(f"{path}.".startswith(f"{entry}.") for path in LEAVES), entry


def test_every_base_is_used(fields) -> None:
    assert {name for name, _ in SEEN_BY.values()} == set(fields.BASES)


@pytest.mark.parametrize(
    ("kind", "name"),
    [("base current", "sound"), ("current transformer", "transformed"), ("antenna", "aerial")],
)
def test_feedback_s_own_fields_have_a_say_with_their_kind_only(
    kind: str, name: str, fields
) -> None:
    base = fields.base(name)
    assert base.drive.gated.feedback == kind
    for field in (field for names in FEEDBACK_FIELDS.values() for field in names):
        others, _ = designs(f"drive.gated.{field}", base)
        expected = field in FEEDBACK_FIELDS[kind]
        moves = any(
            fields.figures(name, design, group) != fields.figures(name, base, group)
            for design in tried(others, expected)
            for group in ("carrier", "bill")
        )
        assert moves is expected, field


def tried(others: dict[str, Design], expected: bool) -> list[Design]:
    """Designs to try for a field; the farthest value shows a say that it must not have."""
    return list(others.values())[: None if expected else 1]


@pytest.mark.parametrize(
    ("kind", "name"), [("regulator", "low"), ("zener", "zener"), ("separate", "separate")]
)
def test_the_fields_that_a_form_hides_are_those_without_a_say(kind: str, name: str, fields) -> None:
    part = fields.base(name).supply.low_voltage
    assert part.kind == kind
    for field in type(part).model_fields:
        path = f"supply.low_voltage.{field}"
        others, _ = designs(path, fields.base(name))
        expected = field in LOW_VOLTAGE_FIELDS[kind]
        moves = any(
            fields.figures(name, design, group) != fields.figures(name, fields.base(name), group)
            for design in tried(others, expected)
            for group in ("limits", "findings", "chain", "bill")
        )
        assert moves is expected, field
