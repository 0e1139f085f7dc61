from __future__ import annotations

from dataclasses import replace

import pytest

from burstwise.app.wiring import design_job, new_design, summary_of
from burstwise.core.coil.resolve import coil_of
from burstwise.core.design.document import Design, with_value, with_values
from burstwise.core.evaluate import evaluate
from burstwise.core.evaluate.findings import _assumed_breakout
from burstwise.core.findings import Finding, Severity
from burstwise.core.storage import load
from burstwise.core.units import shown


@pytest.fixture(scope="module")
def results():
    return evaluate(new_design(), verify=False)


def test_a_new_design_works_under_a_name_of_its_own(results) -> None:
    assert new_design().name == "New design"
    assert results.carrier.oscillates
    assert not results.stopped


def test_a_new_design_enters_no_breakout_and_an_entered_one_is_told() -> None:
    """What is entered with one coil stays for the next, so it is told as long as it is in use."""
    assert new_design().coil.measured.breakout_voltage is None
    assert not _told_of_breakout(new_design())
    computed = coil_of(new_design()).breakout_voltage
    near = {"coil.measured.breakout_voltage": float(f"{0.9 * computed:.3g}")}
    (said,) = _told_of_breakout(with_values(new_design(), near))
    assert (said.code, said.severity) == ("breakout-assumed", Severity.NOTE)
    assert shown(near["coil.measured.breakout_voltage"], "V", digits=3) in said.text
    far = {"coil.measured.breakout_voltage": 0.5 * computed}
    (said,) = _told_of_breakout(with_values(new_design(), far))
    assert (said.code, said.severity) == ("breakout-needs-point", Severity.CAUTION)
    for aside in ({"coil.not_used": ("breakout_voltage",)},
                  {"calibration": {"breakout_voltage": 0.8 * computed}}):  # fmt: skip
        assert not _told_of_breakout(with_values(new_design(), {**near, **aside}))


def _told_of_breakout(design: Design) -> list[Finding]:
    return list(_assumed_breakout(design, coil_of(design)))


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
    assert summary.first_limit.endswith(f"({first.corner})")
    for margin, severity in ((0.5, None), (0.1, Severity.CAUTION)):
        alone = replace(results, limits=(replace(first, margin=margin), *results.limits[1:]))
        assert summary_of(alone).severity is severity
    over = replace(first, value=2.0 * first.limit, margin=-1.0)
    told = summary_of(replace(results, limits=(over, *results.limits[1:])))
    assert "too much, 100 %" in told.margin
    assert told.severity is Severity.STOP
    assert "drawn on" not in summary.now
    point = replace(results.operation, on_resistance=2.0 * float(results.table.resistances[-1]))
    hot = summary_of(replace(results, operation=point))
    assert hot.now.endswith("; heat of so hot a device drawn on, not computed")
    far = replace(first, value=15.23 * first.limit, margin=-14.23)
    told = summary_of(replace(results, limits=(far, *results.limits[1:])))
    assert told.margin.endswith("too much, 14 times the limit")
    endless = replace(first, value=float("inf"), margin=float("-inf"), unit="°C")
    told = summary_of(replace(results, limits=(endless, *results.limits[1:])))
    assert told.first_limit.startswith(f"{first.title} runs away")
    assert "better cooling" in told.margin


def test_a_stage_that_does_not_start_is_told_as_that() -> None:
    dead = evaluate(with_value(new_design(), "drive.feedback_sense", "reversed"), verify=False)
    summary = summary_of(dead)
    assert summary.severity is not None or dead.stopped
    assert dead.carrier.oscillates == summary.now.startswith("Oscillates")
    silent = replace(dead, carrier=replace(dead.carrier, oscillates=False))
    assert summary_of(silent).now.startswith("Does not oscillate")
    rounding = replace(
        silent,
        carrier=replace(
            silent.carrier,
            supply_current_mean=-5e-16,
            losses=dict.fromkeys(silent.carrier.losses, 1e-16),
        ),
    )
    assert summary_of(rounding).now == "Does not oscillate: next to nothing drawn"
