"""Who checks whom: closed forms by mpmath figures; ring sums of charge by the closed forms; the
band kernel by adaptive quadrature; the self-capacitance table by figures from memory.
"""

import math

import numpy as np
import pytest
from coil_formulas import smooth_self_capacitance, sphere_plane_capacitance, torus_surface_field
from scipy.integrate import quad
from scipy.special import eval_legendre

from burstwise.core.coil.capacitance import (
    disc_capacitance,
    sphere_capacitance,
    top_load_capacitance,
    torus_capacitance,
)
from burstwise.core.coil.charges import (
    band_potentials,
    ring_potential,
    top_load_nodes,
    winding_potential_matrix,
)
from burstwise.core.coil.geometry import TopLoad, TopLoadKind
from burstwise.core.coil.self_capacitance import tabulated_self_capacitance
from burstwise.core.constants import EPSILON_0


def toroid(ring: float, tube: float) -> TopLoad:
    return TopLoad(TopLoadKind.TOROID, diameter=2 * (ring + tube), thickness=2 * tube)


def test_sphere_alone_and_over_a_plane(reference):
    for row in reference("sphere"):
        if math.isinf(row["height_m"]):
            value = sphere_capacitance(row["radius_m"])
        else:
            value = sphere_plane_capacitance(row["radius_m"], row["height_m"])
        assert value == pytest.approx(row["capacitance_F"], rel=1e-9), row["id"]


def test_torus(reference):
    for row in reference("torus"):
        ring, tube = row["ring_radius_m"], row["tube_radius_m"]
        assert torus_capacitance(ring, tube) == pytest.approx(row["capacitance_F"], rel=1e-9)
        field = torus_surface_field(ring, tube)
        assert field == pytest.approx(row["outer_field_per_m"], rel=1e-6), row["id"]
        nodes = top_load_nodes(toroid(ring, tube), 64)
        charges = np.linalg.solve(nodes.own_potential, np.ones(64))
        inner = (nodes.field_per_charge @ charges)[32]
        assert inner == pytest.approx(row["inner_field_per_m"], rel=1e-5), row["id"]


def test_torus_sweep(reference):
    for row in reference("torus_sweep"):
        value = torus_capacitance(0.1, 0.1 * row["tube_over_ring"])
        normalised = value / (4 * math.pi * EPSILON_0 * 0.1)
        assert normalised == pytest.approx(row["normalised_capacitance"], rel=1e-8), row


def test_very_thin_torus_is_a_ring():
    ring, tube = 0.1, 1e-6
    thin = 4 * math.pi**2 * EPSILON_0 * ring / math.log(8 * ring / tube)
    assert torus_capacitance(ring, tube) == pytest.approx(thin, rel=1e-6)


@pytest.mark.parametrize(
    ("top_load", "exact"),
    [
        (TopLoad(TopLoadKind.SPHERE, 0.2), sphere_capacitance(0.1)),
        (TopLoad(TopLoadKind.DISC, 0.2, 0.002), disc_capacitance(0.1)),
        (toroid(0.1, 0.025), torus_capacitance(0.1, 0.025)),
    ],
    ids=["sphere", "disc", "toroid"],
)
def test_ring_charges_reproduce_the_closed_forms(top_load, exact):
    nodes = top_load_nodes(top_load)
    assert np.linalg.inv(nodes.own_potential).sum() == pytest.approx(exact, rel=1e-9)
    assert top_load_capacitance(top_load) == pytest.approx(exact, rel=1e-12)


def test_no_top_load_has_no_capacitance():
    assert top_load_capacitance(TopLoad(TopLoadKind.NONE)) == 0.0


def test_sphere_over_a_plane_by_ring_charges():
    radius, height = 0.05, 0.1
    nodes = top_load_nodes(TopLoad(TopLoadKind.SPHERE, 2 * radius))
    z = height + nodes.heights
    image = ring_potential(
        nodes.radii[:, None], z[:, None] + z[None, :], ring_radius=nodes.radii[None, :]
    )
    value = np.linalg.inv(nodes.own_potential - image).sum()
    assert value == pytest.approx(sphere_plane_capacitance(radius, height), rel=1e-8)


@pytest.mark.parametrize("order", [0, 1, 2, 5])
def test_disc_eigenfunctions_at_the_centre(order):
    # With x = sqrt(1 - r^2/R^2), density P_2n(x)/x gives pi R P_2n(0)^2 P_2n(x)/(4 eps0).
    R = 0.1
    centre = quad(
        lambda x: eval_legendre(2 * order, x) * R / (2 * EPSILON_0 * math.sqrt(1 - x * x)), 0, 1
    )[0]
    expected = math.pi * R / (4 * EPSILON_0) * eval_legendre(2 * order, 0.0) ** 2
    assert centre == pytest.approx(expected, rel=1e-9)


def test_disc_edge_field_is_that_of_a_thin_spheroid():
    R, edge = 0.1, 0.001
    nodes = top_load_nodes(TopLoad(TopLoadKind.DISC, 2 * R, 2 * edge))
    charges = np.linalg.solve(nodes.own_potential, np.ones(len(nodes.radii)))
    expected = 2 / (math.pi * math.sqrt(R * edge))
    assert (nodes.field_per_charge @ charges)[0] == pytest.approx(expected, rel=1e-9)


def test_ring_potential_on_the_axis():
    value = float(ring_potential(0.0, 0.04, ring_radius=0.03))
    assert value == pytest.approx(1 / (4 * math.pi * EPSILON_0 * 0.05), rel=1e-12)


@pytest.mark.parametrize("steps", [0, 1, 2, 30])
def test_band_kernel_against_adaptive_quadrature(steps):
    radius, width = 0.05, 0.004
    distance = steps * width

    def weighted(s: float) -> float:
        kernel = float(ring_potential(radius, distance + s, ring_radius=radius))
        return (width - abs(s)) / width**2 * kernel

    expected = sum(
        quad(weighted, *ends, epsrel=1e-12, epsabs=0, limit=300)[0]
        for ends in ((-width, 0.0), (0.0, width))
    )
    value = band_potentials(radius, width, distances=np.array([distance]))[0]
    assert value == pytest.approx(expected, rel=1e-7)


def test_long_cylinder_over_no_plane_approaches_its_slender_limit():
    # C = 2 pi eps0 l / [ln(l/a) - 1 + ln 2 + ...], Maxwell's first term for a slender cylinder.
    radius, length = 0.001, 1.0
    matrix = winding_potential_matrix(radius, length, rings=100, base_height=None)
    value = np.linalg.inv(matrix).sum()
    log = math.log(2 * length / radius)
    slender = (
        2 * math.pi * EPSILON_0 * length * (1 / (log - 1) + (1 - math.pi**2 / 12) / (log - 1) ** 3)
    )
    assert value == pytest.approx(slender, rel=2e-3)


def test_self_capacitance_table(reference):
    for row in reference("self_capacitance"):
        span = row["length_over_diameter"]
        table = tabulated_self_capacitance(0.01, span) * 1e12
        assert table == pytest.approx(row["pF_per_cm"], abs=0.005), row
        smooth = smooth_self_capacitance(0.01, 0.01 * span) * 1e12
        assert smooth == pytest.approx(row["fit_pF_per_cm"], abs=6e-5), row
        assert smooth / table == pytest.approx(1.0, abs=0.08), row
