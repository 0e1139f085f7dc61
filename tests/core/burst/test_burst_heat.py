"""Heat of a burst with its ring-down: sums over a dense time course, and closed forms."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
from scipy.interpolate import PchipInterpolator

from burstwise.core.burst.operation import burst_energy
from burstwise.core.burst.ring_up import RingUpCurves
from burstwise.core.burst.table import CURVES, ORDERS, CarrierTable
from burstwise.core.design.document import with_values
from burstwise.core.evaluate import evaluate
from burstwise.core.stage.elements import Monitor
from burstwise.core.stage.engine import Engine, Trace
from burstwise.core.storage import load

EXAMPLES = Path(__file__).parents[3] / "resources" / "examples"
RISE, FALL = 40e-6, 25e-6
"""Time constants of the amplitude on its way up and down [s]."""
POWER, HEAT, STORED, LEFT_HEAT, RETURNED = 80.0, 6.0, 4e-4, 9e-5, -1.5e-4
"""Steady powers [W], steady energy [J], and the whole ring-down's heat and supplied energy [J]."""


@pytest.fixture(scope="module")
def part():
    """A stage of exponentials at 30 V; powers set in with the square of the amplitude's part."""
    volts, ohms = np.array([20.0, 30.0, 40.0]), np.array([0.5, 1.0])
    steady = {
        "input_power": POWER, "device_power": HEAT, "stored": STORED,
        "ring_down_heat": LEFT_HEAT, "ring_down_supplied": RETURNED,
    }  # fmt: skip
    grid = np.zeros((3, 2, len(ORDERS)))
    for place, name in enumerate(ORDERS):
        grid[..., place] = steady.get(name, 0.0) / 30.0 ** ORDERS[name]
        if name == "time_to_90_percent":
            grid[..., place] = RISE * math.log(10.0)
        if name == "ring_down_time":
            grid[..., place] = FALL
    time = np.linspace(0.0, 25 * RISE, 2001)
    lines = np.array([power * reached(time) for power in (POWER, HEAT)] + [STORED * filled(time)])
    lines = np.broadcast_to(lines / 900.0, (3, 2, len(CURVES), len(time)))
    curves = RingUpCurves.through(volts, time, lines * volts[:, None, None, None] ** 2)
    return CarrierTable(volts, ohms, PchipInterpolator(volts, grid), curves, ()).at(
        np.array([30.0])
    )


def filled(time):
    """Part of the steady energy that is stored some time after a cold start."""
    return (1 - np.exp(-time / RISE)) ** 2


def reached(time):
    """Integral of `filled` [s]."""
    return time - 2 * RISE * (1 - np.exp(-time / RISE)) + RISE / 2 * (1 - np.exp(-2 * time / RISE))


@pytest.mark.parametrize("on", [20e-6, 60e-6, 400e-6])
def test_burst_after_a_long_pause_has_ring_up_and_whole_ring_down(part, on):
    found = burst_energy(part, np.array([on]), np.array([1.0]))
    share = filled(on)
    assert found.device_heat[0, 0] == pytest.approx(
        HEAT * reached(on) + LEFT_HEAT * share, rel=2e-3
    )
    assert found.supplied[0, 0] == pytest.approx(POWER * reached(on) + RETURNED * share, rel=2e-3)
    # The ring-down is a good part of it, but for the longest.
    assert LEFT_HEAT * share > 0.03 * HEAT * reached(on)


def test_bursts_close_together_start_from_what_is_left(part):
    """Amplitude stepped through many periods: up along the exponential, down along the other."""
    on, off = 60e-6, 15e-6
    amplitude = 0.0
    for _ in range(60):
        start = amplitude
        end = 1 - (1 - start) * math.exp(-on / RISE)
        amplitude = end * math.exp(-off / FALL)
    time = np.linspace(0.0, on, 20_001)
    course = (1 - (1 - start) * np.exp(-time / RISE)) ** 2
    # Of the ring-down only what the pause lets go.
    gone = end**2 - amplitude**2
    heat = HEAT * np.trapezoid(course, time) + LEFT_HEAT * gone
    supplied = POWER * np.trapezoid(course, time) + RETURNED * gone
    found = burst_energy(part, np.array([on]), np.array([off]))
    assert found.warm_start[0, 0] == pytest.approx(amplitude, rel=0.03)
    assert found.device_heat[0, 0] == pytest.approx(heat, rel=0.02)
    assert found.supplied[0, 0] == pytest.approx(supplied, rel=0.02)


def device_heat(trace: Trace, switch) -> float:
    """Heat of channel, diode and avalanche by the trapezoid rule over the traced voltages [J]."""
    drain, gate = trace.signal(Monitor.DRAIN), trace.signal(Monitor.GATE)
    over = np.maximum(np.where(drain >= 0, gate, gate - drain) - switch.threshold, 0.0)
    channel = np.minimum(np.abs(drain) / switch.on_resistance, switch.transconductance * over)
    diode = np.minimum(drain + switch.diode_voltage, 0.0) / switch.diode_resistance
    avalanche = np.maximum(drain - switch.avalanche_voltage, 0.0) / switch.avalanche_resistance
    return float(np.trapezoid(np.abs(drain) * channel + drain * (diode + avalanche), trace.time))


@pytest.mark.parametrize(
    ("name", "on", "off", "within"),
    [
        ("classroom-gated-interrupted", 10e-6, 100e-6, 0.08),
        ("classroom-gated-interrupted", 20e-6, 100e-6, 0.02),
        ("demonstration-gated-large", 100e-6, 2e-3, 0.05),
    ],
)
def test_heat_of_short_bursts_against_a_dense_sum(name, on, off, within, figure):
    """Four bursts in a row through the engine; the last one's heat, ring-down and all."""
    design = with_values(
        load(EXAMPLES / f"{name}.burstwise"),
        {"interrupter.given_by": "numbers", "interrupter.frequency": 1 / (on + off),
         "interrupter.duty": on / (on + off), "supply.source_resistance": 1e-3,
         "supply.bulk_esr": 0.0},
    )  # fmt: skip
    results = evaluate(design, verify=False)
    switch = results.carrier.circuit.switch
    engine = Engine(results.carrier.circuit, steps_per_cycle=160)
    for last in (False, False, False, True):
        heats = []
        for enabled, length in ((True, on), (False, off)):
            engine.forget_trace()
            engine.enable(enabled)
            engine.run(length, trace=last)
            heats.append(device_heat(engine.trace(), switch) if last else 0.0)
    found = results.operation.device_power * (on + off)
    error = found / sum(heats) - 1.0
    figure(
        f"device heat of a burst of {on * 1e6:.0f} us, {name}",
        abs(error),
        limit=f"{within:.0%}",
        source="dense sum over an engine run through on-time and ring-down",
    )
    # Without the ring-down it would be further off than this test allows.
    assert heats[1] > 1.2 * within * sum(heats)
    assert abs(error) < within
