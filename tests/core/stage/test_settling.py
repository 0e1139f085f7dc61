"""Slow states, patient starts, peaks at corners and what a dead stage is said to do."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from burstwise.core.coil.resolve import resolved_coil
from burstwise.core.design.document import with_values
from burstwise.core.stage.build import stage_circuit
from burstwise.core.stage.carrier import carrier
from burstwise.core.stage.charge import ChargeSegments
from burstwise.core.stage.diagnosis import diagnose
from burstwise.core.stage.elements import Monitor
from burstwise.core.stage.engine import Engine
from burstwise.core.storage import load

EXAMPLES = Path(__file__).parents[3] / "resources" / "examples"


def circuit_of(name, **changes):
    design = load(EXAMPLES / f"{name}.burstwise")
    design = with_values(
        design,
        {"device.capacitance_law": "constant"}
        | {path.replace("__", "."): value for path, value in changes.items()},
    )
    coil = resolved_coil(design.coil, temperature_c=design.cooling.ambient)
    return stage_circuit(design, coil)


def test_a_reservoir_is_run_until_it_is_full():
    """The reservoir fills over 0.3 ms; only then the device goes into avalanche at 560 V.

    True course by CVODE with the second model's network: 344 V at 0.04 ms, 487 V at 0.12 ms.
    """
    run = carrier(circuit_of("classroom-gated-spiking", protection__reservoir_clamp={}))
    assert run.drain_voltage_peak > 560.0
    assert run.losses["avalanche"] > 1.0
    assert run.input_power == pytest.approx(
        sum(run.losses.values()) - run.auxiliary_power, rel=5e-3
    )


@pytest.mark.parametrize("ohms", [4700.0, 22e3, 47e3])
def test_a_slow_bias_starts_all_the_same(ohms):
    run = carrier(circuit_of("classroom-direct-continuous", drive__direct__bias_resistance=ohms))
    assert run.oscillates
    assert run.frequency == pytest.approx(935e3, rel=2e-3)
    assert run.top_voltage_peak == pytest.approx(9.97e3, rel=0.01)


def test_the_corner_of_a_clamp_is_caught_at_any_step():
    """A clamp's overshoot decays within one step: the peak must not hang on the step."""
    circuit = circuit_of("classroom-gated-interrupted", protection__snubber=None)
    circuit = circuit.with_clamps(drain_voltage=300.0, drain_resistance=4.0)
    peaks = []
    for steps in (40, 160, 640):
        engine = Engine(circuit, steps_per_cycle=steps)
        engine.enable(True)
        engine.run(cycle=60)
        peaks.append(float(engine.cycles[30:, 1 + Monitor.DRAIN].max()))
    assert peaks[0] == pytest.approx(peaks[2], rel=1e-3)
    assert peaks[1] == pytest.approx(peaks[2], rel=1e-3)
    assert peaks[2] > 303.0


def test_the_highest_values_are_those_of_the_whole_burst():
    run = carrier(circuit_of("classroom-gated-interrupted"))
    assert run.drain_voltage_worst > 1.5 * run.drain_voltage_peak
    assert run.drain_current_worst >= run.drain_current_peak


def test_rest_on_a_knot_is_found():
    """A knot at just the supply voltage: rounding must not send the search to and fro."""
    circuit = circuit_of("classroom-direct-continuous")
    law = ChargeSegments((circuit.supply_voltage,), (2e-10, 1e-10))
    assert carrier(circuit.with_drain_source(law)).oscillates


def test_bias_far_above_the_threshold_wants_less():
    run = carrier(circuit_of("classroom-direct-continuous", drive__direct__bias_voltage=20.0))
    texts = [item.text for item in diagnose(run)]
    assert "It starts with less bias" in texts[-1]


def test_a_reversed_stage_tells_where_its_heat_goes():
    circuit = circuit_of("demonstration-gated-large", protection__drain_clamp=None)
    run = carrier(replace(circuit, reversed_sense=True))
    first, second = (item.text.replace("\u00a0", " ") for item in diagnose(run))
    assert "snubber's resistor" in first
    assert "fire" in first
    assert "swings at" in first
    assert "swap the ends of one winding" in second
