"""Figures of synthetic captures against closed forms."""

import math

import numpy as np
import pytest

from burstwise.core.bench.capture import Capture, Channel
from burstwise.core.bench.capture_bursts import bursts, carrier_envelope, quality_factor
from burstwise.core.bench.capture_measure import capture_measures
from burstwise.core.bench.overlay import best_time_shift, plot_line
from burstwise.core.bench.waveform import carrier, rising_crossings, statistics_between
from burstwise.core.errors import InputError


def _measures(values, step=1e-8):
    capture = Capture(0.0, step, (Channel("a", "A", np.asarray(values, dtype=np.float64)),))
    return capture_measures(capture, "a")


def _samples(row):
    """Synthetic capture of a row of the reference table, and its step."""
    top = float(row["peak_A"])
    if row["period_s"]:
        step, period = 2e-8, float(row["period_s"])
        time = step * np.arange(int(6.3 * period / step))
        begin = 0.3 * period
        since = np.where(time < begin, np.inf, (time - begin) % period)
        sine = np.sin(2 * np.pi * float(row["carrier_Hz"]) * np.where(time < begin, 0.0, since))
        tau = float(row["tau_s"])
        if row["on_time_s"]:
            envelope = np.where(since < float(row["on_time_s"]), -np.expm1(-since / tau), 0.0)
        else:
            envelope = np.exp(-since / tau)
        return top * envelope * sine, step
    length = 2000.37
    phase = ((np.arange(int(40.6 * length)) + 0.3) / length) % 1.0
    duty = float(row["duty"] or 1.0)
    part = np.minimum(phase / duty, 1.0)
    on = phase < duty
    shapes = {
        "rectangular pulse": np.full_like(phase, top),
        "full-wave rectified sine": top * np.sin(np.pi * part),
        "half-sine pulses": top * np.sin(np.pi * part),
        "sawtooth from zero": top * part,
        "trapezoid": float(row["start_A"] or 0) + (top - float(row["start_A"] or 0)) * part,
    }
    return np.where(on, shapes[row["waveform"]], 0.0), 1e-8


@pytest.mark.parametrize("number", range(7))
def test_statistics_over_whole_periods_against_closed_forms(table_rows, number):
    row = table_rows("bench_waveforms.csv")[number]
    values, step = _samples(row)
    got = _measures(values, step).statistics
    tolerance = float(row["tolerance_rel"])
    assert got.rms == pytest.approx(float(row["rms_A"]), rel=tolerance)
    assert got.mean == pytest.approx(float(row["mean_A"]), rel=tolerance)
    # The crest of the train, which for a burst lies below its envelope's start.
    assert got.peak == pytest.approx(float(row["crest_A"]), rel=tolerance)


def _stage(tau_up, tau_down, on_time, *, frequency=3e5, period=1e-3, noise=0.0, step=2e-8):
    time = step * np.arange(int(6.3 * period / step))
    begin = 0.3 * period
    since = (time - begin) % period
    top = -math.expm1(-on_time / tau_up)
    envelope = np.where(
        since < on_time, -np.expm1(-since / tau_up), top * np.exp(-(since - on_time) / tau_down)
    )
    wave = 100.0 * envelope * (time >= begin) * np.sin(2 * np.pi * frequency * since)
    return wave + noise * np.random.default_rng(5).standard_normal(len(time)), step


@pytest.mark.parametrize("noise", [0.0, 1.0])
@pytest.mark.parametrize(("tau_up", "tau_down"), [(30e-6, 45e-6), (60e-6, 20e-6)])
def test_bursts_of_a_ringing_stage(noise, tau_up, tau_down):
    values, step = _stage(tau_up, tau_down, 3e-4, noise=noise)
    got = _measures(values, step)
    assert got.carrier_frequency == pytest.approx(3e5, rel=1e-3)
    assert got.bursts.count == 6
    assert got.bursts.period == pytest.approx(1e-3, rel=2e-3)
    assert got.bursts.on_time == pytest.approx(3e-4, abs=1.5 / 3e5)
    assert got.bursts.duty == pytest.approx(0.3, abs=0.006)
    assert got.bursts.ring_up_time == pytest.approx(tau_up, rel=0.07)
    assert got.bursts.ring_down_time == pytest.approx(tau_down, rel=0.02)
    assert got.bursts.loaded_q == pytest.approx(math.pi * 3e5 * tau_down, rel=0.02)
    assert got.periods == 5


def test_loaded_q_of_a_series_circuit_integrated_by_numbers():
    """Free decay of L, C, R by exact propagation: Q = sqrt(L/C)/R within a per cent."""
    inductance, capacitance, resistance, step = 1e-3, 250e-12, 50.0, 2e-8
    matrix = np.array([[-resistance / inductance, -1 / inductance], [1 / capacitance, 0.0]])
    eigenvalues, vectors = np.linalg.eig(matrix)
    amplitudes = np.linalg.solve(vectors, [0.0, 100.0])
    time = step * np.arange(10_000)
    decay = np.real((vectors[1] * amplitudes) @ np.exp(np.outer(eigenvalues, time)))
    values = np.concatenate([np.zeros(500), decay])
    got = _measures(values, step)
    assert got.bursts.loaded_q == pytest.approx(
        math.sqrt(inductance / capacitance) / resistance, rel=0.01
    )
    assert got.carrier_frequency == pytest.approx(
        1 / (2 * math.pi * math.sqrt(inductance * capacitance)), rel=1e-3
    )
    assert [finding.code for finding in got.findings] == ["capture-one-burst"]


