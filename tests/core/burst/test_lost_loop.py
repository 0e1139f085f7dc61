"""A gate that stays on: closed pieces against a solver of differential equations, and limits."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from burstwise.core.burst.lost_loop import Discharge, HardOn, discharge

CASES = {
    "small bus": HardOn(36.0, 4.7e-3, 3.5e-6, 0.03, 0.28, 0.215, math.inf, 0.0),
    "rings": HardOn(60.0, 1e-6, 17e-6, 0.02, 0.1, 0.05, math.inf, 0.0),
    "saturates": HardOn(58.8, 4.7e-3, 3.5e-6, 0.03, 0.28, 0.215, 40.0, 3.0),
    "saturates for good": HardOn(21.0, 2.2e-3, 3.5e-6, 0.05, 1.8, 0.2, 1.0, 5.0),
    "fed": HardOn(60.0, 10e-3, 17e-6, 0.02, 0.1, 0.11, math.inf, 10.0),
}


def by_solver(circuit: HardOn, time: np.ndarray) -> np.ndarray:
    """Drain current from LSODA, with the channel as a voltage over its current.

    Beyond saturation 5 kilohm stand in the channel: the current rises by some milliamperes only.
    """

    def slopes(_t: float, x: np.ndarray) -> list[float]:
        current, volts = x
        fed = circuit.fed if volts < circuit.voltage or current > circuit.fed else max(current, 0.0)
        bus = volts - circuit.capacitor_resistance * (current - fed)
        channel = circuit.on_resistance * min(current, circuit.saturation)
        channel += 5e3 * max(current - circuit.saturation, 0.0)
        push = bus - circuit.resistance * current - channel
        return [push / circuit.inductance, (fed - current) / circuit.capacitance]

    start = [0.0, circuit.voltage]
    found = solve_ivp(
        slopes, (0.0, time[-1]), start, method="LSODA", t_eval=time, rtol=1e-7, atol=1e-8
    )
    return np.asarray(found.y[0])


@pytest.mark.parametrize("name", CASES)
def test_current_against_lsoda(name: str, figure: Callable[..., None]) -> None:
    circuit = CASES[name]
    longest = 20e-6 if name == "rings" else 4e-3
    time = np.linspace(longest / 200, longest, 200)
    found = discharge(circuit, longest)
    wanted = by_solver(circuit, time)
    valid = slice(None)
    if name == "rings":  # the body diode, which is left out here, would conduct from there on
        valid = slice(0, int(np.argmax(wanted < 0.0)) or None)
    apart = np.abs(np.interp(time, found.time, found.current) - wanted)[valid]
    worst = float(apart.max() / wanted.max())
    figure(f"lost loop, {name}", worst, limit="0.02", source="LSODA of scipy")
    assert worst < 0.02
    assert found.peak == pytest.approx(wanted.max(), rel=0.01)


def test_energy_is_what_the_capacitor_loses() -> None:
    # All of it goes into the resistances, in their proportion (conservation of energy).
    circuit = replace(CASES["small bus"], fed=0.0)
    found = discharge(circuit, 1.0)
    stored = 0.5 * circuit.capacitance * circuit.voltage**2
    share = circuit.on_resistance / (
        circuit.on_resistance + circuit.resistance + circuit.capacitor_resistance
    )
    assert found.energy == pytest.approx(stored * share, rel=5e-3)
    assert found.let_through == pytest.approx(found.energy / circuit.on_resistance, rel=1e-6)


def test_a_saturated_channel_takes_nearly_all() -> None:
    circuit = replace(CASES["saturates"], fed=0.0, saturation=4.0)
    found = discharge(circuit, 1.0)
    stored = 0.5 * circuit.capacitance * circuit.voltage**2
    drops = (circuit.resistance + circuit.capacitor_resistance) * found.let_through
    assert found.energy + drops == pytest.approx(stored, rel=5e-3)
    assert found.energy > 0.9 * stored
    assert found.peak == pytest.approx(4.0)


def test_a_short_one_rises_with_the_inductance() -> None:
    # i = V t / L as long as the resistances drop next to nothing.
    circuit = CASES["small bus"]
    assert discharge(circuit, 1e-7).last == pytest.approx(36.0 * 1e-7 / 3.5e-6, rel=0.01)


def test_course_up_to_a_time_and_when_a_current_is_reached() -> None:
    found = Discharge(
        np.array([0.0, 1.0, 2.0]), np.array([0.0, 4.0, 2.0]), np.array([0.0, 8.0, 4.0])
    )
    assert found.reaches(2.0) == pytest.approx(0.5)
    assert math.isinf(found.reaches(5.0))
    half = found.until(1.5)
    assert half.last == pytest.approx(3.0)
    assert half.energy == pytest.approx(4.0 + 3.5)
    assert found.until(9.0) is found


def test_saturation_up_to_the_end_leaves_no_time_behind_it() -> None:
    # What is left behind it is nothing, or a rounding of the sum of two times.
    circuit = CASES["saturates for good"]
    for longest in np.linspace(0.3e-6, 0.8e-6, 800).tolist():
        found = discharge(circuit, longest)
        assert found.end == pytest.approx(longest, rel=1e-9)
        assert found.last == pytest.approx(circuit.saturation)
        assert np.all(np.isfinite(found.heat))
