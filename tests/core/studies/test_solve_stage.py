"""Primary turns for a wanted current, checked by a full evaluation of the edited design."""

import json
from importlib import resources

import pytest

from burstwise.core.design.document import design_from, with_value, with_values
from burstwise.core.errors import InputError
from burstwise.core.evaluate.evaluation import evaluate
from burstwise.core.studies.solve_stage import StageCurrent, primary_turns_for_current


@pytest.fixture(scope="module")
def design():
    file = (
        resources.files("burstwise.resources")
        / "examples"
        / "classroom-direct-continuous.burstwise"
    )
    return design_from(json.loads(file.read_text(encoding="utf-8")))


def test_the_edited_design_draws_what_is_wanted(design):
    now = evaluate(design, verify=False).carrier.supply_current_mean
    found = primary_turns_for_current(
        design, 0.8 * now, StageCurrent.SUPPLY_MEAN, low=5.0, high=9.0
    )
    edited = with_values(design, {edit.path: edit.value for edit in found.edits})
    got = evaluate(edited, verify=False).carrier.supply_current_mean
    assert got == pytest.approx(0.8 * now, rel=0.1)
    assert found.reached == pytest.approx(got, rel=1e-6)
    assert found.now == pytest.approx(now, rel=1e-6)
    assert found.edits[0].path == "coil.geometry.primary.turns"


def test_a_current_out_of_reach_names_the_reach(design):
    with pytest.raises(InputError, match=r"drain current, peak must be between .* can reach"):
        primary_turns_for_current(design, 500.0, StageCurrent.DRAIN_PEAK, low=5.0, high=7.0)


def test_what_hides_the_turns_is_refused_before_any_run(design):
    hidden = with_value(design, "coil.measured.primary_inductance", 3e-6)
    with pytest.raises(InputError, match=r"coil\.measured\.primary_inductance must be switched"):
        primary_turns_for_current(hidden, 1.0, StageCurrent.SUPPLY_MEAN)
    with pytest.raises(InputError, match="above 0 A"):
        primary_turns_for_current(design, float("nan"), StageCurrent.SUPPLY_MEAN)


def test_it_stops_when_told(design):
    calls = []

    def check():
        calls.append(len(calls))
        if len(calls) == 2:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        primary_turns_for_current(design, 0.5, StageCurrent.SUPPLY_MEAN, check=check)
    assert len(calls) == 2