def test_continuous_carrier_has_no_bursts_and_spike_is_found():
    wave = 50.0 + 20.0 * np.sin(2 * np.pi * np.arange(20_000) / 41.3)
    wave[7321] = 180.0
    got = _measures(wave)
    assert got.bursts is None
    assert got.spike == 180.0
    assert got.spike_time == pytest.approx(7321e-8)


def test_two_crossings_per_period_are_one_carrier_period():
    """Ringing after turn-off crosses half height twice; the period is that of the whole."""
    phase = (np.arange(60_000) / 300.0) % 1.0
    wave = np.where(phase < 0.5, 0.0, np.exp(-8 * (phase - 0.5)) * np.cos(20 * np.pi * phase))
    assert carrier(wave).period == pytest.approx(300.0, rel=1e-4)


def test_coarse_and_clipped_captures_are_pointed_out():
    sine = np.sin(2 * np.pi * np.arange(4000) / 6.1)
    assert [finding.code for finding in _measures(sine).findings] == ["capture-coarse"]
    flat = np.minimum(np.sin(2 * np.pi * np.arange(4000) / 50.0), -0.3)
    assert [finding.code for finding in _measures(flat + 1).findings] == ["capture-clipped"]


def test_no_oscillation_is_refused():
    with pytest.raises(InputError, match="carrier"):
        carrier(np.linspace(0.0, 1.0, 100))


@pytest.mark.parametrize("width", [1, 2, 4])
def test_pulses_at_uneven_distances_are_no_oscillation(width):
    values = np.zeros(320)
    for at in (10, 60, 65, 265, 276):
        values[at : at + width] = 1.0
    with pytest.raises(InputError, match="no two periods alike"):
        capture_measures(Capture(0.0, 1e-6, (Channel("drain", "V", values),)), "drain")


def test_noise_adds_no_crossings():
    random = np.random.default_rng(1)
    wave = np.sin(2 * np.pi * np.arange(30_000) / 300.0) + 0.03 * random.standard_normal(30_000)
    crossings = rising_crossings(wave, 0.0, hysteresis=0.3)
    assert len(crossings) in (99, 100)
    assert np.diff(crossings) == pytest.approx(300.0, abs=5.0)


def test_bursts_cut_by_the_ends_are_not_complete():
    values, step = _stage(30e-6, 30e-6, 3e-4)
    late = values[int(0.4e-3 / step) :]
    found = bursts(late, 1 / 3e5 / step)
    assert [burst.complete for burst in found[:5]] == [False, True, True, True, True]


def test_envelope_of_a_rising_sine():
    rise = np.linspace(0.0, 5.0, 10_000)
    envelope = carrier_envelope(rise * np.cos(2 * np.pi * np.arange(10_000) / 33.3), 33.3)
    expected = np.interp(envelope.centres, np.arange(10_000), rise)
    np.testing.assert_allclose(envelope.amplitude, expected, atol=0.02)
    assert quality_factor(1.0, 1.0) == math.pi


def test_statistics_refuse_instants_outside():
    with pytest.raises(InputError):
        statistics_between(np.zeros(10), 5.0, 10.5, step=1.0)


@pytest.mark.parametrize("delay", [0.0, 3.5e-6, -2.2e-6])
def test_overlay_finds_a_known_delay(delay):
    step = 1e-7
    time = step * np.arange(4000)

    def ringing(at):
        late = np.maximum(at - 1e-4, 0.0)
        return np.where(at > 1e-4, np.exp(-late / 2e-5) * np.sin(2 * np.pi * 1.5e5 * late), 0.0)

    noise = 0.01 * np.random.default_rng(2).standard_normal(len(time))
    measured = 0.8 * ringing(time - delay) + noise + 5.0
    got = best_time_shift(measured, ringing(time[:3000]), step=step, starts=(1e-3, 1e-3))
    assert got.shift == pytest.approx(delay, abs=2e-8)
    assert got.gain == pytest.approx(0.8, rel=0.01)
    assert got.likeness > 0.99


def test_overlay_refuses_a_constant():
    with pytest.raises(InputError):
        best_time_shift(np.ones(100), np.arange(100.0), step=1.0)


@pytest.mark.parametrize("buckets", [7, 100, 333])
def test_plot_line_keeps_every_peak_in_its_place(buckets):
    random = np.random.default_rng(8)
    values = random.standard_normal(10_007)
    line = plot_line(values, first=3, last=10_007, buckets=buckets)
    assert len(line.values) <= 2 * buckets + 2
    assert np.all(np.diff(line.positions) >= 0)
    np.testing.assert_array_equal(values[line.positions.astype(int)], line.values)
    size = -(-10_004 // buckets)
    for begin in range(3, 10_007, size):
        part = values[begin : begin + size]
        inside = (line.positions >= begin) & (line.positions < begin + size)
        assert line.values[inside].max() == part.max()
        assert line.values[inside].min() == part.min()


def test_plot_line_of_few_samples_is_all_of_them():
    values = np.arange(10.0)
    np.testing.assert_array_equal(plot_line(values, first=2, last=8, buckets=5).values, values[2:8])
