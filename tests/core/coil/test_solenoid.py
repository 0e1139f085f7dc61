"""Who checks whom: current sheet by mpmath figures and by integrated loops; Rosa by exact sums of
mean distances and by loop sums; Wheeler by his formulas' published form and known errors.
"""

import math

import numpy as np
import pytest
from coil_formulas import wheeler_1928_inductance, wheeler_1982_inductance

from burstwise.core.coil.loops import loop_mutual_inductance, loop_sum_inductance
from burstwise.core.coil.solenoid import (
    nagaoka_coefficient,
    rosa_correction,
    rosa_mutual_correction,
    rosa_self_correction,
    sheet_inductance,
    solenoid_inductance,
)

ROUND = math.exp(-0.25)


def test_nagaoka_coefficient_matches_published_figures(reference):
    for row in reference("nagaoka"):
        value = float(nagaoka_coefficient(row["diameter_over_length"]))
        assert value == pytest.approx(row["coefficient"], rel=row["relative_tolerance"]), row["id"]


def test_nagaoka_coefficient_tends_to_one_for_a_long_sheet():
    # K = 1 - 4/(3 pi) d/l + ...
    assert float(nagaoka_coefficient(1e-6)) == pytest.approx(1 - 4e-6 / (3 * math.pi), abs=1e-12)


def test_rosa_self_correction(reference):
    for row in reference("rosa_self"):
        value = rosa_self_correction(0.5 * row["diameter_over_pitch"] * ROUND)
        assert value == pytest.approx(row["A"], abs=1e-9), row["id"]


def test_rosa_mutual_correction(reference):
    for row in reference("rosa_mutual"):
        turns = row["turns"] if math.isfinite(row["turns"]) else 1e12
        assert rosa_mutual_correction(turns) == pytest.approx(row["B"], abs=1e-8), row["id"]


def test_rosa_mutual_correction_is_smooth_in_part_turns():
    turns = np.linspace(1.0, 10.0, 181)
    values = np.array([rosa_mutual_correction(float(n)) for n in turns])
    assert np.all(np.diff(values) > -1e-5)
    assert np.max(np.abs(np.diff(values))) < 0.007


def test_sheet_and_round_wire_inductance(reference):
    for row in reference("solenoid"):
        diameter, turns, pitch = row["mean_diameter_m"], row["turns"], row["pitch_m"]
        sheet = float(sheet_inductance(diameter, turns * pitch, turns=turns))
        assert sheet == pytest.approx(row["sheet_H"], rel=1e-9), row["id"]
        if row["wire_diameter_m"] == "":
            continue
        g = 0.5 * row["wire_diameter_m"] * ROUND
        wire = solenoid_inductance(diameter, turns=turns, pitch=pitch, mean_distance=g)
        assert wire == pytest.approx(row["round_wire_H"], rel=1e-6), row["id"]
        heights = pitch * (np.arange(turns) + 0.5)
        loops = loop_sum_inductance(np.full(int(turns), 0.5 * diameter), heights, mean_distance=g)
        assert loops == pytest.approx(row["loop_sum_H"], rel=1e-8), row["id"]


def test_rosa_correction_equals_loops_less_sheet_for_a_fine_winding():
    radius, turns, pitch = 0.05, 100, 0.0005
    g = 0.5 * 0.0004 * ROUND
    heights = pitch * (np.arange(turns) + 0.5)
    loops = loop_sum_inductance(np.full(turns, radius), heights, mean_distance=g)
    sheet = float(sheet_inductance(2 * radius, turns * pitch, turns=turns))
    correction = rosa_correction(radius, turns=turns, pitch=pitch, mean_distance=g)
    assert sheet - loops == pytest.approx(correction, rel=5e-3)


def test_sheet_inductance_is_a_double_integral_of_loops():
    points, weights = np.polynomial.legendre.leggauss(60)
    radius, length, apart = 0.05, 0.03, 0.1
    z = 0.5 * length * points
    kernel = loop_mutual_inductance(radius, radius, distance=apart + z[:, None] - z[None, :])
    apart_sheets = 0.25 * weights @ kernel @ weights
    # Two sheets and the gap between them joined: the second difference of the whole.
    whole = [
        float(sheet_inductance(2 * radius, span, turns=span / length))
        for span in (apart + length, apart, apart - length)
    ]
    assert apart_sheets == pytest.approx(0.5 * (whole[0] - 2 * whole[1] + whole[2]), rel=1e-10)


def test_wheeler_1928(reference):
    for row in reference("wheeler"):
        radius, length = row["radius_inch"] * 0.0254, row["length_inch"] * 0.0254
        value = wheeler_1928_inductance(radius, length, turns=row["turns"])
        assert value * 1e6 == pytest.approx(row["inductance_uH"], rel=1e-9), row["id"]
        sheet = float(sheet_inductance(2 * radius, length, turns=row["turns"]))
        assert sheet * 1e6 == pytest.approx(row["sheet_uH"], rel=1e-9), row["id"]


def test_wheeler_errors_against_the_exact_sheet(reference):
    for row in reference("wheeler_error"):
        length = row["length_over_radius"]
        sheet = float(sheet_inductance(2.0, length, turns=1))
        old = wheeler_1928_inductance(1.0, length, turns=1) / sheet - 1
        new = wheeler_1982_inductance(1.0, length, turns=1) / sheet - 1
        assert old == pytest.approx(row["wheeler_1928"], abs=1e-9), row
        assert new == pytest.approx(row["wheeler_1982"], abs=1e-9), row


def test_wheeler_1928_extremes():
    spans = np.arange(0.8, 30.75, 0.05)
    errors = np.array(
        [
            wheeler_1928_inductance(1.0, float(x), turns=1)
            / float(sheet_inductance(2.0, float(x), turns=1))
            - 1
            for x in spans
        ]
    )
    # Extremes of the same error computed with mpmath: +0.0005617693 and -0.0058472554.
    assert errors[spans < 2].max() == pytest.approx(0.0005617692989, abs=1e-5)
    assert spans[np.argmax(np.where(spans < 2, errors, -1))] == pytest.approx(1.35)
    low = spans < 20
    assert errors[low].min() == pytest.approx(-0.005847255445, abs=1e-5)
