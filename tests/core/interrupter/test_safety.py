"""Safety limits of the chain: first on-time by simulation, each finding by a case of its own."""

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from burstwise.core.design.timer_wish import TimerWish
from burstwise.core.interrupter.build import pulse_time
from burstwise.core.interrupter.circuits import CIRCUITS
from burstwise.core.interrupter.safety import FAILURES, ChainLimits, chain_safety, first_on_time
from burstwise.core.interrupter.sizing import size_timer


def codes(findings):
    return {finding.code for finding in findings}


def sized(circuit):
    return size_timer(
        TimerWish(
            frequency=15.0,
            duty_low=0.02,
            duty_high=0.5,
            supply=12.0,
            circuits=(circuit,),
            timers=("cmos",),
        )
    ).sets[0]


@pytest.fixture(scope="module")
def plain():
    return sized("astable-steered-output")


@pytest.fixture(scope="module")
def capped():
    return sized("astable-capped-output")


def test_first_on_time_matches_a_simulation_from_an_empty_capacitor(plain):
    build = plain.build()
    end = build["pot_end"]
    track = build["potentiometer"] * (end + (1 - 2 * end))
    R = build["charge_resistor"] + track + build["output_high_resistance"]

    def full(t, v):
        return v[0] - 8.0

    full.terminal = True
    run = solve_ivp(
        lambda t, v: [(12.0 - 0.58 - v[0]) / (R * build["timing_capacitor"])], (0, 10), [0.0],
        events=full, rtol=1e-10, atol=1e-12,
    )  # fmt: skip
    assert first_on_time(plain) == pytest.approx(run.t_events[0][0], rel=1e-6)


def test_a_cap_bounds_the_first_on_time_too(capped):
    build = capped.build()
    cap = float(pulse_time(build, build["pulse_resistor"]))
    safety = chain_safety(capped, ChainLimits(ring_up=50e-6, longest_on_time=1.0))
    assert safety.cap == pytest.approx(cap)
    assert safety.first_on_time <= cap
    assert "no-on-time-cap" not in codes(safety.findings)


def test_each_limit_is_judged(plain):
    def judged(**limits):
        values = {"ring_up": 50e-6, "longest_on_time": 1.0, **limits}
        return codes(chain_safety(plain, ChainLimits(**values)).findings)

    assert judged() == {"no-on-time-cap", "first-on-time"}
    assert "on-time-below-ring-up" in judged(ring_up=5e-3)
    assert "on-time-above-limit" in judged(longest_on_time=20e-3)
    assert "brown-out-linear" in judged(driver_lockout=5.0)
    assert "brown-out-timer" in judged(driver_lockout=2.5, gate_full_on=2.0)


def test_numbers_follow_from_the_set(plain):
    safety = chain_safety(plain, ChainLimits(ring_up=40e-6, longest_on_time=1.0))
    assert safety.ring_up_ratio == pytest.approx(safety.shortest_on_time / 40e-6)
    assert safety.shortest_on_time < plain.duty_low.nominal / plain.frequency.nominal
    assert safety.longest_on_time > plain.duty_high.nominal / plain.frequency.nominal
    assert np.isinf(safety.cap)


def test_every_circuit_has_its_failures_and_a_cap_never_stays_on():
    assert set(FAILURES) == set(CIRCUITS)
    for name in CIRCUITS:
        stays_on = any(failure.output == "stays high" for failure in FAILURES[name])
        assert stays_on is not name.startswith("astable-capped")
