"""Who checks whom: a ring's field by Coulomb's integral, a loop's by Biot and Savart, by its axis
and by magpylib; a sphere over earth by point charge and image; a whole coil by the flux through
the earth plane, by the way from its top load to infinity, which is 1 V, and turn by turn.
"""

import math
from dataclasses import replace

import magpylib
import numpy as np
import pytest
from scipy.integrate import quad, quad_vec

from burstwise.core.coil.charges import top_load_nodes
from burstwise.core.coil.field_around import (
    FieldSources,
    electric_field,
    field_sources,
    loop_field,
    magnetic_field,
    quasi_static_reach,
    ring_field,
)
from burstwise.core.coil.field_distance import (
    CHEST,
    HEAD,
    REFERENCE_LEVELS,
    Emission,
    field_distances,
)
from burstwise.core.coil.geometry import LoopSet, TopLoad, TopLoadKind
from burstwise.core.constants import EPSILON_0, MU_0

COULOMB = 1.0 / (4.0 * math.pi * EPSILON_0)
NOTHING = LoopSet(np.empty(0), np.empty(0), np.empty(0))
PLACES = [(0.0, 0.3), (1e-6, 0.2), (0.05, 0.0), (0.13, -0.02), (0.4, 0.7), (30.0, 1.5)]


@pytest.fixture(scope="module")
def sources(example) -> FieldSources:
    return field_sources(
        example.primary, example.secondary, example.top_load, base_height=example.base_height
    )


def around(angle: float, r: float, z: float, a: float) -> np.ndarray:
    """Vector from a place on a circle of radius a to the point (r, 0, z)."""
    return np.array([r - a * math.cos(angle), -a * math.sin(angle), z])


@pytest.mark.parametrize(("r", "z"), PLACES)
def test_ring_field_against_coulombs_integral(r: float, z: float) -> None:
    a = 0.1

    def coulomb(angle: float) -> np.ndarray:
        way = around(angle, r, z, a)
        return COULOMB / (2 * math.pi) * way / np.linalg.norm(way) ** 3

    expected = quad_vec(coulomb, 0, 2 * math.pi, epsrel=1e-12, limit=2000)[0]
    radial, axial = ring_field(r, z, ring_radius=a)
    size = np.linalg.norm(expected)
    assert float(radial) == pytest.approx(expected[0], abs=1e-9 * size)
    assert float(axial) == pytest.approx(expected[2], abs=1e-9 * size)


@pytest.mark.parametrize(("r", "z"), PLACES)
def test_loop_field_against_biot_and_savart_and_magpylib(r: float, z: float, figure) -> None:
    a = 0.1

    def biot_savart(angle: float) -> np.ndarray:
        way = around(angle, r, z, a)
        along = a * np.array([-math.sin(angle), math.cos(angle), 0.0])
        return MU_0 / (4 * math.pi) * np.cross(along, way) / np.linalg.norm(way) ** 3

    # In parts, for far away opposite sides cancel to a thousandth.
    expected = quad_vec(
        biot_savart, 0, 2 * math.pi, epsrel=1e-13, epsabs=0.0, points=np.linspace(1, 6, 6)
    )[0]
    radial, axial = loop_field(r, z, loop_radius=a)
    size = np.linalg.norm(expected)
    assert float(radial) == pytest.approx(expected[0], abs=1e-9 * size)
    assert float(axial) == pytest.approx(expected[2], abs=1e-9 * size)
    other = magpylib.current.Circle(current=1.0, diameter=2 * a).getB((r, 0.0, z))
    assert float(radial) == pytest.approx(other[0], abs=1e-9 * size)
    assert float(axial) == pytest.approx(other[2], abs=1e-9 * size)
    apart = math.hypot(float(radial) - expected[0], float(axial) - expected[2]) / size
    figure(
        f"field of a loop at {r:g} m, {z:g} m",
        apart,
        limit="1e-9",
        source="Biot and Savart's integral",
    )


