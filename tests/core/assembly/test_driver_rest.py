"""Where a gate driver rests before the coil is connected, as the power-up plan expects it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest

from burstwise.core.assembly.powerup_stages import powerup_plan
from burstwise.core.coil.resolve import resolved_coil
from burstwise.core.design.document import with_values
from burstwise.core.evaluate.results import Results
from burstwise.core.stage.build import stage_circuit
from burstwise.core.stage.elements import Monitor
from burstwise.core.stage.engine import Engine

Evaluated = Callable[[str], Results]

# Thresholds 1.2 and 2.1 V, driver of 12 V. The input rests at its bias, or at its clamp where that
# is lower; above the rising threshold it is high, and the gate is the same or, inverted, the other.
TABLE = [
    # bias, clamp, inverting, input, gate
    (5.0, 5.6, False, 5.0, 12.0),
    (5.0, 5.6, True, 5.0, 0.0),
    (0.0, 5.6, False, 0.0, 0.0),
    (0.0, 5.6, True, 0.0, 12.0),
    (9.0, 5.6, False, 5.6, 12.0),
    (9.0, 0.9, False, 0.9, 0.0),
    (9.0, 0.9, True, 0.9, 12.0),
]


@pytest.mark.parametrize(("bias", "clamp", "inverting", "at_input", "at_gate"), TABLE)
def test_driver_rests_where_its_input_puts_it(
    evaluated: Evaluated,
    bias: float,
    clamp: float,
    inverting: bool,
    at_input: float,
    at_gate: float,
) -> None:
    results = evaluated("classroom-gated-interrupted")
    design = with_values(
        results.design,
        {
            "drive.gated.input_bias": bias,
            "drive.gated.input_clamp_high": clamp,
            "drive.gated.inverting": inverting,
        },
    )
    stage = next(
        stage
        for stage in powerup_plan(replace(results, design=design)).stages
        if stage.name == "driver"
    )
    wanted = {item.name: item for item in stage.expectations}
    assert wanted["input_rest"].expected == at_input
    gate = wanted["gate_rest"]
    assert gate.expected == at_gate
    # The band keeps the other level out.
    assert not gate.low <= 12.0 - at_gate <= gate.high

    # Second opinion: the engine holds the driver enabled, long before the coil has moved.
    circuit = stage_circuit(design, resolved_coil(design.coil), supply_voltage=1e-3)
    engine = Engine(circuit)
    engine.enable(True)
    engine.run(design.drive.gated.propagation_delay + 80e-9)
    assert engine.values()[Monitor.GATE] == pytest.approx(at_gate, abs=0.05)
