"""Second looks: finer pieces, the class's law in place of a constant, the ratio nobody gave."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest

from burstwise.core.coil.coil_values import Origin
from burstwise.core.coil.resolve import resolved_coil
from burstwise.core.design.document import Design, with_values
from burstwise.core.evaluate import evaluate, results_object
from burstwise.core.evaluate.results import Results
from burstwise.core.evaluate.second_looks import looked_at_twice, pieces_error, with_charges
from burstwise.core.limits.device_classes import class_of, device_classes, typical_law
from burstwise.core.stage.build import stage_circuit
from burstwise.core.stage.carrier import carrier
from burstwise.core.storage import load

EXAMPLES = Path(__file__).parents[3] / "resources" / "examples"


def example(name: str, **changes: object) -> Design:
    design = load(EXAMPLES / f"classroom-{name}.burstwise")
    return with_values(design, {path.replace("__", "."): value for path, value in changes.items()})


@cache
def constant() -> Results:
    return evaluate(example("gated-interrupted", device__capacitance_law="constant"))


def test_a_constant_is_told_what_the_law_of_its_class_does():
    results = constant()
    found = {item.code: item for item in results.findings}["constant-capacitance"]
    assert found.field == "device.capacitance_law"
    # A planar device by its name, though a superjunction class is nearer in rating and resistance.
    bent = results.design.device.model_copy(update={"capacitance_law": "junction"})
    assert typical_law(bent) == "junction"
    # The same point by the usual door: the stage of a design whose device has that law.
    design = with_values(results.design, {"device": bent})
    other = stage_circuit(
        design, results.coil, supply_voltage=results.carrier.circuit.supply_voltage
    )
    other = other.with_on_resistance(results.carrier.circuit.switch.on_resistance)
    peak = carrier(other).drain_voltage_worst
    assert peak > 1.05 * results.carrier.drain_voltage_worst
    text = found.text.replace("\u00a0", " ")
    assert f"{peak:.0f} V and not {results.carrier.drain_voltage_worst:.0f} V" in text
    assert results.carrier.pieces_error == 0.0


def test_a_law_that_falls_is_not_told_so_and_a_quick_look_costs_nothing():
    bent = evaluate(example("gated-interrupted"), verify=False)
    assert bent.carrier.pieces_error == 0.0
    assert not {"constant-capacitance", "pieces-sensitive"} & {f.code for f in bent.findings}


def test_pieces_are_counted_twice_as_many():
    design = example("direct-continuous")
    run = carrier(stage_circuit(design, resolved_coil(design.coil)))
    error = pieces_error(design.device, run)
    finer = carrier(with_charges(run.circuit, design.device, finer=2))
    farads = finer.circuit.switch.drain_source_capacitance.farads
    assert len(farads) == 2 * (len(run.circuit.switch.drain_source_capacitance.farads) - 1) + 1
    moved = abs(finer.drain_voltage_worst / run.drain_voltage_worst - 1.0)
    assert 0.0 < moved <= error * (1.0 + 1e-9)
    assert error < 0.03
    checked, _ = looked_at_twice(design, resolved_coil(design.coil), run)
    assert checked.pieces_error == error


@pytest.mark.parametrize("factor", [0.5, 3.0])
def test_a_stage_that_hangs_on_the_pieces_is_told(factor):
    """A run whose capacitances are not those of its device moves a lot when they are put right."""
    design = example("direct-continuous")
    coil = resolved_coil(design.coil)
    circuit = stage_circuit(design, coil)
    wrong = circuit.switch.drain_source_capacitance.scaled(factor)
    run = carrier(replace(circuit, switch=replace(circuit.switch, drain_source_capacitance=wrong)))
    checked, found = looked_at_twice(design, coil, run)
    assert checked.pieces_error > 0.02
    assert [item.code for item in found] == ["pieces-sensitive"]


def test_the_error_of_the_pieces_is_printed_beside_that_of_the_step():
    results = constant()
    shown = replace(results, carrier=replace(results.carrier, pieces_error=0.0123))
    assert results_object(shown)["carrier"]["pieces_error"] == 0.0123
    shown = replace(results, carrier=replace(results.carrier, pieces_error=math.inf))
    assert results_object(shown)["carrier"]["pieces_error"] is None


def measured(**more: float) -> Design:
    design = example("direct-continuous")
    coil = resolved_coil(design.coil, temperature_c=design.cooling.ambient)
    names = ("primary_inductance", "primary_resistance", "secondary_inductance",
             "secondary_capacitance", "quality_factor", "coupling", "breakout_voltage")  # fmt: skip
    values = {f"coil.measured.{name}": getattr(coil, name) for name in names}
    values |= {f"coil.measured.{name}": value for name, value in more.items()}
    return with_values(design, {"coil.given_by": "measured", "coil.not_used": (), **values})


def test_the_ratio_of_a_measured_coil_is_asked_for():
    """The same coil by geometry and by its own values: the ratio is all that is lost."""
    design = example("direct-continuous")
    ratio = resolved_coil(design.coil, temperature_c=design.cooling.ambient).base_current_ratio
    assert ratio > 1.02
    by_geometry, bare, whole = (
        evaluate(each) for each in (design, measured(), measured(base_current_ratio=ratio))
    )
    assert whole.carrier.input_power == pytest.approx(by_geometry.carrier.input_power, rel=1e-6)
    assert abs(bare.carrier.input_power / by_geometry.carrier.input_power - 1.0) > 0.01
    codes = [{item.code for item in r.findings} for r in (by_geometry, bare, whole)]
    assert ["base-ratio-assumed" in found for found in codes] == [False, True, False]
    text = next(f.text for f in bare.findings if f.code == "base-ratio-assumed")
    assert "1 is used" in text.replace("\n", " ")


def test_a_measured_ratio_overrides_the_geometry_unless_switched_off():
    design = example("direct-continuous", coil__measured__base_current_ratio=1.2)
    coil = resolved_coil(design.coil)
    assert coil.base_current_ratio == 1.2
    (told,) = (item for item in coil.values if item.name == "base_current_ratio")
    assert (told.origin, told.measured) == (Origin.MEASURED, 1.2)
    off = with_values(design, {"coil.not_used": ("base_current_ratio",)})
    assert resolved_coil(off.coil).base_current_ratio < 1.15


def test_class_of_a_device_is_its_own_or_the_nearest():
    for item in device_classes():
        assert class_of(item.device) is item
        near = item.device.model_copy(
            update={"name": "mine", "on_resistance": 1.02 * item.device.on_resistance}
        )
        assert class_of(near).device.drain_voltage_rating == item.device.drain_voltage_rating
