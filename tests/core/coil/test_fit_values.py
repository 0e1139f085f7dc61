"""Lumped values from a curve measured at the foot, against the full ring network's impedance."""

import math

import numpy as np
import pytest

from burstwise.core.coil.charges import winding_potential_matrix
from burstwise.core.coil.curves import CurveKind, MeasuredCurve
from burstwise.core.coil.fit_values import MeasuredWinding, taken_values
from burstwise.core.coil.geometry import TopLoad, TopLoadKind
from burstwise.core.coil.resonance_fit import fitted_resonance
from burstwise.core.coil.resonator import ring_inductance_matrix
from burstwise.core.coil.summary import coil_constants
from burstwise.core.errors import InputError

RINGS = 60


def foot_impedance(secondary, frequencies, resistance):
    """Voltage over current at the foot of the ring network with losses in each ring, top free."""
    radius, length = 0.5 * secondary.mean_diameter, secondary.length
    potential = winding_potential_matrix(radius, length, rings=RINGS, base_height=0.1)
    inductance = ring_inductance_matrix(secondary, RINGS)
    mean = 0.5 * (np.eye(RINGS) + np.eye(RINGS, RINGS, 1))
    gather = np.eye(RINGS) - np.eye(RINGS, RINGS, 1)
    impedances = []
    for frequency in frequencies:
        omega = 2 * math.pi * frequency
        loss = np.eye(RINGS) * resistance / RINGS
        network = mean.T @ (1j * omega * inductance + loss) @ mean
        network = network + gather.T @ potential @ gather / (1j * omega)
        drive = np.zeros(RINGS)
        drive[0] = 1.0
        impedances.append(1.0 / np.linalg.solve(network, drive)[0])
    return np.array(impedances)


@pytest.fixture
def bare(example):
    none = TopLoad(TopLoadKind.NONE)
    return coil_constants(example.primary, example.secondary, none, base_height=0.1, rings=RINGS)


def test_values_at_the_foot_become_the_lumped_ones(example, bare):
    f0 = bare.resonance
    f = np.linspace(0.99 * f0, 1.01 * f0, 41)
    curve = MeasuredCurve(CurveKind.IMPEDANCE, f, foot_impedance(example.secondary, f, 100.0))
    fit = fitted_resonance(curve)
    assert fit.frequency.value == pytest.approx(f0, rel=1e-4)
    taken = {
        item.name: item.value
        for item in taken_values(
            fit, MeasuredWinding.SECONDARY, base_current_ratio=bare.base_current_ratio
        )
    }
    assert taken["secondary_inductance"] == pytest.approx(bare.secondary_inductance, rel=2e-3)
    assert taken["secondary_capacitance"] == pytest.approx(bare.secondary_capacitance, rel=2e-3)
    # Without the ratio the bare coil's inductance would be far off.
    assert abs(fit.inductance.value / bare.secondary_inductance - 1) > 0.05


def test_a_response_gives_the_resonance_and_q():
    f = np.linspace(250e3, 280e3, 61)
    response = 1 / np.abs(1 + 90j * (f / 265e3 - 265e3 / f))
    fit = fitted_resonance(MeasuredCurve(CurveKind.RESPONSE, f, response))
    taken = {item.name: item.value for item in taken_values(fit, MeasuredWinding.SECONDARY)}
    assert taken == pytest.approx({"resonance": 265e3, "quality_factor": 90.0}, rel=1e-6)
    with pytest.raises(InputError, match="primary's inductance"):
        taken_values(fit, MeasuredWinding.PRIMARY)


def test_a_primary_with_its_capacitor_gives_inductance_and_resistance():
    f = np.linspace(240e3, 300e3, 121)
    w = 2 * np.pi * f
    Y = 1j * w * 20e-9 + 1 / (0.15 + 1j * w * 17e-6)
    fit = fitted_resonance(MeasuredCurve(CurveKind.MAGNITUDE, f, 1 / np.abs(Y)))
    taken = {item.name: item.value for item in taken_values(fit, MeasuredWinding.PRIMARY)}
    assert taken["primary_inductance"] == pytest.approx(17e-6, rel=2e-3)
    assert taken["primary_resistance"] == pytest.approx(0.15, rel=1e-2)
    with pytest.raises(InputError, match="least one at its foot"):
        taken_values(fit, MeasuredWinding.SECONDARY)
