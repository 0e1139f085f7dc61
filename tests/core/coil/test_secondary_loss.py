"""Loss of the secondary: every ring's own current, against the lumped resistance."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.linalg import eig

from burstwise.core.coil.copper import skin_depth
from burstwise.core.coil.geometry import TopLoad, TopLoadKind
from burstwise.core.coil.proximity import winding_resistance_ratio
from burstwise.core.coil.resonator import ring_inductance_matrix, winding_potential_matrix
from burstwise.core.coil.summary import coil_constants

RINGS = 100


def ring_resistance(example, frequency: float) -> float:
    """Ac resistance of one ring of the worked example at 20 °C [ohm]."""
    wire = example.secondary
    length = 1000 * math.hypot(math.pi * 0.11, 0.00036)
    direct = 1.7241e-8 * length / (0.25 * math.pi * wire.bare_diameter**2)
    in_depths = 0.5 * wire.bare_diameter / skin_depth(frequency)
    return direct * winding_resistance_ratio(in_depths, 0.315 / 0.36) / RINGS


@pytest.mark.parametrize("kind", ["bare", "toroid"])
def test_quality_factor_is_energy_over_loss_summed_along_the_winding(example, kind):
    """Charges and currents of the profile alone: energy stored and heat per cycle."""
    top = TopLoad(TopLoadKind.NONE) if kind == "bare" else example.top_load
    values = coil_constants(example.primary, example.secondary, top, base_height=0.1, rings=RINGS)
    profile, omega = values.profile, 2 * math.pi * values.resonance
    # Charge that a ring gathers is the current in less the current out, over omega.
    charge = -np.diff(profile.current) / omega
    energy = 0.5 * float(charge @ profile.voltage)
    energy += 0.5 * float(profile.current[-1]) / omega * 1.0
    middle = 0.5 * (profile.current[1:] + profile.current[:-1])
    heat = 0.5 * ring_resistance(example, values.resonance) * float(np.sum(middle**2))
    assert values.quality_factor == pytest.approx(omega * energy / heat, rel=2e-3)
    # The foot's current all along the winding would lose more.
    even = 0.5 * RINGS * ring_resistance(example, values.resonance) * profile.current[0] ** 2
    assert heat < 0.97 * even


def test_quality_factor_is_that_of_the_dying_ring_network(example):
    """All 100 rings with a resistor each, as a damped network: the rate of its lowest mode."""
    bare = TopLoad(TopLoadKind.NONE)
    values = coil_constants(example.primary, example.secondary, bare, base_height=0.1, rings=RINGS)
    coil = example.secondary
    mean = 0.5 * (np.eye(RINGS) + np.eye(RINGS, RINGS, 1))
    gather = np.eye(RINGS) - np.eye(RINGS, RINGS, 1)
    magnetic = mean.T @ ring_inductance_matrix(coil, RINGS) @ mean
    potential = winding_potential_matrix(
        0.5 * coil.mean_diameter, coil.length, rings=RINGS, base_height=0.1
    )
    electric = gather.T @ potential @ gather
    resistive = ring_resistance(example, values.resonance) * mean.T @ mean
    none, one = np.zeros_like(magnetic), np.eye(RINGS)
    # Loop currents i and charges q: L di/dt = -R i - P q, dq/dt = i, solved for 1/s.
    system = np.block([[-resistive, -electric], [one, none]])
    storing = np.block([[magnetic, none], [none, one]])
    inverse = eig(storing, system, right=False)
    slowest = 1.0 / inverse[np.argmax(inverse.imag)]
    frequency = abs(slowest.imag) / (2 * math.pi)
    assert frequency == pytest.approx(values.resonance, rel=1e-4)
    assert values.quality_factor == pytest.approx(abs(slowest.imag) / (-2 * slowest.real), rel=2e-3)
