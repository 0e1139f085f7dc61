"""Heat in timing resistors against integration of simulated currents."""

import numpy as np
import pytest
from scipy.integrate import quad

from burstwise.core.design.interrupter import TimerParts
from burstwise.core.interrupter.dissipation import hottest_heats, part_heats, resistor_findings
from burstwise.core.interrupter.resolve import timer_set


def heats(one, travel):
    return {heat.role: heat.power for heat in part_heats(one, travel=travel)}


def exponential(start, rest, tau):
    return lambda t: rest + (start - rest) * np.exp(-t / tau)


def test_output_driven_astable_by_quadrature():
    one = timer_set(TimerParts(circuit="astable-steered-output", supply=9.0))
    travel = 0.3
    r_high, r_low, drop, C = 120.0, 20.0, 0.58, 330e-9
    rising = 250e3 * (0.005 + 0.99 * travel)
    falling = 250e3 - rising
    up, down = 3900 + rising + r_high, 3900 + falling + r_low
    v_up, v_down = exponential(3.0, 9 - drop, up * C), exponential(6.0, drop, down * C)
    t_up = up * C * np.log((9 - drop - 3) / (9 - drop - 6))
    t_down = down * C * np.log((6 - drop) / (3 - drop))
    period = t_up + t_down
    charging = quad(lambda t: ((9 - drop - v_up(t)) / up) ** 2, 0, t_up)[0]
    discharging = quad(lambda t: ((v_down(t) - drop) / down) ** 2, 0, t_down)[0]
    found = heats(one, travel)
    assert found["charge_resistor"] == pytest.approx(3900 * charging / period, rel=1e-9)
    assert found["discharge_resistor"] == pytest.approx(3900 * discharging / period, rel=1e-9)
    track = (rising * charging + falling * discharging) / period
    assert found["potentiometer"] == pytest.approx(track, rel=1e-9)


def test_pull_up_of_the_discharge_pin_by_quadrature_of_the_node():
    one = timer_set(TimerParts(charge_resistor=1000.0, supply=12.0))
    travel, C, drop, on_ohms = 0.5, 330e-9, 0.58, 15.0
    rising = falling = 125e3
    up = 1000 + rising
    loaded = on_ohms * 1000 / 1015
    source = 12 * on_ohms / 1015
    down = 3900 + falling + loaded
    t_up = up * C * np.log((12 - drop - 4) / (12 - drop - 8))
    t_down = down * C * np.log((8 - source - drop) / (4 - source - drop))

    def node(t):
        current = (8 - source - drop) / down * np.exp(-t / (down * C))
        return source + loaded * current

    held = quad(lambda t: (12 - node(t)) ** 2 / 1000, 0, t_down)[0]
    v_up = exponential(4.0, 12 - drop, up * C)
    charging = quad(lambda t: 1000 * ((12 - drop - v_up(t)) / up) ** 2, 0, t_up)[0]
    wanted = (held + charging) / (t_up + t_down)
    assert heats(one, travel)["charge_resistor"] == pytest.approx(wanted, rel=1e-9)


def test_pulse_resistor_charges_then_is_held_down_by_the_switch():
    one = timer_set(
        TimerParts(
            circuit="two-timer", charge_resistor=200e3, pulse_resistor=10e3, potentiometer=0.0
        )
    )
    period = 1 / one.frequency.nominal
    on = one.duty_low.nominal * period
    source = 12 * 15 / 10015
    tau = 10e3 * 470e-9
    charging = quad(lambda t: ((12 - source) * np.exp(-t / tau)) ** 2 / 10e3, 0, on)[0]
    held = (12 - source) ** 2 / 10e3 * (period - on)
    found = heats(one, 0.0)
    assert found["pulse_resistor"] == pytest.approx((charging + held) / period, rel=1e-9)
    assert "potentiometer" not in found


def test_a_small_pull_up_is_called_hot_and_a_large_one_is_not():
    hot = timer_set(TimerParts(charge_resistor=560.0))
    (finding,) = [f for f in hot.findings if f.code == "resistor-heat"]
    assert "charge resistor" in finding.text
    assert resistor_findings(timer_set(TimerParts())) == ()


def test_the_largest_heat_is_that_of_the_worst_travel():
    one = timer_set(TimerParts())
    largest = {heat.role: heat.power for heat in hottest_heats(one)}
    ends = [heats(one, travel) for travel in (0.0, 0.5, 1.0)]
    assert all(power >= max(end[role] for end in ends) for role, power in largest.items())
    assert largest["charge_resistor"] == pytest.approx(ends[0]["charge_resistor"])
