"""Burst scale: what must emerge from duty, heat and droop, and runaway against a closed form."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.interpolate import PchipInterpolator

from burstwise.core.burst.foster import Foster
from burstwise.core.burst.operation import ThermalPath, operation
from burstwise.core.burst.ring_up import RingUpCurves
from burstwise.core.burst.table import CURVE_POINTS, CURVES, ORDERS, CarrierTable
from burstwise.core.design.device import Device
from burstwise.core.design.supply import Supply

RING_UP = 50e-6
OHMS = np.array([0.5, 1.0, 3.0])
STIFF = Supply(voltage=30.0, source_resistance=0.0)
LINEAR = Device(on_resistance=1.0, hot_resistance_ratio=423.15 / 298.15)
"""On-resistance in proportion to the absolute temperature: linear, with 1/298.15 per kelvin."""
PATH = ThermalPath(
    Foster(np.array([0.4, 1.2, 2.0, 0.5, 6.0]), np.array([1e-4, 2e-3, 3e-2, 0.8, 300.0])), 25.0
)


def plain_table(*, current_per_volt: float, power_per_square_volt: float) -> CarrierTable:
    """Stage whose current and power go with supply and its square; ring-up is exponential."""
    volts = np.array([5.0, 20.0, 60.0])
    grid = np.zeros((len(volts), len(OHMS), len(ORDERS)))
    place = {name: i for i, name in enumerate(ORDERS)}
    grid[..., place["input_power"]] = power_per_square_volt
    grid[..., place["device_power"]] = current_per_volt**2 * OHMS
    grid[..., place["time_to_90_percent"]] = RING_UP * np.log(10.0)
    grid[..., place["ring_down_time"]] = RING_UP
    grid[..., place["stored"]] = 1e-9
    grid[..., place["oscillates"]] = 1.0
    time = np.concatenate([[0.0], np.geomspace(1e-7, 20 * RING_UP, CURVE_POINTS - 1)])
    # Power rises as 1 - exp(-t/tau); energy is its integral.
    reached = time - RING_UP * (1 - np.exp(-time / RING_UP))
    lines = np.zeros((len(volts), len(OHMS), len(CURVES), CURVE_POINTS))
    lines[:, :, 0] = power_per_square_volt * reached
    lines[:, :, 1] = (current_per_volt**2 * OHMS)[None, :, None] * reached
    lines[:, :, 2] = 1e-9 * (1 - np.exp(-time / RING_UP)) ** 2
    curves = RingUpCurves.through(volts, time, lines * volts[:, None, None, None] ** 2)
    return CarrierTable(volts, OHMS, PchipInterpolator(volts, grid), curves, ())


@pytest.fixture(scope="module")
def table() -> CarrierTable:
    return plain_table(current_per_volt=0.05, power_per_square_volt=0.05)


def test_half_duty_is_half_the_power(table):
    found = operation(table, LINEAR, STIFF, PATH, duty=[0.2, 0.4, 0.8], frequency=20.0)
    ratio = found.average_power[1:] / found.average_power[:-1]
    assert ratio == pytest.approx([2.0, 2.0], rel=0.01)


def test_on_time_near_the_ring_up_loses_power(table):
    found = operation(table, LINEAR, STIFF, PATH, duty=[0.3, 0.3], frequency=[20.0, 3000.0])
    long, short = found.average_power
    assert 0.3 < short / long < 0.7


def test_slow_interrupter_ripples_more(table):
    found = operation(table, LINEAR, STIFF, PATH, duty=0.3, frequency=[15.0, 150.0, 1500.0])
    ripple = found.junction_peak - found.junction_valley
    assert ripple[0] > 2 * ripple[1] > 6 * ripple[2] > 0
    assert found.junction_mean[0] == pytest.approx(found.junction_mean[1], rel=0.02)


def closed_form(current: float, path: ThermalPath) -> float:
    """Junction under constant RMS current in a linear on-resistance, endless."""
    gain = path.network.total * current**2 * LINEAR.on_resistance / 298.15
    if gain >= 1.0:
        return np.inf
    cold = path.network.total * current**2 * LINEAR.on_resistance
    return path.ambient + cold * (1 + (path.ambient - 25.0) / 298.15) / (1 - gain)


@pytest.mark.parametrize("current", [0.5, 1.5, 2.5, 3.3])
def test_junction_against_closed_form(current, figure):
    stage = plain_table(current_per_volt=current / 30.0, power_per_square_volt=0.5)
    found = operation(stage, LINEAR, STIFF, PATH, duty=1.0, frequency=100.0)
    wanted = closed_form(current, PATH)
    error = abs(float(found.junction_mean) / wanted - 1)
    figure("settled junction against closed form", error, limit="0.1 %", source="closed form")
    assert error < 1e-3


def test_runaway_where_the_loop_gain_reaches_one():
    # Between the highest junction looked at, 500 °C, and a loop gain of 1 all is runaway.
    limit = np.sqrt(298.15 / (PATH.network.total * LINEAR.on_resistance))
    hottest = 475.0 / PATH.network.total / (1 + 475.0 / 298.15)
    currents = np.array([0.97 * np.sqrt(hottest), 1.03 * np.sqrt(hottest), 1.05 * limit])
    flags = []
    for current in currents:
        stage = plain_table(current_per_volt=current / 30.0, power_per_square_volt=0.5)
        found = operation(stage, LINEAR, STIFF, PATH, duty=1.0, frequency=100.0)
        flags.append(bool(found.runaway))
        assert np.isinf(found.junction_peak) == found.runaway
    assert flags == [False, True, True]


def test_pause_saves_from_runaway():
    stage = plain_table(current_per_volt=0.2, power_per_square_volt=0.5)
    found = operation(stage, LINEAR, STIFF, PATH, duty=[0.1, 1.0], frequency=100.0)
    assert found.runaway.tolist() == [False, True]


def test_sagging_bus_lowers_the_power(table):
    soft = Supply(voltage=30.0, source_resistance=2.0, bulk_capacitance=1e-6)
    found = operation(table, LINEAR, soft, PATH, duty=1.0, frequency=100.0)
    # Divider with a load of 1/0.05 = 20 ohm.
    assert float(found.voltage) == pytest.approx(30.0 * 20.0 / 22.0, rel=1e-3)
    assert float(found.average_power) == pytest.approx(0.05 * float(found.voltage) ** 2, rel=1e-3)
