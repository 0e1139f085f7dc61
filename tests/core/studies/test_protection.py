"""Protection holds what it promises, in engine runs of its own."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from burstwise.core.design.document import with_values
from burstwise.core.evaluate import evaluate
from burstwise.core.stage.build import stage_circuit
from burstwise.core.stage.carrier import carrier
from burstwise.core.stage.elements import Monitor
from burstwise.core.stopping import StoppedError
from burstwise.core.studies.protection import Tolerances, proposals


@pytest.fixture(scope="module")
def found(spiking):
    return {item.kind: item for item in proposals(spiking)}


def test_kinds(found):
    assert set(found) == {"drain_clamp", "snubber", "reservoir_clamp", "base_clamps", "fuse"}


def test_gate_clamp_holds_both_ways(hot_direct):
    direct = {item.kind: item for item in proposals(evaluate(hot_direct, verify=False))}
    assert set(direct) == {"drain_clamp", "snubber", "reservoir_clamp", "gate_clamp", "fuse"}
    assert direct["gate_clamp"].holds
    # The clamp's low side swings the gate below its source by about one volt.
    fitted = evaluate(with_values(hot_direct, direct["gate_clamp"].edits), verify=False)
    below = -float(fitted.carrier.valleys[Monitor.GATE])
    assert 0.4 < below < 2.0
    weak = with_values(hot_direct, {"device.negative_gate_rating": 0.8 * below})
    (item,) = (
        item for item in proposals(evaluate(weak, verify=False)) if item.kind == "gate_clamp"
    )
    assert item.worst_peak < item.limit
    assert not item.holds


@pytest.mark.parametrize("kind", ["drain_clamp", "snubber", "reservoir_clamp"])
def test_spike_is_held_over_random_tolerances(spiking, found, kind, figure):
    """Builds inside the tolerances, none of which is a corner that the sizing has run."""
    item = found[kind]
    assert item.holds
    assert item.worst_peak < item.limit == spiking.design.device.drain_voltage_rating
    design = with_values(spiking.design, item.edits)
    bus, ohms = spiking.operation.voltage, spiking.operation.on_resistance
    tol, random, worst = Tolerances(), np.random.default_rng(3), 0.0
    for _ in range(8):
        off = random.uniform(-1, 1, 5).tolist()
        circuit = stage_circuit(
            design, spiking.coil, supply_voltage=bus * (1 + tol.supply * off[0])
        ).with_on_resistance(ohms)
        clamps = replace(
            circuit.clamps,
            drain_voltage=circuit.clamps.drain_voltage * (1 + tol.clamp_voltage * off[1]),
            snubber_resistance=circuit.clamps.snubber_resistance * (1 + tol.resistor * off[2]),
            snubber_capacitance=circuit.clamps.snubber_capacitance * (1 + tol.capacitor * off[3]),
            reservoir_resistance=circuit.clamps.reservoir_resistance * (1 + tol.resistor * off[2]),
        )
        coil = replace(circuit.coil, coupling=circuit.coil.coupling * (1 + tol.coupling * off[4]))
        run = carrier(replace(circuit, clamps=clamps, coil=coil))
        worst = max(worst, run.drain_voltage_peak)
    figure(f"{kind}: worst spike of random builds over the rating", worst / item.limit,
           limit="1", source="engine")  # fmt: skip
    assert worst < item.limit


def test_without_protection_the_rating_is_exceeded(spiking):
    assert spiking.carrier.drain_voltage_peak > spiking.design.device.drain_voltage_rating


def test_fitted_clamp_gives_the_peak_and_heat_that_were_told(spiking, found):
    item = found["drain_clamp"]
    after = evaluate(with_values(spiking.design, item.edits), verify=False)
    assert after.carrier.drain_voltage_peak == pytest.approx(item.peak, rel=0.02)
    assert after.load.clamp_power == pytest.approx(item.heat, rel=0.1)
    assert next(x for x in after.limits if x.rating == "clamp_power").margin > 0.3


def test_fuse_carries_the_rms_current(spiking, found):
    item = found["fuse"]
    rated = next(part.value for part in item.parts if part.role == "rated current")
    assert item.peak <= 0.75 * rated
    assert item.peak > spiking.load.supply_current_mean


def test_parts_are_kinds_that_are_sold(spiking, found):
    """Half of the mean power that is printed is used; one suppressor does not do 20 W."""
    row = found["drain_clamp"].parts[1]
    assert "transient suppressor" in row.role
    assert row.value >= 2 * found["drain_clamp"].worst_heat
    assert found["drain_clamp"].edits["protection.drain_clamp"]["power_rating"] == row.value
    for kind in ("snubber", "reservoir_clamp"):
        carried = next(part for part in found[kind].parts if part.unit == "W")
        assert carried.value >= 2 * found[kind].worst_heat
        assert "wirewound" not in carried.role


def test_base_clamps_tell_the_heat_of_each_diode(found):
    """5.6 V beside 0.6 V: by far the most of it is in the Zener diode."""
    high, low = (part.value for part in found["base_clamps"].parts[1:])
    assert high + low == pytest.approx(2 * found["base_clamps"].worst_heat)
    assert 4 < high / low < 5.6 / 0.6


def test_stops_when_told(spiking):
    with pytest.raises(StoppedError):
        list(proposals(spiking, ask=lambda share: False))
