"""Field at a breakout point: the closed form against charges on a sphere with a rod."""

from __future__ import annotations

import math
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from scipy.special import ellipk

from burstwise.core.coil.breakout import (
    BreakoutPoint,
    Electrode,
    peek_gradient,
    point_breakout,
    post_field_ratio,
)
from burstwise.core.coil.resolve import coil_of
from burstwise.core.design.document import Design, with_values
from burstwise.core.errors import InputError
from burstwise.core.evaluate import evaluate
from burstwise.core.storage import load

EXAMPLES = Path(__file__).parents[3] / "resources" / "examples"
BALLS = [
    (0.02, 0.02, 0.3e-3), (0.02, 0.02, 1e-3), (0.02, 0.01, 0.5e-3),
    (0.02, 0.05, 1e-3), (0.05, 0.03, 0.5e-3), (0.05, 0.02, 2e-3),
]  # fmt: skip


def classroom() -> Design:
    return load(EXAMPLES / "classroom-gated-interrupted.burstwise")


def outline(ball: float, height: float, tip: float) -> np.ndarray:
    """Points (radius, height) along a sphere with a rod on top, closer where the field is high."""
    angle = math.asin(tip / ball)
    fine = 1.0 - (1.0 - np.linspace(0.0, 1.0, 121)) ** 2.2
    angles = math.pi - (math.pi - angle) * fine
    sphere = np.c_[ball * np.sin(angles), ball * np.cos(angles)]
    foot, shoulder = ball * math.cos(angle), ball + height - tip
    heights = foot + (shoulder - foot) * (1.0 - (1.0 - np.linspace(0.0, 1.0, 161)) ** 2.5)
    rod = np.c_[np.full(161, tip), heights]
    round_end = np.linspace(0.5 * math.pi, 0.0, 61)
    cap = np.c_[tip * np.sin(round_end), shoulder + tip * np.cos(round_end)]
    return np.r_[sphere, rod[1:], cap[1:]]


def field_at_the_tip(ball: float, height: float, tip: float) -> float:
    """Field at the tip per volt [1/m], from rings of charge that hold the surface at 1 V.

    The potential of a ring of charge is in any book on potentials (complete elliptic integral of
    the first kind); a ring's own is that of a thin band.
    """
    points = outline(ball, height, tip)
    ends = points[1:], points[:-1]
    length = np.hypot(*(ends[0] - ends[1]).T)
    middle = 0.5 * (ends[0] + ends[1])
    radius, place = middle[:, :1], middle[:, 1:]
    nodes, weights = np.polynomial.legendre.leggauss(6)
    potential = np.zeros((len(middle), len(middle)))
    for node, weight in zip(nodes, weights, strict=True):
        source = ends[1] + 0.5 * (1.0 + node) * (ends[0] - ends[1])
        far = (radius + source[:, 0]) ** 2 + (place - source[:, 1]) ** 2
        potential += weight * ellipk(4 * radius * source[:, 0] / far) / np.sqrt(far) / np.pi
    own = (np.log(16.0 * middle[:, 0] / length) + 1.0) / (np.pi * middle[:, 0])
    thin = length < middle[:, 0]
    potential[thin, thin] = own[thin]
    charge = np.linalg.solve(potential, np.ones(len(middle)))
    density = charge / (2.0 * np.pi * middle[:, 0] * length)
    return float(4.0 * np.pi * density[-4:].mean())


def test_charges_know_the_bare_sphere() -> None:
    # A rod that is hardly there: the field far from it is that of the sphere, 1/R.
    assert field_at_the_tip(0.05, 0.005, 1e-3) > 1.0 / 0.05
    points = outline(0.05, 0.005, 1e-3)
    assert np.hypot(points[0, 0], points[0, 1]) == pytest.approx(0.05)