@pytest.mark.parametrize("z", [0.0, 0.03, -0.2, 5.0])
def test_loop_on_its_axis_is_the_closed_form(z: float) -> None:
    a = 0.07
    radial, axial = loop_field(0.0, z, loop_radius=a)
    assert float(radial) == 0.0
    assert float(axial) == pytest.approx(MU_0 * a**2 / (2 * (a**2 + z**2) ** 1.5), rel=1e-13)


def test_sphere_over_earth_at_twenty_radii_is_a_point_charge_with_its_image(figure) -> None:
    radius, height, far = 0.1, 1.2, 2.0
    ball = top_load_nodes(TopLoad(TopLoadKind.SPHERE, diameter=2 * radius))
    charges = np.linalg.solve(ball.own_potential, np.ones(len(ball.radii)))
    lone = FieldSources(
        charges=LoopSet(ball.radii, height + ball.heights, charges),
        winding=NOTHING,
        primary=NOTHING,
        resonance=1.0,
        edge=radius,
        top_height=height,
    )
    # V = k Q/radius, so that k Q = V radius.
    volts = 1000.0
    for z in (0.0, 0.7, height, 2.5):
        direct = np.array([far, z - height]) / math.hypot(far, z - height) ** 3
        image = np.array([far, z + height]) / math.hypot(far, z + height) ** 3
        expected = volts * radius * float(np.linalg.norm(direct - image))
        found = float(electric_field(lone, far, z, top_voltage=volts))
        assert found == pytest.approx(expected, rel=1e-9)
    figure(
        "field of a sphere over earth at 20 radii",
        found / expected - 1.0,
        limit="1e-9",
        source="point charge and its image",
    )


def test_flux_into_the_earth_plane_is_the_charge_of_the_coil(sources: FieldSources, figure) -> None:
    def ring_of_plane(radius: float) -> float:
        field = float(electric_field(sources, radius, 0.0, top_voltage=1.0))
        return EPSILON_0 * field * 2 * math.pi * radius

    inner = quad(ring_of_plane, 0.0, 1.0, epsrel=1e-8, limit=200)[0]
    found = inner + quad(ring_of_plane, 1.0, math.inf, epsrel=1e-8)[0]
    held = float(np.sum(sources.charges.weights))
    assert found == pytest.approx(held, rel=1e-6)
    # The charge of top load and winding, less than C2 of a lone top load and all of the winding.
    assert 9e-12 < held < 17.4e-12
    figure(
        "flux into the earth plane over the coil's charge, less 1",
        found / held - 1.0,
        limit="1e-6",
        source="Gauss's theorem",
    )


def test_from_inside_the_top_load_to_infinity_is_one_volt(
    sources: FieldSources, example, figure
) -> None:
    """The way leaves the toroid between two of its 24 rings, along the ray at 7.5 degrees."""
    angle = math.pi / 24
    start = example.top_load.ring_radius, sources.top_height
    rings = sources.charges

    def along(way: float) -> float:
        r, z = start[0] + way * math.cos(angle), start[1] + way * math.sin(angle)
        radial, axial = ring_field(r, z - rings.heights, ring_radius=rings.radii)
        image = ring_field(r, z + rings.heights, ring_radius=rings.radii)
        across, up = (radial - image[0]) @ rings.weights, (axial - image[1]) @ rings.weights
        return float(across * math.cos(angle) + up * math.sin(angle))

    surface = example.top_load.tube_radius
    found = quad(along, 0.0, 0.2, points=[surface], epsrel=1e-9, limit=200)[0]
    found += quad(along, 0.2, math.inf, epsrel=1e-9)[0]
    assert found == pytest.approx(1.0, abs=2e-4)
    figure(
        "volts from inside the top load to infinity, less 1 V",
        found - 1.0,
        limit="2e-4",
        unit="V",
        source="definition of the mode at 1 V on top",
    )


