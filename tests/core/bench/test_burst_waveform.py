"""Waveforms of bursts: predicted ones, their frequencies, and the overlay of two of them."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from burstwise.core import storage
from burstwise.core.bench.bootstrap import LARGEST_TURN, TURN_REACH, turns
from burstwise.core.bench.burst_waveform import BurstTiming, Signal, burst_capture
from burstwise.core.bench.capture import Capture, Channel
from burstwise.core.bench.capture_measure import capture_measures
from burstwise.core.bench.capture_overlay import capture_overlay
from burstwise.core.bench.fault_stage import sound_stage
from burstwise.core.bench.overlay import burst_time_shift
from burstwise.core.bench.trend import trend
from burstwise.core.errors import InputError
from burstwise.core.stage.carrier import carrier
from burstwise.core.stage.charge import ChargeSegments

_EXAMPLES = Path(__file__).parents[3] / "resources" / "examples"


@pytest.fixture(scope="module")
def design():
    return storage.load(_EXAMPLES / "demonstration-gated-large.burstwise")


@pytest.fixture(scope="module")
def circuit(design):
    return sound_stage(design).with_supply(30.0)


def _timing(circuit, per_cycle: float = 40.0) -> BurstTiming:
    period = 1.0 / circuit.coil.resonance
    return BurstTiming(20 * period, 200 * period, 300 * period, period / per_cycle)


def test_driven_and_ringing_frequency_of_a_made_up_burst():
    """Driven at 251 kHz, ringing at 246.5 kHz with 80 µs: closed forms."""
    step, on = 1e-7, 1e-3
    at = step * np.arange(-2000, 20_000)
    driven = np.sin(2 * np.pi * 251e3 * at) * -np.expm1(-np.maximum(at, 0.0) / 30e-6)
    phase = 2 * np.pi * (251e3 * on + 246.5e3 * (at - on))
    ringing = np.sin(phase) * np.exp(-(at - on) / 80e-6)
    wave = np.where(at < 0.0, 0.0, np.where(at < on, driven, ringing))
    got = capture_measures(Capture(at[0], step, (Channel("x", "V", wave),)), "x").bursts
    assert got.driven_frequency == pytest.approx(251e3, rel=2e-4)
    assert got.ringing_frequency == pytest.approx(246.5e3, rel=2e-4)
    assert got.ring_down_time == pytest.approx(80e-6, rel=0.01)
    assert got.on_time == pytest.approx(on, rel=0.01)


def test_predicted_burst_has_the_carrier_of_the_steady_run(circuit):
    # Constant capacitances: with those that bend the ring-down is no single exponential.
    circuit = circuit.with_drain_source(ChargeSegments.constant(100e-12))
    run = carrier(circuit)
    taken = burst_capture(circuit, Signal.TOP, _timing(circuit))
    got = capture_measures(taken, "top")
    assert got.bursts.driven_frequency == pytest.approx(run.frequency, rel=5e-4)
    # After 200 cycles the ring-up is 97 % done.
    assert 0.95 * run.top_voltage_peak < got.spike < 1.001 * run.top_voltage_peak
    assert got.bursts.ring_down_time == pytest.approx(run.ring_down.time_constant, rel=0.35)
    assert got.bursts.on_time == pytest.approx(200 / circuit.coil.resonance, rel=0.02)


@pytest.mark.parametrize("signal", [Signal.DRAIN, Signal.SHUNT])
def test_carrier_is_found_in_waveforms_with_humps_and_spikes(circuit, signal):
    """Two humps per period at the drain while driven, spikes of every other cycle at the shunt."""
    run = carrier(circuit)
    got = capture_measures(burst_capture(circuit, signal, _timing(circuit, 37.3)), signal.value)
    assert got.carrier_frequency == pytest.approx(run.frequency, rel=0.02)


def test_what_cannot_be_recorded_is_refused(circuit):
    timing = _timing(circuit)
    with pytest.raises(InputError, match="shunt"):
        burst_capture(replace(circuit, shunt_resistance=0.0), Signal.SHUNT, timing)
    with pytest.raises(InputError, match="duration"):
        burst_capture(circuit, Signal.TOP, replace(timing, on_time=1.0, step=1e-5))
    with pytest.raises(InputError, match="sample interval"):
        burst_capture(circuit, Signal.TOP, replace(timing, step=0.0))


def test_bursts_of_different_frequency_are_laid_by_their_envelopes():
    at = np.arange(6000.0)
    body = np.where((at > 800) & (at < 4200), 1.0, 0.0) * -np.expm1(-np.maximum(at - 800, 0) / 150)
    measured = 3.0 * np.roll(body * np.sin(0.160 * (at - 800)), 500)
    predicted = body * np.sin(0.157 * (at - 800))
    told = burst_time_shift(measured, predicted, step=1.0, period=40.0)
    assert told.shift == pytest.approx(500.0, abs=10.0)
    assert told.gain == pytest.approx(3.0, rel=0.02)
    assert told.likeness > 0.8


def test_overlay_of_a_capture_of_the_same_stage(design, circuit):
    timing = _timing(circuit)
    taken = burst_capture(circuit, Signal.TOP, timing)
    late = replace(taken, start=taken.start + 3e-3)
    measures = capture_measures(late, "top")
    told = capture_overlay(design, late, "top", measures, signal=Signal.TOP, supply=30.0)
    assert told.shift.likeness > 0.98
    assert told.gain == pytest.approx(1.0, abs=0.02)
    period = 1.0 / circuit.coil.resonance
    assert told.time[0] + 10 * period == pytest.approx(3e-3, abs=0.6 * period)


def test_turns_only_rise_and_only_above_the_rows():
    fitted = trend(np.array([20.0, 30.0, 40.0, 50.0]), np.array([1.0, 1.5, 2.0, 2.5]))
    turn = turns(fitted, stream=3)
    assert np.exp(turn.begin.min()) >= 50.0
    assert np.exp(turn.begin.max()) <= TURN_REACH * 50.0 * (1 + 1e-9)
    assert turn.rise.min() == 0.0
    assert 0.9 * LARGEST_TURN < turn.rise.max() <= LARGEST_TURN
    assert np.mean(turn.rise > 0.0) == pytest.approx(0.5, abs=0.03)
    assert np.all(turn.at(np.full(len(turn.rise), np.log(50.0))) == 0.0)
