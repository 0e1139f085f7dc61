"""The quick picture against the full evaluation of the same design."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest

from burstwise.core.design.document import Design, with_value, with_values
from burstwise.core.evaluate import evaluate
from burstwise.core.evaluate.results import Results
from burstwise.core.storage import load
from burstwise.core.studies.quick import (
    known_corners,
    merged,
    near_table,
    quick,
    reaches,
    same_stage,
    warm_up_of,
)
from burstwise.core.studies.stage_table import StageTable, stage_table

EXAMPLES = Path(__file__).parents[3] / "resources" / "examples"
HIGHEST = 60.0


@pytest.fixture(scope="module")
def design() -> Design:
    return load(EXAMPLES / "classroom-gated-interrupted.burstwise")


@pytest.fixture(scope="module")
def full(design: Design) -> Results:
    return evaluate(design)


@pytest.fixture(scope="module")
def wide(design: Design) -> StageTable:
    return stage_table(design, HIGHEST)


def assert_close(found: Results, wanted: Results, *, within: float) -> None:
    for name in (
        "frequency",
        "input_power",
        "device_power",
        "drain_current_peak",
        "drain_current_rms",
        "drain_voltage_peak",
        "top_voltage_peak",
        "supply_current_mean",
    ):
        one, two = getattr(found.carrier, name), getattr(wanted.carrier, name)
        assert one == pytest.approx(two, rel=within), name
    assert found.average_power == pytest.approx(wanted.average_power, rel=within)
    rise = wanted.junction_peak - wanted.design.cooling.ambient
    assert found.junction_peak - wanted.junction_peak == pytest.approx(0.0, abs=within * rise)
    for name, power in wanted.carrier.losses.items():
        share = abs(found.carrier.losses[name] - power) / wanted.carrier.input_power
        assert share < within, name


@pytest.mark.parametrize(
    "change",
    [{}, {"interrupter.duty": 0.8}, {"interrupter.frequency": 900.0}, {"supply.voltage": 29}],
)
def test_quick_agrees_with_the_engine_run(design, wide, full, change) -> None:
    moved = with_values(design, change)
    wanted = evaluate(moved)
    found = quick(moved, merged(wide, near_table(full)))
    assert_close(found, wanted, within=0.02)
    margins = {limit.rating: limit.margin for limit in wanted.limits_as_designed}
    # The running stage has no current of a lost loop: a picture works that out as well.
    lost = {"lost_loop_current", "lost_loop_junction"}
    assert not lost & set(margins)
    margins |= {limit.rating: limit.margin for limit in wanted.limits if limit.rating in lost}
    assert lost < set(margins)
    assert {limit.rating for limit in found.limits} == set(margins)
    for limit in found.limits:
        assert limit.margin == pytest.approx(margins[limit.rating], abs=0.03), limit.rating
    assert [limit.margin for limit in found.limits] == sorted(
        limit.margin for limit in found.limits
    )


def test_a_drag_shows_the_corners_of_the_last_full_evaluation(design, wide, full) -> None:
    ready, corners = merged(wide, near_table(full)), known_corners(full)
    worst = {limit.rating: limit for limit in full.limits}
    for limit in quick(design, ready, corners=corners).limits:
        assert limit.margin == pytest.approx(worst[limit.rating].margin, abs=0.03), limit.rating
        assert limit.corner == worst[limit.rating].corner
    assert any(limit.corner == "no discharge" for limit in full.limits)
    near = with_values(design, {"supply.voltage": 1.05 * design.supply.voltage})
    wanted = {limit.rating: limit.margin for limit in evaluate(near, verify=False).limits}
    for limit in quick(near, ready, corners=corners).limits:
        assert limit.margin == pytest.approx(wanted[limit.rating], abs=0.06), limit.rating


def test_lines_set_into_a_wide_table_make_it_exact_at_their_point(design, wide, full) -> None:
    both = merged(wide, near_table(full))
    assert_close(quick(design, both), full, within=0.006)
    assert both.table.voltages[-1] == wide.table.voltages[-1]
    coarse, fine = quick(design, both).course, full.course
    assert 10 * len(coarse.time) < len(fine.time)
    assert coarse.time[-1] == pytest.approx(fine.time[-1])
    assert set(full.table.voltages.tolist()) <= set(both.table.voltages.tolist())
    assert np.all(np.diff(both.table.voltages) > 0)


def test_the_near_table_keeps_the_diode_slope_of_its_point(design, full) -> None:
    found = quick(design, near_table(full))
    assert full.load.diode_slope > 1e8
    # The table keeps one slope over the square of the supply: 1.2 % apart here.
    assert found.load.diode_slope == pytest.approx(full.load.diode_slope, rel=0.03)


def test_a_quick_picture_is_marked_as_one(design, wide) -> None:
    found = quick(design, wide)
    assert found.carrier.trace is None
    assert found.findings == ()
    assert found.design is design


def test_a_table_reaches_only_its_own_stage_and_supply(design, wide) -> None:
    assert reaches(wide, with_value(design, "supply.voltage", 58.0))
    assert reaches(wide, with_value(design, "interrupter.duty", 0.9))
    assert reaches(wide, with_value(design, "cooling.sink_resistance", 9.0))
    assert not reaches(wide, with_value(design, "supply.voltage", 90.0))
    assert not reaches(wide, with_value(design, "drive.feedback_sense", "reversed"))
    assert not reaches(wide, with_value(design, "coil.geometry.primary.turns", 7.0))


def test_a_rating_leaves_the_stage_as_it_is_and_a_threshold_does_not(design) -> None:
    assert same_stage(design, with_value(design, "device.junction_limit", 175.0))
    assert not same_stage(design, with_value(design, "device.threshold_voltage", 2.5))
    assert not same_stage(design, with_value(design, "device.hot_resistance_ratio", 2.0))


def test_warm_up_ends_where_the_steady_state_is(full) -> None:
    course = warm_up_of(full)
    assert course.heat_sink[0] == full.design.cooling.ambient
    assert course.heat_sink[-1] == pytest.approx(full.operation.heat_sink, abs=0.2)
    assert course.junction_peak[-1] == pytest.approx(full.junction_peak, abs=0.5)
    assert math.isfinite(course.time[-1])
