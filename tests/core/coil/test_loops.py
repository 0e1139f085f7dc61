"""Who checks whom: Maxwell's loops by mpmath, Neumann's integral and magpylib's flux; windings by
magpylib's flux in helical, flat and conical form; far loops by the dipole limit.
"""

import math
from dataclasses import replace

import magpylib
import numpy as np
import pytest
from scipy.integrate import quad

from burstwise.core.coil.geometry import (
    ConductorKind,
    PrimaryConductor,
    PrimaryGeometry,
    PrimaryShape,
)
from burstwise.core.coil.loops import (
    coupling_coefficient,
    loop_mutual_inductance,
    loop_self_inductance,
    loop_sum_inductance,
    loop_sum_mutual,
)
from burstwise.core.coil.primary import primary_inductance
from burstwise.core.constants import MU_0

WIRE = PrimaryConductor(ConductorKind.WIRE, diameter=0.0025)


def test_loop_mutual_inductance_matches_figures(reference):
    for row in reference("loop_mutual"):
        value = float(
            loop_mutual_inductance(row["radius_a_m"], row["radius_b_m"], distance=row["distance_m"])
        )
        assert value == pytest.approx(row["mutual_H"], rel=1e-9), row["id"]
        assert value == pytest.approx(row["magpylib_flux_H"], rel=1e-9), row["id"]


def test_loop_mutual_inductance_against_neumanns_integral():
    a, b, z = 0.03, 0.11, 0.07

    def neumann(angle: float) -> float:
        return math.cos(angle) / math.sqrt(a * a + b * b + z * z - 2 * a * b * math.cos(angle))

    expected = 0.5 * MU_0 * a * b * quad(neumann, 0, 2 * math.pi, epsabs=0, epsrel=1e-12)[0]
    assert float(loop_mutual_inductance(a, b, distance=z)) == pytest.approx(expected, rel=1e-11)


def test_far_loops_are_dipoles_to_full_precision():
    a, b, z = 0.01, 0.02, 1000.0
    dipole = MU_0 * math.pi * a**2 * b**2 / (2 * z**3)
    assert float(loop_mutual_inductance(a, b, distance=z)) == pytest.approx(dipole, rel=1e-8)


def test_self_inductance_is_the_mutual_of_filaments_one_mean_distance_apart():
    a, g = 0.1, 1e-5
    apart = float(loop_mutual_inductance(a, a, distance=g))
    assert float(loop_self_inductance(a, mean_distance=g)) == pytest.approx(apart, rel=1e-7)


def test_winding_mutual_inductance_matches_figures(reference):
    for row in reference("winding_mutual"):
        primary = PrimaryGeometry(
            PrimaryShape.HELICAL,
            PrimaryConductor(ConductorKind.WIRE, diameter=0.001),
            row["primary_radius_m"],
            row["primary_turns"],
            row["primary_pitch_m"],
            start_height=row["primary_bottom_z_m"],
        ).loops()
        turns = int(row["secondary_turns"])
        heights = row["secondary_bottom_z_m"] + row["secondary_pitch_m"] * (np.arange(turns) + 0.5)
        linked = loop_sum_mutual(
            primary.radii,
            primary.heights,
            radii_b=np.full(turns, row["secondary_mean_radius_m"]),
            heights_b=heights,
        )
        assert linked.sum() == pytest.approx(row["mutual_H"], rel=1e-9), row["id"]
        # The endless-solenoid formula that this replaces is half as much again too large.
        assert row["endless_solenoid_H"] / linked.sum() > 1.4, row["id"]


@pytest.mark.parametrize(
    "primary",
    [
        PrimaryGeometry(PrimaryShape.HELICAL, WIRE, 0.085, 6, 0.01, start_height=-0.02),
        PrimaryGeometry(PrimaryShape.FLAT, WIRE, 0.075, 7, 0.012, start_height=-0.01),
        PrimaryGeometry(PrimaryShape.CONICAL, WIRE, 0.07, 5, 0.011, cone_angle=math.radians(35)),
    ],
    ids=["helical", "flat", "conical"],
)
def test_mutual_inductance_and_coupling_against_magpylib_flux(primary, figure):
    radius, turns, pitch = 0.055, 40, 0.009
    heights = pitch * (np.arange(turns) + 0.5)
    loops = primary.loops()
    linked = loop_sum_mutual(
        loops.radii, loops.heights, radii_b=np.full(turns, radius), heights_b=heights
    )
    L1 = primary_inductance(primary)
    L2 = loop_sum_inductance(np.full(turns, radius), heights, mean_distance=0.001)

    source = magpylib.Collection(
        *[
            magpylib.current.Circle(current=1.0, diameter=2 * a, position=(0, 0, z))
            for a, z in zip(loops.radii, loops.heights, strict=True)
        ]
    )
    points, weights = np.polynomial.legendre.leggauss(48)
    r = 0.5 * radius * (points + 1)
    where = np.stack(np.broadcast_arrays(r[None, :], 0.0, heights[:, None]), axis=-1)
    axial = magpylib.getB(source, where.reshape(-1, 3))[:, 2].reshape(turns, len(r))
    flux = float(np.sum(axial @ (math.pi * radius * weights * r)))

    figure(
        f"mutual inductance against flux, {primary.shape} primary",
        linked.sum() / flux - 1,
        limit="1e-6",
        source="flux through the loops with magpylib",
    )
    assert linked.sum() == pytest.approx(flux, rel=1e-6)
    assert coupling_coefficient(linked.sum(), L1, L2) == pytest.approx(
        flux / math.sqrt(L1 * L2), rel=1e-6
    )


def test_part_turn_weighs_its_share():
    whole = PrimaryGeometry(PrimaryShape.FLAT, WIRE, 0.075, 5.5, 0.012).loops()
    assert whole.weights.tolist() == [1, 1, 1, 1, 1, 0.5]
    assert whole.radii[-1] == pytest.approx(0.075 + 0.012 * 5.25)


@pytest.mark.parametrize("pitch", [0.004, 0.01, 0.03])
def test_half_a_turn_of_a_helix_lies_where_one_and_two_loops_put_it(pitch: float) -> None:
    """By Maxwell's loops: n of them have an inductance that goes as a power between 1 and 2."""
    radius, mean_distance = 0.085, 0.00125 * math.exp(-0.25)
    one = MU_0 * radius * (math.log(8.0 * radius / mean_distance) - 2.0)
    both = 2.0 * (one + float(loop_mutual_inductance(radius, radius, distance=pitch)))
    helix = PrimaryGeometry(PrimaryShape.HELICAL, WIRE, radius, 0.5, pitch)
    expected = one * 0.5 ** math.log2(both / one)
    assert primary_inductance(helix) == pytest.approx(expected, rel=0.01)
    whole = primary_inductance(replace(helix, turns=1.0))
    assert primary_inductance(replace(helix, turns=1.0 - 1e-9)) == pytest.approx(whole, rel=1e-8)


def test_half_a_turn_of_a_conductor_thicker_than_its_pitch_has_an_inductance() -> None:
    """Such turns would lie in each other, but there is only half of one."""
    thick = PrimaryConductor(ConductorKind.WIRE, diameter=0.028)
    half = PrimaryGeometry(PrimaryShape.HELICAL, thick, 3.0, 0.5, 1e-4)
    one = primary_inductance(replace(half, turns=1.0))
    assert primary_inductance(half) == pytest.approx(one / 4.0, rel=1e-9)
