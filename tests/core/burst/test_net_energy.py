"""Energy of a burst against one run of the engine through on-time and ring-down."""

from __future__ import annotations

from pathlib import Path

import pytest

from burstwise.core.coil.resolve import resolved_coil
from burstwise.core.design.document import with_values
from burstwise.core.evaluate.evaluation import evaluate
from burstwise.core.stage.build import stage_circuit
from burstwise.core.stage.engine import Engine
from burstwise.core.storage import load

EXAMPLES = Path(__file__).parents[3] / "resources" / "examples"


@pytest.mark.parametrize(
    ("name", "on_time", "within"),
    [
        ("classroom-gated-interrupted", 20e-6, 0.03),
        ("classroom-gated-interrupted", 100e-6, 0.01),
        ("demonstration-gated-large", 100e-6, 0.05),
        ("demonstration-gated-large", 500e-6, 0.02),
    ],
)
def test_energy_of_a_burst_is_net_of_what_the_ring_down_returns(name, on_time, within, figure):
    design = with_values(
        load(EXAMPLES / f"{name}.burstwise"),
        {"interrupter.given_by": "numbers", "interrupter.frequency": 20.0,
         "interrupter.duty": 20.0 * on_time, "supply.source_resistance": 1e-3},
    )  # fmt: skip
    results = evaluate(design, verify=False)
    coil = resolved_coil(design.coil, temperature_c=design.cooling.ambient)
    volts = results.operation.voltage
    circuit = stage_circuit(design, coil, supply_voltage=volts)
    circuit = circuit.with_on_resistance(results.operation.on_resistance)
    engine = Engine(circuit)
    before = engine.stored
    engine.enable(True)
    engine.run(on_time)
    drive_on = engine.close_books(before).supplied["main"]
    before = engine.stored
    engine.enable(False)
    engine.run(400 / coil.resonance)
    returned = -engine.close_books(before).supplied["main"]
    assert returned > 0.0
    found = results.operation.energy_per_burst
    error = found / (drive_on - returned) - 1.0
    figure(
        f"energy of a burst of {on_time * 1e6:.0f} us, {name}",
        abs(error),
        limit=f"{within:.0%}",
        source="one engine run through on-time and ring-down",
    )
    assert abs(error) < within
