"""Buffer, driver, polarity, indicator: against simulations, balances and truth tables."""

import itertools
import math

import numpy as np
import pytest
from scipy.integrate import solve_ivp
from scipy.signal import StateSpace, step

from burstwise.core.errors import InputError
from burstwise.core.interrupter.buffer import (
    Buffer,
    EnableGating,
    SupplyGating,
    base_resistance,
    edge_time,
    sized_buffer,
    storage_time,
)
from burstwise.core.interrupter.chain import Link, indicator_led, polarity
from burstwise.core.interrupter.driver import (
    Driver,
    driven_gate,
    smallest_gate_resistance,
    step_overshoot,
)


def codes(findings):
    return {finding.code for finding in findings}


def test_buffer_saturates_at_the_smallest_gain_with_the_overdrive_asked():
    buffer = Buffer(gain_min=80.0, overdrive=3.0)
    result = sized_buffer(buffer, output_high=10.3, output_low=0.05, supply=12.0, output_limit=0.03)
    base = (10.3 - 0.7) / result.base_resistor
    assert base * 80.0 >= 3.0 * result.collector_current
    assert result.overdrive == pytest.approx(base * 80.0 / result.collector_current)
    assert result.overdrive < 3.0 * 1.11
    assert result.findings == ()


def test_storage_time_matches_the_charge_equation():
    """dQ/dt = -IB2 - Q/tau from Q = IB1 tau down to the edge of saturation Q = IC tau/hFE."""
    on, off, tau, held = 1e-3, 2e-4, 0.3e-6, 0.02 / 150

    def edge(t, q):
        return q[0] - held * tau

    edge.terminal = True
    run = solve_ivp(
        lambda t, q: [-off - q[0] / tau], (0, 1e-5), [on * tau], events=edge,
        rtol=1e-10, atol=1e-18,
    )  # fmt: skip
    time = storage_time(on, off, collector_current=0.02, gain=150.0, lifetime=tau)
    assert time == pytest.approx(run.t_events[0][0], rel=1e-6)
    assert storage_time(1e-5, off, collector_current=0.02, gain=150.0, lifetime=tau) == 0.0


def test_edge_time_is_from_ten_to_ninety_percent():
    R, C = 330.0, 2.2e-9
    t = np.linspace(0, 10 * R * C, 400_001)
    v = 1 - np.exp(-t / (R * C))
    expected = np.interp(0.9, v, t) - np.interp(0.1, v, t)
    assert edge_time(R, C) == pytest.approx(expected, rel=1e-6)


def test_buffer_findings_and_refusals():
    heavy = Buffer(collector_resistor=10.0, gain_min=20.0)
    result = sized_buffer(heavy, output_high=10.3, output_low=0.6, supply=12.0, output_limit=0.03)
    assert codes(result.findings) == {"timer-output-current", "buffer-does-not-turn-off"}
    with pytest.raises(InputError, match="drive"):
        base_resistance(0.6, 0.01, gain=100.0)
    with pytest.raises(InputError, match="gain"):
        base_resistance(5.0, 0.01, gain=0.0)
    with pytest.raises(InputError, match="buffer"):
        sized_buffer(
            Buffer(gain_typical=50.0), output_high=5.0, output_low=0.0, supply=5.0,
            output_limit=0.01,
        )  # fmt: skip


def test_gate_power_is_what_the_resistances_turn_into_heat():
    """Charge and discharge an RC from the driver's supply and integrate the heat."""
    driver, Qg, f, duty = Driver(quiescent=0.0), 80e-9, 300e3, 0.4
    result = driven_gate(
        driver, gate_charge=Qg, carrier=f, duty=duty, gate_internal=1.0, gate_resistor=4.7
    )
    R, C = 1.5 + 1.0 + 4.7, Qg / 12.0
    t = np.linspace(0, 20 * R * C, 200_001)
    current = 12.0 / R * np.exp(-t / (R * C))
    heat = 2 * np.trapezoid(current**2, t)
    assert result.gate_power == pytest.approx(heat * R * f * duty, rel=1e-6)
    assert result.driver_power == pytest.approx(heat * 1.5 * f * duty, rel=1e-6)
    assert result.resistor_power == pytest.approx(heat * 4.7 * f * duty, rel=1e-6)
    assert result.mean_current == pytest.approx(Qg * f * duty)
    assert result.peak_current == pytest.approx(current[0])


