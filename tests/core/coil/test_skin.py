"""Who checks whom: skin effect by mpmath figures; the tube by its solid and thin-wall limits and
by a numerical solution of the diffusion equation; proximity by a periodic multipole solution made
elsewhere, the low-frequency dipole limit, Dowell's foil and Medhurst's table.
"""

import math

import numpy as np
import pytest
from coil_formulas import medhurst_factor
from scipy.integrate import solve_bvp

from burstwise.core.coil.copper import copper_resistivity, skin_depth
from burstwise.core.coil.proximity import thin_skin_proximity_factor, winding_resistance_ratio
from burstwise.core.coil.skin import (
    internal_inductance_ratio,
    skin_resistance_ratio,
    tube_resistance_ratio,
)
from burstwise.core.coil.wire import dc_resistance, wire_area


def test_resistivity_and_skin_depth(reference):
    for row in reference("resistivity"):
        value = copper_resistivity(row["temperature_C"])
        assert value == pytest.approx(row["resistivity_ohm_m"], rel=1e-9)
    for row in reference("skin_depth"):
        assert skin_depth(row["frequency_Hz"]) == pytest.approx(row["skin_depth_m"], rel=1e-9)


def test_skin_ratios(reference):
    for row in reference("skin"):
        radius = row["x"] / math.sqrt(2)
        resistance = skin_resistance_ratio(radius)
        assert resistance == pytest.approx(row["resistance_ratio"], rel=1e-9), row["id"]
        inductance = internal_inductance_ratio(radius)
        assert inductance == pytest.approx(row["inductance_ratio"], rel=1e-9), row["id"]


def test_skin_ratios_at_zero_frequency():
    assert skin_resistance_ratio(0.0) == 1.0
    assert internal_inductance_ratio(0.0) == 1.0
    assert tube_resistance_ratio(0.0, 0.1) == 1.0


def test_wire_resistance_per_metre(reference):
    for row in reference("wire_ac"):
        depth = skin_depth(row["frequency_Hz"])
        assert depth == pytest.approx(row["skin_depth_m"], rel=1e-9)
        direct = dc_resistance(1.0, wire_area(row["diameter_m"]), resistivity=1.7241e-8)
        assert direct == pytest.approx(row["dc_ohm_per_m"], rel=1e-9)
        ratio = skin_resistance_ratio(0.5 * row["diameter_m"] / depth)
        assert direct * ratio == pytest.approx(row["ac_ohm_per_m"], rel=1e-9)


def test_tube_with_a_pinhole_is_a_rod():
    assert tube_resistance_ratio(3.0, 1 - 1e-6) == pytest.approx(
        skin_resistance_ratio(3.0), rel=1e-9
    )
    assert tube_resistance_ratio(3.0, 1.0) == skin_resistance_ratio(3.0)


@pytest.mark.parametrize(("radius", "wall"), [(2.0, 0.3), (6.0, 0.5), (10.0, 0.2)])
def test_tube_against_the_diffusion_equation(radius, wall):
    # J'' + J'/x = 2j J in skin depths, J' = 0 at the bore, J = 1 at the outside.
    inner = radius * (1 - wall)

    def slope(x, y):
        field, gradient = y[0] + 1j * y[1], y[2] + 1j * y[3]
        bend = 2j * field - gradient / x
        return np.array([gradient.real, gradient.imag, bend.real, bend.imag])

    def ends(a, b):
        return np.array([a[2], a[3], b[0] - 1, b[1]])

    x = np.linspace(inner, radius, 400)
    found = solve_bvp(slope, ends, x, np.ones((4, len(x))), tol=1e-9, max_nodes=20000)
    density = found.sol(np.linspace(inner, radius, 4001))
    grid = np.linspace(inner, radius, 4001)
    J = density[0] + 1j * density[1]
    current = np.trapezoid(J * 2 * math.pi * grid, grid)
    loss = np.trapezoid(np.abs(J) ** 2 * 2 * math.pi * grid, grid)
    area = math.pi * (radius**2 - inner**2)
    expected = loss * area / abs(current) ** 2
    assert tube_resistance_ratio(radius, wall) == pytest.approx(expected, rel=1e-5)


def test_tube_of_many_depths_does_not_overflow():
    assert tube_resistance_ratio(2000.0, 0.5) == pytest.approx(
        0.75 * skin_resistance_ratio(2000.0), rel=1e-6
    )


def test_proximity_at_finite_depth(reference):
    for row in reference("proximity"):
        ratio = winding_resistance_ratio(row["radius_in_depths"], row["diameter_over_pitch"])
        assert ratio == pytest.approx(row["resistance_ratio"], rel=1e-6), row["id"]


def test_proximity_in_the_thin_skin_limit(reference):
    for row in reference("proximity_limit"):
        closeness = row["diameter_over_pitch"]
        assert thin_skin_proximity_factor(closeness) == pytest.approx(row["limit"], rel=1e-6)
        at_60 = winding_resistance_ratio(60.0, closeness) / skin_resistance_ratio(60.0)
        assert at_60 == pytest.approx(row["at_60_depths"], rel=1e-6), row["id"]


def test_proximity_at_low_frequency_is_a_cylinder_in_a_uniform_field():
    closeness, radius = 0.1, 0.1
    dipole = math.pi**2 / 4 * (0.5 * closeness) ** 2 * radius**4
    extra = winding_resistance_ratio(radius, closeness) - skin_resistance_ratio(radius)
    assert extra == pytest.approx(dipole, rel=0.01)


def test_lone_turns_have_skin_effect_only():
    assert winding_resistance_ratio(2.0, 0.0) == skin_resistance_ratio(2.0)
    assert winding_resistance_ratio(2.0, 1e-4) == pytest.approx(skin_resistance_ratio(2.0))


def test_dowells_foil_overstates_the_single_layer(reference):
    for row in reference("proximity"):
        closeness, radius = row["diameter_over_pitch"], row["radius_in_depths"]
        xi = math.sqrt(math.pi) * radius * math.sqrt(closeness)
        foil = xi * (math.sinh(2 * xi) + math.sin(2 * xi)) / (math.cosh(2 * xi) - math.cos(2 * xi))
        assert foil == pytest.approx(row["dowell_ratio"], rel=1e-8), row["id"]
        assert 1.0 < foil / winding_resistance_ratio(radius, closeness) < 1.28


def test_medhurst_for_long_windings_agrees_with_the_periodic_solution():
    for closeness in (0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9):
        table = medhurst_factor(closeness, math.inf)
        assert thin_skin_proximity_factor(closeness) == pytest.approx(table, rel=0.004)


def test_periodic_solution_against_medhurst_for_usual_proportions():
    # Ten per cent is the size of the finite-length effect that the long-winding model leaves out.
    for closeness in (0.3, 0.5, 0.7, 0.8):
        for span in (2.0, 4.0, 6.0):
            assert thin_skin_proximity_factor(closeness) == pytest.approx(
                medhurst_factor(closeness, span), rel=0.12
            )
