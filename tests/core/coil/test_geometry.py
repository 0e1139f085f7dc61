"""Bad geometry is refused on its own field; positions follow the stated conventions."""

import math
from dataclasses import replace

import numpy as np
import pytest

from burstwise.core.coil.clearance import check_primary_position, primary_gaps
from burstwise.core.coil.geometry import (
    ConductorKind,
    PrimaryConductor,
    PrimaryGeometry,
    PrimaryShape,
    SecondaryGeometry,
    TopLoad,
    TopLoadKind,
)
from burstwise.core.coil.summary import coil_constants
from burstwise.core.errors import InputError

WIRE = PrimaryConductor(ConductorKind.WIRE, diameter=0.0025)


def refused(field: str):
    return pytest.raises(InputError, match=rf"^coil\.{field.replace('.', chr(92) + '.')} must be")


@pytest.mark.parametrize(
    ("field", "value"),
    [("overall_diameter", 0.06), ("turns", 1.0), ("turns", math.inf), ("turns", 2e4 + 1)],
)
def test_bad_secondary(example, field, value):
    with refused(f"secondary.{field}"):
        replace(example.secondary, **{field: value})


def test_absurd_length_is_refused_at_the_turns():
    with refused("secondary.turns"):
        SecondaryGeometry(0.5, 0.01, 0.02, 2000)


@pytest.mark.parametrize(
    ("field", "value"), [("inner_radius", 0.002), ("pitch", 0.002), ("tap", 9.0)]
)
def test_bad_primary(example, field, value):
    with refused(f"primary.{field}"):
        replace(example.primary, **{field: value})


@pytest.mark.parametrize(
    ("kwargs", "field"),
    [
        ({"kind": ConductorKind.TUBE, "diameter": 0.01}, "wall"),
        ({"kind": ConductorKind.TUBE, "diameter": 0.01, "wall": 0.006}, "wall"),
        ({"kind": ConductorKind.STRIP, "width": 0.01, "thickness": 0.02}, "thickness"),
    ],
)
def test_bad_conductor(kwargs, field):
    with refused(f"primary.conductor.{field}"):
        PrimaryConductor(**kwargs)


@pytest.mark.parametrize(
    ("kwargs", "field"),
    [
        ({"kind": TopLoadKind.TOROID, "diameter": 0.2, "thickness": 0.11}, "thickness"),
        ({"kind": TopLoadKind.DISC, "diameter": 0.2, "thickness": 0.0}, "thickness"),
    ],
)
def test_bad_top_load(kwargs, field):
    with refused(f"top_load.{field}"):
        TopLoad(**kwargs)


def test_primary_may_not_cut_the_secondary(example):
    with refused("primary.inner_radius"):
        coil_constants(
            replace(example.primary, inner_radius=0.05),
            example.secondary,
            example.top_load,
            base_height=0.1,
        )


def test_unused_turns_of_a_flat_primary_count_for_clearance(example):
    inside = PrimaryGeometry(PrimaryShape.FLAT, WIRE, 0.02, 8, 0.01, start_height=0.1, tap=2)
    with refused("primary.inner_radius"):
        check_primary_position(inside, example.secondary, example.top_load, base_height=0.1)


def test_primary_may_not_cut_earth_or_top_load(example):
    low = replace(example.primary, start_height=-0.11)
    with refused("primary.start_height"):
        check_primary_position(low, example.secondary, example.top_load, base_height=0.1)
    high = replace(example.primary, start_height=0.38)
    with refused("primary.start_height"):
        check_primary_position(high, example.secondary, example.top_load, base_height=0.1)
    ball = TopLoad(TopLoadKind.SPHERE, 0.2, centre_height=0.15)
    with refused("primary.start_height"):
        check_primary_position(high, example.secondary, ball, base_height=0.1)
    disc = TopLoad(TopLoadKind.DISC, 0.3, 0.01, centre_height=0.05)
    with refused("primary.start_height"):
        check_primary_position(high, example.secondary, disc, base_height=0.1)


def test_loops_sit_half_a_pitch_from_the_start():
    helix = PrimaryGeometry(PrimaryShape.HELICAL, WIRE, 0.08, 3, 0.01, start_height=-0.02).loops()
    np.testing.assert_allclose(helix.radii, 0.08)
    np.testing.assert_allclose(helix.heights, [-0.015, -0.005, 0.005])
    flat = PrimaryGeometry(PrimaryShape.FLAT, WIRE, 0.08, 2, 0.01).loops()
    np.testing.assert_allclose(flat.radii, [0.085, 0.095])
    np.testing.assert_allclose(flat.heights, 0.0)
    cone = PrimaryGeometry(
        PrimaryShape.CONICAL, WIRE, 0.08, 1, 0.01, cone_angle=math.radians(60)
    ).loops()
    np.testing.assert_allclose(cone.radii, 0.08 + 0.0025)
    np.testing.assert_allclose(cone.heights, 0.005 * math.sin(math.radians(60)))


def test_strip_lies_along_the_windings_surface():
    strip = PrimaryConductor(ConductorKind.STRIP, width=0.02, thickness=0.001)
    helix = PrimaryGeometry(PrimaryShape.HELICAL, strip, 0.1, 3, 0.03)
    flat = PrimaryGeometry(PrimaryShape.FLAT, strip, 0.1, 3, 0.03)
    assert (helix.half_width, helix.half_height) == pytest.approx((0.0005, 0.01))
    assert (flat.half_width, flat.half_height) == pytest.approx((0.01, 0.0005))


def test_gap_below_the_winding_is_vertical():
    coil = SecondaryGeometry(0.2, 0.0003, 0.00036, 1000)
    inside = PrimaryGeometry(PrimaryShape.FLAT, WIRE, 0.05, 1, 0.01, start_height=-0.03)
    assert primary_gaps(inside, coil).smallest == pytest.approx(0.03 - 0.00125)