@pytest.mark.parametrize(("ball", "height", "tip"), BALLS)
def test_field_at_the_tip_against_charges(
    ball: float, height: float, tip: float, figure: Callable[..., None]
) -> None:
    point = BreakoutPoint(tip, height)
    onset = peek_gradient(tip, electrode=Electrode.SPHERE)
    told = onset / point_breakout(point, surface_field=1.0 / ball)
    apart = told / field_at_the_tip(ball, height, tip) - 1.0
    figure(
        f"field at a point of {1e3 * tip:g} mm, {1e3 * height:g} mm high, on a ball of "
        f"{1e3 * ball:g} mm radius",
        apart,
        limit="0 to +0.2",
        source="charges on rings, elliptic integral",
    )
    assert 0.0 < apart < 0.20


def test_ratio_is_that_of_the_fit() -> None:
    # Edgcombe and Valdre (from memory); a hemisphere alone has 3 (any book on potentials), which
    # lies outside of the fit's range and 12 % below it.
    assert post_field_ratio(100.0) == pytest.approx(77.16, rel=1e-3)
    assert post_field_ratio(1.0) == pytest.approx(3.0, rel=0.15)


def test_sharper_and_longer_points_break_out_earlier() -> None:
    base = point_breakout(BreakoutPoint(0.5e-3, 0.02), surface_field=45.0)
    assert point_breakout(BreakoutPoint(0.3e-3, 0.02), surface_field=45.0) < base
    assert point_breakout(BreakoutPoint(0.5e-3, 0.03), surface_field=45.0) < base
    assert point_breakout(BreakoutPoint(0.5e-3, 0.02), surface_field=45.0, density=0.8) < base


@pytest.mark.parametrize(("tip", "height"), [(1e-3, 3e-3), (0.1e-3, 0.4)])
def test_shapes_beyond_the_law_are_refused(tip: float, height: float) -> None:
    with pytest.raises(InputError, match=r"coil\.top_load\.point"):
        BreakoutPoint(tip, height)


def test_a_point_is_a_part_that_lowers_the_breakout() -> None:
    fitted = classroom()
    bare = with_values(fitted, {"coil.geometry.top_load.point_fitted": False})
    with_point, without = (evaluate(design, verify=False) for design in (fitted, bare))
    assert with_point.coil.breakout_voltage == pytest.approx(9.0e3, rel=0.02)
    assert without.coil.breakout_voltage == pytest.approx(74.5e3, rel=0.01)
    assert with_point.coil.secondary_capacitance == without.coil.secondary_capacitance
    assert "no-breakout" in {item.code for item in without.findings}
    assert "no-breakout" not in {item.code for item in with_point.findings}


def test_a_blunt_point_on_a_rough_top_load_changes_nothing() -> None:
    values = {
        "coil.geometry.top_load.roughness": 0.2,
        "coil.geometry.top_load.point_tip_radius": 1e-3,
        "coil.geometry.top_load.point_height": 0.01,
    }
    constants = evaluate(with_values(classroom(), values), verify=False).coil.constants
    assert constants is not None
    assert constants.breakout_voltage == constants.smooth_breakout_voltage


def test_an_assumed_breakout_far_below_what_the_parts_do_is_told() -> None:
    values = {
        "coil.geometry.top_load.point_fitted": False,
        "coil.measured.breakout_voltage": 9e3,
    }
    old = evaluate(with_values(classroom(), values), verify=False)
    told = next(item for item in old.findings if item.code == "breakout-needs-point")
    assert "74.5 kV" in told.text
    assert "9 kV" in told.text
    assert old.coil.breakout_voltage == 9e3
    values["coil.geometry.top_load.point_fitted"] = True
    new = evaluate(with_values(classroom(), values), verify=False)
    assert "breakout-needs-point" not in {item.code for item in new.findings}


def test_findings_of_the_gap_are_those_at_the_voltage_that_the_point_lets_stand() -> None:
    """With a point the top stays far below the 74 kV of a smooth one, and so does the gap."""
    design = load(EXAMPLES / "classroom-gated-interrupted.burstwise")
    wound = with_values(design, {"coil.geometry.primary.turns": 8})
    smooth = with_values(wound, {"coil.geometry.top_load.point_fitted": False})
    assert "flashover" not in {item.code for item in coil_of(wound).findings}
    assert "flashover" in {item.code for item in coil_of(smooth).findings}
