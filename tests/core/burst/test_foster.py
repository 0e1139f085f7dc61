"""Foster pulses against reference figures and against a fine time-stepping simulation."""

from __future__ import annotations

import numpy as np
import pytest

from burstwise.core.burst.foster import Foster, periodic_rise, transient_impedance


def stepped(network: Foster, *, on: float, period: float, cycles: int, steps: int) -> np.ndarray:
    """Rise per watt over the last period by implicit midpoint steps, from a cold start."""
    dt = period / steps
    R, tau = network.resistance, network.time_constant
    state = np.zeros_like(R)
    gain, loss = 1 + dt / (2 * tau), 1 - dt / (2 * tau)
    course = np.zeros(steps + 1)
    for cycle in range(cycles):
        course[0] = state.sum()
        for step in range(steps):
            power = 1.0 if (step + 0.5) * dt < on else 0.0
            state = (loss * state + dt / tau * R * power) / gain
            course[step + 1] = state.sum()
        del cycle
    return course


def test_impedance_of_single_pulses(table_rows, network_of):
    found = table_rows("limits_impedance.csv")
    assert len(found) >= 9
    for row in found:
        value = float(transient_impedance(network_of(row), float(row["time_s"])))
        assert value == pytest.approx(float(row["impedance_K_per_W"]), rel=1e-9), row["id"]


def test_repeated_pulses(table_rows, network_of):
    for row in table_rows("limits_repeated.csv"):
        rise = periodic_rise(network_of(row), float(row["on_time_s"]), float(row["period_s"]))
        power = float(row["power_W"])
        assert power * float(rise.peak) == pytest.approx(float(row["peak_K"]), rel=1e-9), row["id"]
        assert power * float(rise.valley) == pytest.approx(float(row["valley_K"]), rel=1e-9)
        assert power * float(rise.mean) == pytest.approx(float(row["mean_K"]), rel=1e-9)


@pytest.mark.parametrize(("on", "period"), [(2e-4, 1e-3), (1e-3, 6.7e-3), (9e-3, 1e-2)])
def test_against_time_stepping(on, period, figure):
    network = Foster(np.array([0.05, 0.15, 0.4, 0.6]), np.array([5e-5, 5e-4, 3e-3, 1e-2]))
    cycles = int(np.ceil(8 * 0.01 / period))
    course = stepped(network, on=on, period=period, cycles=cycles, steps=2000)
    rise = periodic_rise(network, on, period)
    error = abs(float(rise.peak) / course.max() - 1)
    figure("junction peak against fine time stepping", error, limit="0.5 %", source="second method")
    assert error < 5e-3
    assert float(rise.valley) == pytest.approx(course.min(), rel=5e-3)
    share = course[: round(2000 * on / period) + 1].mean()
    assert float(rise.on_mean) == pytest.approx(share, rel=5e-3)


def test_no_pause_is_steady():
    network = Foster(np.array([0.5, 1.5]), np.array([1e-3, 1.0]))
    rise = periodic_rise(network, 0.01, 0.01)
    assert float(rise.peak) == float(rise.valley) == float(rise.on_mean) == 2.0


def test_networks_side_by_side():
    one = Foster(np.array([0.5, 1.5]), np.array([1e-3, 1.0]))
    both = Foster(np.array([[0.5, 1.5], [1.0, 3.0]]), np.array([[1e-3, 1.0], [1e-3, 1.0]]))
    alone, together = periodic_rise(one, 2e-3, 0.01), periodic_rise(both, np.full(2, 2e-3), 0.01)
    assert together.peak == pytest.approx(float(alone.peak) * np.array([1.0, 2.0]))
    assert together.mean == pytest.approx(float(alone.mean) * np.array([1.0, 2.0]))
