"""Waveforms: against the exponential solution and the cycle."""

from dataclasses import replace

import numpy as np
import pytest

from burstwise.core.design.timer_wish import TimerWish
from burstwise.core.errors import InputError
from burstwise.core.interrupter.circuits import CIRCUITS, circuit_named
from burstwise.core.interrupter.sizing import size_timer
from burstwise.core.interrupter.waveform import scope_reading, waveforms


@pytest.fixture(scope="module")
def sets():
    ranges = {
        "astable-classic": {"duty_low": 0.7, "duty_high": 0.7},
        "two-timer": {"duty_low": 0.02, "duty_high": 0.5},
    }
    usual = {"duty_low": 0.02, "duty_high": 0.9}
    return {
        name: size_timer(
            TimerWish(frequency=15.0, circuits=(name,), **ranges.get(name, usual))
        ).sets[0]
        for name in CIRCUITS
    }


@pytest.mark.parametrize("name", list(CIRCUITS))
@pytest.mark.parametrize("travel", [0.0, 0.4, 1.0])
def test_lines_are_continuous_and_stay_between_the_levels(sets, name, travel):
    one = sets[name]
    lines = waveforms(one, travel=travel, periods=3)
    cycle = circuit_named(name).cycle(one.build(), travel)
    assert np.all(np.diff(lines.time) >= 0)
    assert lines.time[-1] == pytest.approx(3 * cycle.period)
    assert lines.capacitor.min() == pytest.approx(4.0)
    assert lines.capacitor.max() == pytest.approx(8.0)
    assert np.abs(np.diff(lines.capacitor)).max() < 0.1
    on_share = np.trapezoid(lines.enable, lines.output_time) / lines.output_time[-1]
    assert on_share == pytest.approx(cycle.duty)
    high = lines.output[lines.enable == 1]
    assert np.all(high == one.supply - one.timer.output_high_drop)


def test_charging_follows_the_exponential(sets):
    one = sets["astable-steered-output"]
    build = one.build()
    lines = waveforms(one, travel=0.25, periods=1)
    charge, _ = CIRCUITS[one.circuit].timing_paths(build, 0.25)
    rising = lines.time < lines.cycle.on
    tau = float(charge.resistance) * build["timing_capacitor"]
    end = float(charge.source) - one.diode.drop
    expected = end - (end - 4.0) * np.exp(-lines.time[rising] / tau)
    assert np.allclose(lines.capacitor[rising], expected, rtol=1e-9)


def test_a_mono_capacitor_is_drawn_where_there_is_one(sets):
    for name, one in sets.items():
        lines = waveforms(one, travel=0.3)
        assert (lines.pulse_capacitor.size > 0) == (CIRCUITS[name].timers == 2)
        if lines.pulse_capacitor.size:
            assert lines.pulse_capacitor.max() <= 8.0 * (1 + 1e-9)
            assert np.all(np.diff(lines.pulse_time) >= 0)
    pulse = waveforms(sets["two-timer"], travel=0.3, periods=1)
    at_end = np.interp(float(pulse.cycle.on), pulse.pulse_time, pulse.pulse_capacitor)
    assert at_end == pytest.approx(8.0, rel=1e-6)


def test_inversion_turns_the_enable_over(sets):
    plain, turned = (waveforms(sets["two-timer"], inversions=n) for n in (0, 1))
    assert np.array_equal(plain.enable, 1 - turned.enable)
    assert np.array_equal(plain.output, turned.output)


def test_scope_reading_holds_the_cycle(sets):
    for name, one in sets.items():
        reading = scope_reading(one, travel=0.6)
        cycle = circuit_named(name).cycle(one.build(), 0.6)
        assert reading.frequency.nominal == pytest.approx(cycle.frequency)
        assert reading.on_time.low < float(cycle.on) < reading.on_time.high
        assert reading.capacitor_peak.nominal == pytest.approx(8.0)
        assert reading.capacitor_valley.low < 4.0 < reading.capacitor_valley.high


def test_travel_is_checked(sets):
    with pytest.raises(InputError, match="travel"):
        waveforms(sets["two-timer"], travel=-0.1)
    with pytest.raises(InputError, match="travel"):
        scope_reading(sets["two-timer"], travel=1.1)


@pytest.mark.parametrize("travel", [0.0, 1.0])
def test_a_trigger_of_millions_of_cycles_in_a_pulse_is_the_band_between_its_levels(sets, travel):
    """A design may ask for it; one by one they would take tens of gigabytes."""
    one = sets["two-timer"]
    values = {"timing_capacitor": 1e-12, "pulse_capacitor": 1e-2}
    slow = replace(
        one,
        parts=tuple(replace(part, value=values.get(part.role, part.value)) for part in one.parts),
    )
    lines = waveforms(slow, travel=travel, periods=2)
    cycle = circuit_named(slow.circuit).cycle(slow.build(), travel)
    trigger = sum(
        float(path.time(1e-12, *levels))
        for path, levels in zip(
            circuit_named(slow.circuit).timing_paths(slow.build(), travel),
            ((4.0, 8.0), (8.0, 4.0)),
            strict=True,
        )
    )
    assert cycle.period > 1e5 * trigger
    assert lines.time.size < 2000
    assert np.diff(lines.time).min() > -1e-12 * lines.time[-1]
    assert lines.time[-1] == pytest.approx(2 * cycle.period)
    assert (lines.capacitor.min(), lines.capacitor.max()) == pytest.approx((4.0, 8.0))
    assert lines.output_time[-1] == pytest.approx(2 * cycle.period)
