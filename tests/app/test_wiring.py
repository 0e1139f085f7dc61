from __future__ import annotations

from dataclasses import replace

import pytest

from app.wiring import design_job, new_design, summary_of
from core.design.document import with_value, with_values
from core.evaluate import evaluate
from core.findings import Severity
from core.storage import load


@pytest.fixture(scope="module")
def results():
    return evaluate(new_design(), verify=False)


def test_a_new_design_works_under_a_name_of_its_own(results) -> None:
    assert new_design().name == "New design"
    assert results.carrier.oscillates
    assert not results.stopped


def test_a_new_design_says_that_its_breakout_is_assumed(results) -> None:
    """A voltage is entered in the example it starts from, and stays for the user's own coil."""
    (said,) = [f for f in results.findings if f.code == "breakout-assumed"]
    assert said.severity is Severity.NOTE
    entered = new_design().coil.measured.breakout_voltage
    assert entered == 9e3
    assert "9 kV" in said.text
    larger = with_values(new_design(), {"coil.geometry.top_load.diameter": 0.05})
    other = evaluate(larger, verify=False)
    (still,) = [f for f in other.findings if f.code == "breakout-assumed"]
    assert "9 kV" in still.text
    assert still.text != said.text  # the geometry's own voltage moved
    freed = with_values(new_design(), {"coil.not_used": ("breakout_voltage",)})
    fitted = with_values(new_design(), {"calibration": {"breakout_voltage": 8e3}})
    for design in (freed, fitted):
        codes = {f.code for f in evaluate(design, verify=False).findings}
        assert "breakout-assumed" not in codes


def test_examples_are_listed_by_the_name_in_them() -> None:
    examples = design_job().examples()
    assert len(examples) >= 4
    for title, file in examples.items():
        assert load(file).name == title


def test_a_design_survives_text_and_back() -> None:
    job = design_job()
    design = job.with_values(job.new(), {"supply.voltage": "41 V"})
    assert job.from_text(job.to_text(design)) == design


def test_the_strip_says_what_happens_and_how_far_the_first_limit_is(results) -> None:
    summary = summary_of(results)
    assert "Oscillates at 941" in summary.now
    assert "W on average" in summary.now
    first = results.first_limit
    assert summary.first_limit.startswith(first.title)
    assert "in hand" in summary.margin
    assert summary.severity is None
    over = replace(first, value=2.0 * first.limit, margin=-1.0)
    told = summary_of(replace(results, limits=(over, *results.limits[1:])))
    assert "too much, 100 %" in told.margin
    assert told.severity is Severity.STOP
    far = replace(first, value=15.23 * first.limit, margin=-14.23)
    told = summary_of(replace(results, limits=(far, *results.limits[1:])))
    assert told.margin.endswith("too much, 14 times the limit")
    endless = replace(first, value=float("inf"), margin=float("-inf"), unit="°C")
    told = summary_of(replace(results, limits=(endless, *results.limits[1:])))
    assert told.first_limit.endswith("runs away")
    assert "better cooling" in told.margin


def test_a_stage_that_does_not_start_is_told_as_that() -> None:
    dead = evaluate(with_value(new_design(), "drive.feedback_sense", "reversed"), verify=False)
    summary = summary_of(dead)
    assert summary.severity is not None or dead.stopped
    assert dead.carrier.oscillates == summary.now.startswith("Oscillates")
    silent = replace(dead, carrier=replace(dead.carrier, oscillates=False))
    assert summary_of(silent).now.startswith("Does not oscillate")
