"""Energies along the ring-up against SciPy's interpolators."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.interpolate import PchipInterpolator

from burstwise.core.burst.ring_up import RingUpCurves

VOLTS = np.array([3.0, 12.0, 20.0, 36.0])
TIME = np.array([0.0, 1e-6, 3e-6, 1e-5, 4e-5])
OHMS, CURVES = 2, 3


@pytest.fixture
def energies() -> np.ndarray:
    steps = np.random.default_rng(3).random((len(VOLTS), OHMS, CURVES, len(TIME)))
    return np.cumsum(steps, axis=-1) * VOLTS[:, None, None, None] ** 2


def test_cubics_in_the_voltage_and_straight_lines_in_time(energies):
    curves = RingUpCurves.through(VOLTS, TIME, energies)
    random = np.random.default_rng(4)
    volts = random.uniform(3.0, 36.0, (5, 4))
    time = random.uniform(0.0, 4e-5, (5, 4, OHMS))
    gain = random.random((5, 4, CURVES))
    found = curves.energies(volts, gain, time, np.zeros((5, 4, OHMS, 2)))
    over = PchipInterpolator(VOLTS, energies / VOLTS[:, None, None, None] ** 2, axis=0)(volts)
    for place in np.ndindex(5, 4, OHMS, CURVES):
        *at, ohm, curve = place
        wanted = np.interp(time[*at, ohm], TIME, over[*at, ohm, curve]) * gain[*at, curve]
        assert found[place] == pytest.approx(wanted, rel=1e-12)


def test_beyond_the_last_time_the_first_curves_go_on_at_their_power(energies):
    curves = RingUpCurves.through(VOLTS, TIME, energies)
    gain, powers = np.ones((1, CURVES)), np.array([[[5.0, 7.0], [11.0, 13.0]]])
    at_end = curves.energies(np.array([20.0]), gain, np.full((1, OHMS), TIME[-1]), powers)
    later = curves.energies(np.array([20.0]), gain, np.full((1, OHMS), TIME[-1] + 2.0), powers)
    assert (later - at_end)[0, :, :2] == pytest.approx(2.0 * powers[0])
    assert (later - at_end)[0, :, 2] == pytest.approx(0.0)


@pytest.mark.parametrize(("asked", "line"), [(1.0, 0), (100.0, -1)])
def test_beyond_the_grid_its_nearest_line_counts(energies, asked, line):
    curves = RingUpCurves.through(VOLTS, TIME, energies)
    time, still = np.full((1, OHMS), TIME[2]), np.zeros((1, OHMS, 2))
    found = curves.energies(np.array([asked]), np.ones((1, CURVES)), time, still)
    assert found[0] == pytest.approx(energies[line, :, :, 2] / VOLTS[line] ** 2)