def test_gate_resistance_damps_the_loop_critically():
    L, C = 25e-9, 3e-9
    R = smallest_gate_resistance(L, C, others=0.0)
    roots = np.roots([L, R, 1 / C])
    assert roots[0] == pytest.approx(roots[1], rel=1e-4)
    assert smallest_gate_resistance(L, C, others=100.0) == 0.0


@pytest.mark.parametrize("share", [0.05, 0.3, 0.6, 0.9])
def test_overshoot_is_that_of_the_step_response(share):
    """Second method: the series circuit's state equations, stepped by matrix exponentials."""
    L, C = 40e-9, 2e-9
    R = 2 * share * math.sqrt(L / C)
    system = StateSpace([[-R / L, -1 / L], [1 / C, 0.0]], [[1 / L], [0.0]], [[0.0, 1.0]], [[0.0]])
    t = np.linspace(0.0, 8 * math.pi * math.sqrt(L * C), 40_001)
    _, gate = step(system, T=t)
    assert step_overshoot(R, L, C) == pytest.approx(np.max(gate) - 1.0, abs=1e-6)
    assert step_overshoot(2.001 * math.sqrt(L / C), L, C) == 0.0


def test_long_gate_loop_rings_until_the_resistor_damps_it():
    given = {"gate_charge": 24e-9, "carrier": 300e3, "duty": 0.3}
    short = driven_gate(Driver(), **given, gate_resistor=1.0, loop_inductance=2e-9)
    assert short.overshoot == 0.0
    assert short.least_resistor == 0.0
    long = driven_gate(Driver(), **given, gate_resistor=1.0, loop_inductance=100e-9)
    assert "gate-loop-rings" in codes(long.findings)
    calm = driven_gate(Driver(), **given, gate_resistor=long.least_resistor, loop_inductance=100e-9)
    assert calm.overshoot == pytest.approx(0.0, abs=1e-9)
    assert "gate-loop-rings" not in codes(calm.findings)


def test_sized_gate_resistor_keeps_peak_current_and_damping():
    driver = Driver(peak_current=1.0)
    result = driven_gate(driver, gate_charge=40e-9, carrier=400e3, duty=1.0)
    assert result.peak_current <= 1.0
    assert result.findings == ()
    hot = driven_gate(driver, gate_charge=40e-9, carrier=400e3, duty=1.0, gate_resistor=0.0)
    assert "driver-peak-current" in codes(hot.findings)
    slow = driven_gate(driver, gate_charge=2e-6, carrier=2e6, duty=1.0)
    assert "gate-edge-slow" in codes(slow.findings)
    low = driven_gate(Driver(supply=7.0), gate_charge=40e-9, carrier=4e5, duty=1.0)
    assert "driver-lockout" in codes(low.findings)
    with pytest.raises(InputError, match="duty"):
        driven_gate(driver, gate_charge=40e-9, carrier=4e5, duty=1.5)


@pytest.mark.parametrize("inverts", list(itertools.product([False, True], repeat=3)))
def test_polarity_follows_the_truth_table(inverts):
    links = [Link(f"link {n}", flag) for n, flag in enumerate(inverts)]
    level = True
    for flag in inverts:
        level = level != flag
    chain = polarity(links, links)
    assert chain.on_when_high is level
    assert (chain.feedback_sense == "normal") is level
    assert ("chain-inverted" in codes(chain.findings)) is not level


def test_indicator_keeps_its_current_and_balance():
    led = indicator_led(12.0, forward=2.1, current=8e-3, duty=0.3)
    assert led.current <= 8e-3
    assert led.resistor_power == pytest.approx(0.3 * (12.0 - 2.1) * led.current)
    with pytest.raises(InputError, match="forward"):
        indicator_led(1.5)


def test_gating_delays_match_an_rc():
    gating = SupplyGating(resistance=22.0, capacitance=2.2e-6)
    delays = gating.delays(supply=12.0, lockout=9.0, load=0.02)
    t = np.linspace(0, 1e-3, 1_000_001)
    v = 12 * (1 - np.exp(-t / (22.0 * 2.2e-6)))
    assert delays.on == pytest.approx(np.interp(9.0, v, t), rel=1e-5)
    assert delays.off * 0.02 == pytest.approx(2.2e-6 * 3.0)
    assert delays.inrush == pytest.approx(12 / 22)
    assert EnableGating(1e-7).delays(supply=12, lockout=9, load=1).off == 1e-7
    with pytest.raises(InputError, match="supply"):
        gating.delays(supply=8.0, lockout=9.0, load=0.02)
    assert math.isfinite(delays.off)