def test_magnetic_field_of_a_coil_against_its_turns_in_magpylib(
    sources: FieldSources, example, figure
) -> None:
    frequency, volts, amperes = 250e3, 10e3, 2.0
    turns = int(example.secondary.turns)
    heights = example.base_height + example.secondary.pitch * (np.arange(turns) + 0.5)
    bottom = sources.winding.heights - example.base_height
    per_turn = sources.winding.weights * len(bottom) / turns
    current = np.interp(heights, sources.winding.heights, per_turn)
    secondary = magpylib.Collection(
        [
            magpylib.current.Circle(
                current=float(i), diameter=example.secondary.mean_diameter, position=(0, 0, z)
            )
            for i, z in zip(current, heights, strict=True)
        ]
    )
    primary = magpylib.Collection(
        [
            magpylib.current.Circle(
                current=amperes, diameter=2 * a, position=(0, 0, example.base_height + z)
            )
            for a, z in zip(
                example.primary.loops().radii, example.primary.loops().heights, strict=True
            )
        ]
    )
    places = np.array([[0.2, 0.0, 0.1], [0.3, 0.0, 0.5], [1.0, 0.0, 0.0], [2.0, 0.0, 1.6]])
    one = primary.getB(places)
    two = secondary.getB(places) * volts * frequency / sources.resonance
    # All phases between the two, one by one.
    phase = np.exp(1j * np.linspace(0.0, 2 * math.pi, 721))
    all_of_them = np.linalg.norm(one[:, None, :] + phase[None, :, None] * two[:, None, :], axis=2)
    expected = np.max(all_of_them, axis=1)
    found = magnetic_field(
        sources,
        places[:, 0],
        places[:, 2],
        top_voltage=volts,
        primary_current=amperes,
        frequency=frequency,
    )
    assert found == pytest.approx(expected, rel=1e-3)
    figure(
        "flux density around the example, 1000 turns one by one",
        float(np.max(np.abs(found / expected - 1.0))),
        limit="1e-3",
        source="magpylib, largest over 721 phases",
    )


def test_currents_of_winding_are_those_that_charge_it(sources: FieldSources, example) -> None:
    """The middle of the first ring carries the rate of all charge above it, 2 pi f Q."""
    above = float(np.sum(sources.charges.weights)) - 0.5 * float(sources.charges.weights[0])
    rate = 2 * math.pi * sources.resonance * above
    per_turn = sources.winding.weights[0] * len(sources.winding.weights) / example.secondary.turns
    assert per_turn == pytest.approx(rate, rel=1e-9)


def test_field_scales_with_its_sources(sources: FieldSources) -> None:
    single = electric_field(sources, 1.0, 1.0, top_voltage=1.0)
    assert electric_field(sources, 1.0, 1.0, top_voltage=-3.0) == pytest.approx(3 * single)
    weak = magnetic_field(sources, 1.0, 1.0, top_voltage=1.0, primary_current=2.0, frequency=200e3)
    strong = magnetic_field(
        sources, 1.0, 1.0, top_voltage=1.5, primary_current=3.0, frequency=200e3
    )
    assert strong == pytest.approx(1.5 * weak)


def test_reach_is_where_a_dipoles_whole_field_is_still_close_to_the_static_one() -> None:
    frequency = 300e3
    distance = quasi_static_reach(frequency)
    kr = 2 * math.pi * frequency / 299792458.0 * distance
    assert kr == pytest.approx(0.3, rel=1e-6)
    # Field beside a short dipole, e^-jkr/(4 pi eps0 r^3) (1 + jkr - (kr)^2), over the static one.
    assert abs(1 + 1j * kr - kr**2) == pytest.approx(0.958, abs=5e-4)
    assert abs(1 + 1j * kr) == pytest.approx(1.044, abs=5e-4)


