"""Corners: each is an evaluation of its own of a stage changed by hand; the worst one counts."""

from __future__ import annotations

import math
from collections.abc import Callable

import pytest
from corner_designs import (
    brute_force,
    by_hand,
    measured,
    scattered,
    worst_by_force,
)

from burstwise.core.design.document import Design, with_values
from burstwise.core.evaluate import evaluate
from burstwise.core.evaluate.corners import (
    LOADED_TOP,
    NO_DISCHARGE,
    SUPPLY_HIGH,
    corner_point,
    corners,
)
from burstwise.core.evaluate.results import Results
from burstwise.core.limits.checks import RATINGS
from burstwise.core.limits.load import Load

FIGURES = (
    "drain_voltage_peak", "gate_peak", "drain_current_peak", "drain_current_rms", "heat",
    "burst_heat", "source_current_peak", "fuse_current", "bulk_ripple",
)  # fmt: skip
FOR_EACH = ("classroom-gated-interrupted", "demonstration-gated-large")


@pytest.fixture(scope="module", params=FOR_EACH)
def coil_results(request: pytest.FixtureRequest, example: Callable[[str], Design]) -> Results:
    """Evaluated example, its coil by measured values so that a hand can change them."""
    return evaluate(measured(example(request.param)), verify=False)


def test_each_corner_is_the_evaluation_of_its_own_design(coil_results: Results) -> None:
    # The other way: a design whose fields say what the corner is, with a carrier table of its own.
    found = {item.corner.name: item for item in coil_results.corners}
    assert set(found) == {SUPPLY_HIGH, NO_DISCHARGE, LOADED_TOP}
    for name, item in found.items():
        wanted = evaluate(by_hand(coil_results.design, name), verify=False)
        for figure in FIGURES:
            assert getattr(item.load, figure) == pytest.approx(
                getattr(wanted.load, figure), rel=0.02
            ), (name, figure)
        for figure in ("junction_peak", "case"):
            rise = getattr(wanted.load, figure) - 25.0
            assert getattr(item.load, figure) - 25.0 == pytest.approx(rise, rel=0.04), (
                name,
                figure,
            )
        assert item.run.frequency == pytest.approx(wanted.carrier.frequency, rel=2e-3)


def test_the_worst_of_all_corners_stands_in_the_limits(coil_results: Results) -> None:
    design = coil_results.design
    loads: dict[str, Load] = {"as designed": coil_results.load}
    loads |= {item.corner.name: item.load for item in coil_results.corners}
    told = {item.rating: item for item in coil_results.limits}
    for rating in RATINGS:
        margins = {
            name: float(rating.figures(design, load)[2])
            for name, load in loads.items()
            if rating.fits(design, load)
        }
        if rating.name not in told or told[rating.name].corner not in loads:
            continue
        assert told[rating.name].margin == min(margins.values()), rating.name
        assert margins[told[rating.name].corner] == min(margins.values()), rating.name
    assert {item.corner for item in coil_results.limits} > {"as designed", NO_DISCHARGE}


def test_sentence_names_the_corner_and_as_designed_needs_no_word(coil_results: Results) -> None:
    for item in coil_results.limits:
        assert ("; worst " in item.text) is (item.corner != "as designed"), item.text
    drain = next(item for item in coil_results.limits if item.corner == NO_DISCHARGE)
    assert "worst without discharge, supply 5 % up" in drain.text


def test_without_tolerance_the_supply_has_no_corner(example: Callable[[str], Design]) -> None:
    design = with_values(example("classroom-gated-interrupted"), {"supply.tolerance": 0.0})
    results = evaluate(design, verify=False)
    assert [item.corner.name for item in results.corners] == [NO_DISCHARGE, LOADED_TOP]
    for item in results.corners:
        assert item.corner.design.supply.voltage == design.supply.voltage


def test_readings_without_discharge_at_the_supply_itself(example: Callable[[str], Design]) -> None:
    results = evaluate(example("classroom-gated-interrupted"), verify=False)
    quiet = corner_point(results.design, NO_DISCHARGE, results.table)
    assert quiet is not None
    wanted = evaluate(measured(results.design, breakout_voltage=3e6), verify=False)
    assert quiet.run.drain_voltage_peak == pytest.approx(
        wanted.carrier.drain_voltage_peak, rel=0.01
    )
    assert quiet.load.supply_current_mean == pytest.approx(
        wanted.load.supply_current_mean, rel=0.02
    )
    assert quiet.run.drain_voltage_peak > 1.5 * results.carrier.drain_voltage_peak


def test_a_discharge_that_is_not_reached_cannot_be_missing(
    example: Callable[[str], Design],
) -> None:
    design = with_values(example("classroom-gated-interrupted"), {"supply.voltage": 8.0})
    names = [item.corner.name for item in evaluate(design, verify=False).corners]
    assert names == [SUPPLY_HIGH, LOADED_TOP]


def test_a_stage_that_does_not_run_has_no_corners(example: Callable[[str], Design]) -> None:
    design = with_values(example("classroom-gated-interrupted"), {"drive.gated.driver_supply": 6.0})
    assert evaluate(design, verify=False).corners == ()


def test_corners_are_listed_with_the_design_that_belongs_to_them(
    example: Callable[[str], Design],
) -> None:
    results = evaluate(example("classroom-gated-interrupted"), verify=False)
    listed = {item.name: item for item in corners(results.design, results.coil)}
    assert listed[SUPPLY_HIGH].design.supply.voltage == pytest.approx(1.05 * 36.0)
    assert math.isinf(listed[NO_DISCHARGE].coil.breakout_voltage)
    assert listed[LOADED_TOP].coil.secondary_capacitance == pytest.approx(
        1.05 * results.coil.secondary_capacitance
    )


@pytest.mark.parametrize("seed", [3, pytest.param(11, marks=pytest.mark.slow)])
def test_worst_corner_against_brute_force(
    coil_results: Results, seed: int, figure: Callable[..., None]
) -> None:
    # tests/benchmarks/bench_corners.py does the same for as many designs as are asked for.
    design = scattered(coil_results.design, seed)
    results, forced = evaluate(design, verify=False), brute_force(design)
    running = [item for item in results.limits if item.corner != "lost loop"]
    margins = [worst_by_force(forced, item.rating)[1] for item in running]
    apart = [
        abs(item.margin - margin) / max(1.0 - margin, 0.2)
        for item, margin in zip(running, margins, strict=True)
    ]
    figure(
        f"worst corner of {design.name}, seed {seed}",
        max(apart),
        limit="0.05",
        source="an evaluation of each corner by itself",
    )
    assert max(apart) < 0.05
    assert running[0].margin == pytest.approx(min(margins), abs=0.02)
