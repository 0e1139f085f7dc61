"""Convergence in step, ring steps and slack, and the traps of event-driven stepping."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from burstwise.core.findings import Severity
from burstwise.core.stage import region_tables
from burstwise.core.stage.carrier import carrier
from burstwise.core.stage.charge import ChargeSegments
from burstwise.core.stage.circuit import CoilValues
from burstwise.core.stage.elements import Monitor
from burstwise.core.stage.engine import Engine, Stop

constant = ChargeSegments.constant

CYCLES = 20.37


def end_state(circuit, cycles=CYCLES, **options):
    engine = Engine(circuit, **options)
    engine.enable(True)
    assert engine.run(cycles / circuit.coil.resonance) is Stop.REACHED
    return engine.state[:-1]


def error(state, fine):
    return float(np.abs(state - fine).max() / np.abs(fine).max())


@pytest.fixture(scope="module")
def fine(circuits):
    return {
        drive: end_state(getattr(circuits, drive), steps_per_cycle=512, slack=1)
        for drive in ("gated", "direct")
    }


@pytest.mark.parametrize("drive", ["gated", "direct"])
def test_error_of_the_default_step_is_below_a_ten_thousandth(circuits, fine, drive, figure):
    found = error(end_state(getattr(circuits, drive)), fine[drive])
    figure(
        f"end-state error at the default step, {drive}",
        found,
        limit="1e-4",
        source="run with 512 steps a cycle",
    )
    assert found < 1e-4


@pytest.mark.parametrize("drive", ["gated", "direct"])
def test_error_falls_with_the_step(circuits, fine, drive):
    circuit = getattr(circuits, drive)
    for steps, limit in ((20, 5e-3), (40, 1e-4), (80, 3e-5), (256, 1e-5)):
        found = error(end_state(circuit, steps_per_cycle=steps), fine[drive])
        assert found < limit, steps


@pytest.mark.parametrize("drive", ["gated", "direct"])
def test_error_falls_with_the_slack_behind_a_crossing(circuits, fine, drive):
    """Landing n ticks behind a crossing costs an error of order n^2."""
    circuit = getattr(circuits, drive)
    errors = [error(end_state(circuit, slack=slack), fine[drive]) for slack in (256, 32, 4, 1)]
    assert errors[0] < 0.3
    assert errors[1] < 2e-3
    assert errors[2] < 5e-5
    assert errors[3] < 5e-5
    assert errors[2] < errors[0]


@pytest.mark.parametrize("drive", ["gated", "direct"])
def test_finer_ring_steps_change_nothing(circuits, fine, drive, monkeypatch):
    monkeypatch.setattr(region_tables, "STEPS_PER_RING", 64)
    assert error(end_state(getattr(circuits, drive)), fine[drive]) < 1e-4


def test_ring_step_follows_from_the_network_not_from_habit(circuits):
    """A tiny drain capacitance rings fast: the step of its regions must shrink by itself."""
    switch = replace(circuits.direct.switch, drain_source_capacitance=constant(3e-12))
    circuit = replace(circuits.direct, switch=switch)
    fine = end_state(circuit, cycles=10.37, steps_per_cycle=512, slack=1)
    assert error(end_state(circuit, cycles=10.37), fine) < 1e-3


def test_two_crossings_inside_one_step(circuits):
    """Breakout at the very tip of a half-wave begins and ends within a step of the ring-down."""
    coil = CoilValues(8e-6, 12e-3, 0.01, 0.05, 200.0, 14e-12, 1e9)
    circuit = replace(circuits.direct, coil=coil)

    def lost(tip, **options):
        tipped = replace(coil, breakout_voltage=tip, breakout_resistance=1e5)
        engine = Engine(replace(circuit, coil=tipped), **options)
        state, code = engine.network.rest_state(0)
        region = engine.network.region(code)
        wanted = region.rows @ state
        wanted[engine.network.nodes.index("top")] = 9e3
        inner = np.linalg.lstsq(region.rows[:, :-1], wanted - region.rows[:, -1], rcond=None)[0]
        level = engine.network.decode(code)[2]
        segments = (1, 2) + (1,) * (len(engine.network.elements) - 2) + (0, 0)
        engine.set_state(np.append(inner, 1.0), engine.network.code(0, segments, level))
        before = engine.stored
        engine.run(1.6 / coil.resonance)
        books = engine.close_books(before)
        assert books.residual < 1e-8
        return books.lost["breakout"], engine.values()[Monitor.TOP]

    for depth in (0.93, 0.975, 0.985):
        heat, top = lost(9e3 * depth)
        fine_heat, fine_top = lost(9e3 * depth, steps_per_cycle=2048, slack=1)
        stored = 0.5 * coil.secondary_capacitance * 9e3**2
        assert abs(heat - fine_heat) < 1e-4 * stored
        assert abs(top - fine_top) < 1e-4 * 9e3


@pytest.mark.parametrize("ticks", [1, 2, 15, 17, 255, 257, 4095, 4097, 7919, 104729, 1299709])
def test_a_run_ends_when_asked(circuits, ticks):
    for circuit in circuits.both:
        engine = Engine(circuit)
        engine.enable(True)
        wanted = (ticks + 0.37) * engine.tick
        assert engine.run(wanted) is Stop.REACHED
        assert abs(engine.time - wanted) <= 0.5 * engine.tick


def test_a_run_in_pieces_is_the_run_in_one(circuits):
    for circuit in circuits.both:
        whole, pieces = Engine(circuit), Engine(circuit)
        for engine in (whole, pieces):
            engine.enable(True)
        parts = [7919, 1, 104729, 13, 31337]
        for ticks in parts:
            pieces.run(ticks * pieces.tick)
        whole.run(sum(parts) * whole.tick)
        assert pieces.time == pytest.approx(whole.time, rel=1e-12)
        scale = np.abs(whole.state).max()
        assert np.abs(pieces.state - whole.state).max() < 1e-6 * scale


def test_cycle_ends_on_the_rising_zero_of_the_top_voltage(circuits):
    for circuit in circuits.both:
        engine = Engine(circuit)
        engine.enable(True)
        assert engine.run(60 / circuit.coil.resonance, cycle=30) is Stop.SECTION
        assert len(engine.cycles) == 30
        swing = engine.cycles[-1][1 + Monitor.TOP]
        slope = 2 * np.pi * circuit.coil.resonance * swing * engine.tick
        assert 0.0 <= engine.values()[Monitor.TOP] < 2 * 16 * slope


def test_full_cycle_table_stops_the_run(circuits):
    engine = Engine(circuits.direct, cycle_room=10)
    engine.enable(True)
    assert engine.run(60 / circuits.direct.coil.resonance) is Stop.CYCLES_FULL
    time = engine.time
    assert engine.run(60 / circuits.direct.coil.resonance) is Stop.CYCLES_FULL
    assert engine.time == time
    assert len(engine.cycles) == 10


def test_too_many_crossings_stop_the_run(circuits):
    engine = Engine(circuits.gated)
    engine.enable(True)
    assert engine.run(100 / circuits.gated.coil.resonance, switch_limit=50) is Stop.CHATTER


def test_chattering_driver_is_a_finding(circuits):
    """More toggles within the driver's delay than any driver could pass on."""
    coil = CoilValues(0.5e-6, 100e-6, 0.2, 0.05, 20.0, 10e-12, 25e3)
    feed = replace(
        circuits.gated.feed,
        delay=2e-6,
        bias_voltage=1.65,
        threshold_low=1.65,
        threshold_high=1.65,
        input_capacitance=5e-12,
    )
    result = carrier(replace(circuits.gated, coil=coil, feed=feed))
    assert not result.oscillates
    assert ("driver-chatter", Severity.STOP) in {(f.code, f.severity) for f in result.findings}


def test_no_hysteresis_and_no_delay_end_in_time(circuits):
    """A driver that toggles at every crossing of one threshold still gives a result."""
    feed = replace(
        circuits.gated.feed, delay=0.0, threshold_low=2.0, threshold_high=2.0, bias_voltage=2.0
    )
    result = carrier(replace(circuits.gated, feed=feed))
    assert result.trusted
    assert result.oscillates
