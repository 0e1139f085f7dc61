"""Every number's arithmetic gives the number; equations are written as they are computed."""

from __future__ import annotations

import math
import re
from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest

from burstwise.core.design.document import with_values
from burstwise.core.errors import InputError
from burstwise.core.evaluate import evaluate, results_object
from burstwise.core.evaluate.result_rows import RESULT_ROWS, result_value
from burstwise.core.evaluate.results import Results
from burstwise.core.explain.explain import explain, explained_paths
from burstwise.core.explain.explanation import Explanation, Term, arithmetic, term_influences
from burstwise.core.storage import load
from burstwise.core.units import shown

EXAMPLES = Path(__file__).parents[3] / "resources" / "examples"
CASES = {
    **{file.stem: (file.stem, {}) for file in sorted(EXAMPLES.glob("*.burstwise"))},
    "reservoir": ("classroom-gated-interrupted", {"protection.reservoir_clamp": {}}),
    "loop": (
        "classroom-gated-interrupted",
        {
            "coil.lead_inductance": 3e-7,
            "drive.source_inductance": 8e-9,
            "drive.gated.slow_slew": 1e8,
            "drive.gated.slow_delay": 2e-7,
        },
    ),
    "silent": ("classroom-gated-interrupted", {"drive.gated.undervoltage_lockout": 20.0}),
}


@cache
def evaluated(case: str) -> Results:
    name, changes = CASES[case]
    return evaluate(with_values(load(EXAMPLES / f"{name}.burstwise"), changes), verify=False)


@pytest.fixture(params=CASES)
def results(request: pytest.FixtureRequest) -> Results:
    return evaluated(request.param)


def test_every_result_of_the_screens_and_every_limit_has_an_explanation(results: Results) -> None:
    paths = explained_paths(results)
    assert {row.path for row in RESULT_ROWS} <= set(paths)
    assert sum(path.startswith("limits.") for path in paths) == len(results.limits)


def test_arithmetic_gives_the_number_that_is_shown(results: Results) -> None:
    known = results_object(results)
    units = {row.path: row.unit for row in RESULT_ROWS}
    computed = 0
    for path in explained_paths(results):
        found = explain(results, path)
        if path in units:
            number = result_value(known, path)
            assert found.unit == units[path]
        else:
            rating = path.partition(".")[2]
            number = next(x.margin for x in results.limits if x.rating == rating)
        if found.value is None:
            assert found.expression == ""
            assert found.words or found.result_text
            continue
        assert found.value == number
        assert found.evaluated() == pytest.approx(number, rel=1e-9, abs=1e-12), path
        # Four shown digits of the result are also those of the arithmetic.
        if abs(found.value) > 1e-9:
            assert shown(found.evaluated(), found.unit) == found.result_text
        computed += 1
    assert computed > 25


def test_a_junction_that_runs_away_has_no_ripple_to_explain() -> None:
    found = evaluated("classroom-gated-interrupted")
    away = dict.fromkeys(("junction_mean", "junction_peak", "junction_valley"), math.inf)
    hot = replace(found, operation=replace(found.operation, **away))
    for path in ("thermal.junction_ripple_K", "thermal.junction_peak_C"):
        told = explain(hot, path)
        assert (told.value, told.expression, told.result_text) == (None, "", "does not exist")


def test_every_explanation_names_source_and_validity(results: Results) -> None:
    for path in explained_paths(results):
        found = explain(results, path)
        assert found.source
        assert found.validity
        for term in found.terms:
            assert math.isfinite(term.value), (path, term)
            assert re.search(rf"\b{term.symbol}\b", found.expression)


def test_values_stand_in_the_written_equation() -> None:
    found = explain(evaluated("classroom-gated-interrupted"), "thermal.junction_mean_C")
    assert found.equation == "Ta + P · (Rjc + Rcs + Rsa)"
    assert found.with_values.startswith("25 °C + ")
    assert all(shown(term.value, term.unit) in found.with_values for term in found.terms)


def test_junction_peak_uses_the_networks_own_impedance_of_a_step_when_slow() -> None:
    results = evaluated("classroom-direct-continuous")
    found = explain(results, "thermal.junction_peak_C")
    impedance = next(term for term in found.terms if term.symbol == "Z_p")
    assert impedance.value == pytest.approx(results.path.network.total, rel=1e-12)


def test_influence_of_the_supply_is_that_of_an_evaluation_beside_it() -> None:
    results = evaluated("classroom-gated-interrupted")
    found = explain(results, "carrier.input_power_W")
    supply = next(i for i in found.influences if i.name == "supply voltage")
    design = with_values(results.design, {"supply.voltage": results.design.supply.voltage * 0.98})
    lower = evaluate(design, verify=False).carrier.input_power
    measured = (1.0 - lower / results.carrier.input_power) / 0.02
    # The resonant stage with breakout follows the supply by more than its square.
    assert supply.percent == pytest.approx(measured, rel=0.15)
    assert 1.5 < supply.percent < 4.0


def test_influence_is_the_exponent_of_a_power_law() -> None:
    terms = [Term("a", "a", 3.0, ""), Term("b", "b", 7.0, "")]
    found = {item.name: item.percent for item in term_influences("a**3/sqrt(b)", terms)}
    assert found == pytest.approx({"a": 3.0, "b": -0.5}, abs=1e-5)


@pytest.mark.parametrize(
    ("expression", "written"),
    [
        ("a - (b - c)", "a − (b − c)"),
        ("a/(b*c)", "a / (b · c)"),
        ("(a + b)**2", "(a + b)^2"),
        ("sqrt(a**2 + b**2)", "√(a^2 + b^2)"),
    ],
)
def test_brackets_are_kept_where_they_are_needed(expression: str, written: str) -> None:
    made = Explanation("p", "t", 1.0, "", expression, (), "", "s", "v", ())
    assert made.equation == written


def test_nothing_but_arithmetic_is_computed() -> None:
    with pytest.raises(ValueError, match="not plain arithmetic"):
        arithmetic("[1, 2]", {})


def test_an_unknown_number_is_refused() -> None:
    with pytest.raises(InputError):
        explain(evaluated("silent"), "carrier.colour")
