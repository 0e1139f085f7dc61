"""Timing diagram: edges aligned, envelope against a step-by-step integration."""

import numpy as np
import pytest

from burstwise.core.design.interrupter import TimerParts
from burstwise.core.interrupter.courses import burst_envelope, timing_courses
from burstwise.core.interrupter.resolve import timer_set


def test_envelope_is_the_periodic_state_of_its_two_laws():
    on, period, ring_up, ring_down = 30e-6, 70e-6, 40e-6, 25e-6
    level, step, kept = 0.0, 1e-9, []
    for place in range(round(6 * period / step)):
        phase = place * step % period
        rate = (1 - level) * np.log(10) / ring_up if phase < on else -level / ring_down
        level += rate * step
        kept.append(level)
    last = np.array(kept[-round(period / step) :])
    time = np.arange(1, len(last) + 1) * step
    found = burst_envelope(time, on_time=on, period=period, ring_up=ring_up, ring_down=ring_down)
    assert np.abs(found[:-2] - last[:-2]).max() < 2e-4


@pytest.mark.parametrize("circuit", ["astable-steered-discharge", "two-timer"])
def test_signals_switch_together(circuit):
    wide = {"charge_resistor": 100e3, "pulse_capacitor": 10e-9} if circuit == "two-timer" else {}
    one = timer_set(TimerParts(circuit=circuit, **wide))
    found = timing_courses(one, travel=0.3, ring_up=100e-6, ring_down=50e-6)
    high = found.output > found.output.mean()
    np.testing.assert_array_equal(high, found.enable > 0.5)
    assert found.envelope[high][-1] == pytest.approx(1.0, abs=1e-3)
    on_share = np.trapezoid(found.enable, found.time) / found.time[-1]
    low, middle, share = one.duty_low.nominal, one.duty_middle, 0.3 / 0.5
    assert on_share == pytest.approx(low + (middle - low) * share, rel=5e-3)


def test_an_inversion_moves_the_bursts_into_the_off_time():
    one = timer_set(TimerParts())
    found = timing_courses(one, travel=0.3, ring_up=1e-4, ring_down=1e-4, inversions=1)
    low = found.output < found.output.mean()
    np.testing.assert_array_equal(low, found.enable > 0.5)
    running = np.flatnonzero(low)
    assert found.envelope[running[-1]] == pytest.approx(1.0, abs=1e-3)
    assert found.envelope[np.flatnonzero(~low)[-1]] < 0.01


def test_a_stage_at_rest_has_no_envelope():
    found = timing_courses(timer_set(TimerParts()), travel=0.5)
    assert not found.envelope.any()
