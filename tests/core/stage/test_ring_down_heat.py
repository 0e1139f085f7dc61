"""Heat and returned energy of a ring-down against sums over a dense course down to rest."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from burstwise.core.stage.carrier import carrier
from burstwise.core.stage.circuit import StageCircuit
from burstwise.core.stage.elements import Monitor
from burstwise.core.stage.engine import Engine


def rung_down(circuit: StageCircuit, cycles: int) -> tuple[float, float]:
    """Device heat and energy out of the supply, held off after some carrier cycles [J].

    Traced down to a millionth of the energy with twelve times the usual steps; powers come from
    the traced voltages and the laws of diode, avalanche and channel, by the trapezoid rule.
    """
    engine = Engine(circuit, steps_per_cycle=480)
    engine.enable(True)
    engine.run(1.0, cycle=cycles)
    engine.enable(False)
    engine.forget_trace()
    coil, switch = circuit.coil, circuit.switch
    engine.run(14.0 * coil.secondary_inductance / coil.secondary_resistance, trace=True)
    trace = engine.trace()
    drain, gate = trace.signal(Monitor.DRAIN), trace.signal(Monitor.GATE)
    over = np.maximum(np.where(drain >= 0, gate, gate - drain) - switch.threshold, 0.0)
    channel = np.minimum(np.abs(drain) / switch.on_resistance, switch.transconductance * over)
    diode = np.minimum(drain + switch.diode_voltage, 0.0) / switch.diode_resistance
    avalanche = np.maximum(drain - switch.avalanche_voltage, 0.0) / switch.avalanche_resistance
    heat = np.trapezoid(np.abs(drain) * channel + drain * (diode + avalanche), trace.time)
    current = trace.signal(Monitor.PRIMARY_CURRENT)
    return float(heat), float(circuit.supply_voltage * np.trapezoid(current, trace.time))


def with_quality(circuit: StageCircuit, quality: float, coupling: float) -> StageCircuit:
    coil = circuit.coil
    resistance = math.sqrt(coil.secondary_inductance / coil.secondary_capacitance) / quality
    coil = replace(coil, secondary_resistance=resistance, coupling=coupling)
    return replace(circuit, coil=coil)


@pytest.mark.parametrize(
    ("drive", "quality", "coupling"),
    [
        ("gated", 146.0, 0.2),
        ("gated", 700.0, 0.2),
        ("gated", 3000.0, 0.1),
        ("gated", 1500.0, 0.08),
        ("direct", 300.0, 0.2),
    ],
)
def test_ring_down_against_a_dense_sum(circuits, drive, quality, coupling, figure):
    circuit = with_quality(getattr(circuits, drive), quality, coupling)
    found = carrier(circuit)
    assert found.oscillates
    heat, supplied = rung_down(circuit, len(found.envelope))
    assert heat > 0.0 > supplied
    error = found.ring_down.device_heat / heat - 1
    figure(
        f"heat of a ring-down, {drive}, Q {quality:.0f}",
        abs(error),
        limit="2 %",
        source="dense sum down to rest",
    )
    assert abs(error) < 0.02
    assert found.ring_down.supplied == pytest.approx(supplied, rel=0.02)
