"""Thermal limits against reference figures, closed forms and fine time stepping."""

from __future__ import annotations

import numpy as np
import pytest
from limits_formulas import avalanche_time, runaway_current, settled_junction
from scipy.integrate import quad, solve_ivp

from burstwise.core.burst.foster import Foster
from burstwise.core.limits.avalanche import avalanche_energy
from burstwise.core.limits.thermal import repeated_pulse_power, rise_course, single_pulse_power

SHAPES = {
    "halfsine": lambda x: np.sin(np.pi * x),
    "triangle": lambda x: 1 - np.abs(2 * x - 1),
    "saw_falling": lambda x: 1 - x,
}
NETWORK = Foster(np.array([0.05, 0.15, 0.4, 0.6]), np.array([5e-5, 5e-4, 3e-3, 1e-2]))


@pytest.fixture
def device(table_rows):
    return {
        (row["id"], row["quantity"]): float(row["expected"])
        for row in table_rows("limits_device.csv")
    }


def test_pulses_of_any_shape(table_rows, network_of):
    for row in table_rows("limits_pulse_shapes.csv"):
        length = float(row["length_s"])
        time = np.linspace(0.0, length, 8001)
        power = float(row["power_peak_W"]) * SHAPES[row["shape"]](time / length)
        course = rise_course(network_of(row), time, power)
        assert course.max() == pytest.approx(float(row["peak_K"]), rel=1e-6), row["id"]
        at = time[int(np.argmax(course))]
        assert at == pytest.approx(float(row["peak_time_s"]), rel=1e-3)


@pytest.mark.parametrize(("on", "period"), [(5e-4, np.inf), (2e-3, 6.7e-3), (1e-4, 1e-3)])
def test_safe_power_just_reaches_the_limit(on, period, figure):
    """The pulse that the safe area allows is stepped by an ODE solver: it ends at the limit."""
    headroom = 110.0
    if np.isinf(period):
        power, cycles, period = float(single_pulse_power(NETWORK, on, headroom=headroom)), 1, on
    else:
        power = float(repeated_pulse_power(NETWORK, on, period, headroom=headroom))
        cycles = int(np.ceil(7 * 0.01 / period))
    R, tau = NETWORK.resistance, NETWORK.time_constant
    state, peak = np.zeros(4), 0.0
    for _ in range(cycles):
        for length, watts in ((on, power), (period - on, 0.0)):
            if length <= 0:
                continue
            course = solve_ivp(
                lambda t, x, watts=watts: (R * watts - x) / tau, (0, length), state,
                method="Radau", rtol=1e-6, atol=1e-7,
            )  # fmt: skip
            state = course.y[:, -1]
            peak = max(peak, course.y.sum(axis=0).max())
    figure("safe operating area against ODE", abs(peak / headroom - 1), limit="0.5 %",
           source="scipy Radau")  # fmt: skip
    assert peak == pytest.approx(headroom, rel=5e-3)


def test_no_headroom_no_power():
    assert float(single_pulse_power(NETWORK, 1e-3, headroom=-5.0)) == 0.0
    assert float(repeated_pulse_power(NETWORK, 1e-3, 1e-2, headroom=0.0)) == 0.0


def test_linear_on_resistance(device):
    def heat(T: float) -> float:
        return 36.0 * 0.077 * (1 + 0.008 * (T - 25.0))

    junction = settled_junction(heat, resistance=8.0, ambient=40.0)
    assert junction == pytest.approx(device["H-COND-2", "junction"], rel=1e-9)
    assert heat(junction) == pytest.approx(device["H-COND-2", "heat"], rel=1e-9)
    limit = runaway_current(resistance=8.0, on_resistance=0.077, coefficient=0.008)
    assert limit == pytest.approx(device["H-COND-2", "runaway"], rel=1e-9)
    over = settled_junction(lambda T: heat(T) / 36.0 * (1.01 * limit) ** 2, resistance=8.0,
                            ambient=40.0)  # fmt: skip
    assert np.isinf(over)


def test_power_law_on_resistance(device):
    def heat(T: float) -> float:
        return 36.0 * 0.077 * ((T + 273.0) / 298.0) ** 2.3

    junction = settled_junction(heat, resistance=5.0, ambient=40.0)
    assert junction == pytest.approx(device["H-COND-3", "junction"], rel=1e-9)
    assert heat(junction) == pytest.approx(device["H-COND-3", "heat"], rel=1e-9)


def test_avalanche(table_rows):
    (row,) = table_rows("stage_avalanche.csv")
    L, current, BV, supply = 1e-4, 20.0, 100.0, 24.0
    energy = avalanche_energy(L, current, breakdown=BV, supply=supply)
    time = avalanche_time(L, current, breakdown=BV, supply=supply)
    assert energy == pytest.approx(float(row["energy_J"]), rel=1e-9)
    assert time == pytest.approx(float(row["time_s"]), rel=1e-9)
    area, _ = quad(lambda t: BV * (current - (BV - supply) / L * t), 0.0, time)
    assert energy == pytest.approx(area, rel=1e-9)