def test_distance_of_a_small_charge_over_earth_is_the_closed_form() -> None:
    """On the plane E = 2 k Q h/(r^2 + h^2)^(3/2), which is solved for r by hand."""
    charge, height, volts = 1e-11, 0.5, 20e3
    lone = FieldSources(
        charges=LoopSet(np.array([1e-4]), np.array([height]), np.array([charge])),
        winding=NOTHING,
        primary=NOTHING,
        resonance=1.0,
        edge=0.1,
        top_height=height,
    )
    found = field_distances(lone, Emission(volts, 0.0, 300e3))
    for item, level in zip((found[0], found[2]), (83.0, 170.0), strict=True):
        square = (2 * COULOMB * charge * volts * height / level) ** (2 / 3) - height**2
        assert item.at(0.0) == pytest.approx(math.sqrt(square), abs=2e-4)
        assert item.largest >= item.at(0.0)
    for item in (found[1], found[3]):
        assert item.largest == lone.edge


def test_distance_of_a_lone_loop_at_its_own_height_is_the_closed_form() -> None:
    """A small loop in its plane far off: B = mu0 I a^2/(4 r^3) (1 + 9/8 (a/r)^2 + ...)."""
    a, amperes = 0.02, 60.0
    lone = FieldSources(
        charges=NOTHING,
        winding=NOTHING,
        primary=LoopSet(np.array([a]), np.array([0.4]), np.array([10.0])),
        resonance=1.0,
        edge=0.025,
        top_height=0.4,
    )
    item = field_distances(lone, Emission(0.0, amperes, 300e3))[1]
    r = item.at(0.4)
    series = MU_0 * 10.0 * amperes * a**2 / (4 * r**3) * (1 + 9 / 8 * (a / r) ** 2)
    assert series == pytest.approx(27e-6, rel=3e-3)
    assert r > 0.1


def test_levels_are_met_at_their_distances_and_kept_beyond(sources: FieldSources) -> None:
    emission = Emission(14e3, 30.0, 263e3)
    beyond = np.geomspace(1.001, 300.0, 60)
    for item in field_distances(sources, emission):
        for height, distance in zip(item.heights, item.distances, strict=True):
            places = distance * beyond
            if item.level.electric:
                inside, out = (
                    electric_field(sources, r, height, top_voltage=14e3) for r in (distance, places)
                )
            else:
                inside, out = (
                    magnetic_field(
                        sources,
                        r,
                        height,
                        top_voltage=14e3,
                        primary_current=30.0,
                        frequency=263e3,
                    )
                    for r in (distance, places)
                )
            assert np.all(out < item.level.value)
            if distance > sources.edge:
                assert float(inside) == pytest.approx(item.level.value, rel=1e-3)
        assert item.largest == max(item.distances)
        assert {0.0, CHEST, HEAD, sources.top_height} <= set(item.heights)
        # No height in between asks for noticeably more.
        if not item.level.electric:
            field = magnetic_field(
                sources,
                1.01 * item.largest,
                np.linspace(0.0, 2.0, 401),
                top_voltage=14e3,
                primary_current=30.0,
                frequency=263e3,
            )
            assert np.all(field < item.level.value)
    assert [level.value for level in REFERENCE_LEVELS] == [83.0, 27e-6, 170.0, 100e-6]


def test_field_that_reaches_beyond_a_kilometre_is_said_to_be_endless(
    sources: FieldSources,
) -> None:
    huge = replace(sources, charges=replace(sources.charges, weights=1e6 * sources.charges.weights))
    found = field_distances(huge, Emission(1e9, 0.0, 300e3))
    assert found[0].largest == math.inf


def test_more_voltage_asks_for_more_distance_between_its_cube_and_square_root(
    sources: FieldSources,
) -> None:
    near = field_distances(sources, Emission(14e3, 3.0, 263e3))[0].largest
    far = field_distances(sources, Emission(28e3, 3.0, 263e3))[0].largest
    assert 2 ** (1 / 3) < far / near < 2 ** (1 / 2)
