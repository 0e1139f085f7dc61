"""Random builds: the response against engine runs, the chance against evaluating builds."""

from __future__ import annotations

from dataclasses import replace
from math import nan

import numpy as np
import pytest
from builds_by_hand import given_by_values, numbered

from burstwise.core.design.document import with_value
from burstwise.core.evaluate import evaluate
from burstwise.core.search import Objective, Wish
from burstwise.core.search.tolerance import Tolerance, tolerance
from burstwise.core.stage.carrier import carrier
from burstwise.core.stopping import StoppedError
from burstwise.core.studies import response
from burstwise.core.studies.bands import bands, scattered_stage
from burstwise.core.studies.chance import LINES, build_margins, chance, stage_response
from burstwise.core.studies.response import FewStartError
from burstwise.core.studies.spread import SPREADS, draws
from burstwise.core.studies.stage_table import stage_table

CHECKED = 10


@pytest.fixture(scope="module")
def measured(interrupted):
    return evaluate(given_by_values(interrupted), verify=False)


@pytest.fixture(scope="module")
def outcome(measured):
    return chance(measured)


@pytest.mark.parametrize("count", [28, 29])
def test_a_surface_takes_more_builds_that_start_than_it_has_terms(measured, monkeypatch, count):
    """Six inputs have 1 + 6 + 21 terms; through so many runs it goes whatever they are."""
    seen = iter(range(1000))

    def some(circuit, **options):
        run = carrier(circuit, **options)
        return run if next(seen) <= count else replace(run, oscillates=False)

    monkeypatch.setattr(response, "carrier", some)
    ready = stage_table(measured.design, 1.1 * measured.design.supply.voltage, lines=LINES,
                        refine=0)  # fmt: skip
    if count == 29:
        assert stage_response(measured, ready, SPREADS).starts == 29 / 64
        return
    with pytest.raises(FewStartError, match="at least 29 of 64 that start; instead received 28"):
        stage_response(measured, ready, SPREADS)


def test_a_design_that_does_not_oscillate_has_no_chance_and_no_bands(measured, monkeypatch):
    silent = evaluate(with_value(measured.design, "supply.voltage", 1.0), verify=False)
    assert not silent.carrier.oscillates
    monkeypatch.setattr(response, "carrier", None)  # no engine run is made for it
    with pytest.raises(FewStartError, match="of a design that oscillates"):
        chance(silent)
    assert bands(silent, scattered_stage(silent)) is None
    assert tolerance(silent, Wish(Objective("burst.top_voltage_reached_V", highest=True))) == (
        Tolerance(1000, nan, nan, 0.0, nan, nan, ())
    )


@pytest.mark.slow
def test_margins_of_builds_against_evaluating_them(measured, figure):
    numbers = draws(CHECKED, seed=11)
    ready = stage_table(measured.design, 1.1 * measured.design.supply.voltage, lines=LINES,
                        refine=0)  # fmt: skip
    found = stage_response(measured, ready, SPREADS)
    quick = build_margins(measured.design, ready, found, numbers, SPREADS)
    errors = []
    for place in range(CHECKED):
        alone = evaluate(numbered(measured.design, numbers, place), verify=False)
        true = {item.rating: item.margin for item in alone.limits_as_designed}
        for name in ("drain_voltage", "junction_peak", "continuous_current", "pulsed_current",
                     "supply_current", "bulk_ripple", "gate_voltage"):  # fmt: skip
            errors.append(abs(float(quick.of(name)[place]) - true[name]))
    figure("margins of random builds, median", float(np.median(errors)), limit="0.02",
           source="evaluating the builds")  # fmt: skip
    figure("margins of random builds, worst", max(errors), limit="0.10",
           source="evaluating the builds")  # fmt: skip
    assert np.median(errors) < 0.02
    assert max(errors) < 0.10


def test_a_design_with_room_holds(outcome):
    assert outcome.builds == 1000
    assert outcome.all_hold > 0.98
    assert outcome.starts == 1.0
    assert 0.0 < outcome.response_error < 0.25


def test_every_margin_in_its_band(measured, outcome):
    nominal = {item.rating: item.margin for item in measured.limits_as_designed}
    for item in outcome.ratings:
        assert item.low <= item.middle <= item.high
        assert item.middle == pytest.approx(nominal[item.rating], abs=0.06), item.rating


def test_fixed_ratings_do_not_scatter_and_supply_decides_the_bulk(outcome):
    by_name = {item.rating: item for item in outcome.ratings}
    assert by_name["bulk_voltage"].inputs[0][0] == "Supply voltage"
    assert by_name["driver_current"].inputs == ()
    assert by_name["bulk_voltage"].inputs[0][1] > 0.9


def test_a_doomed_design_does_not(spiking):
    found = chance(spiking, builds=200)
    assert found.all_hold < 0.02
    assert found.ratings[0].rating == "drain_voltage"


def test_same_seed_same_builds():
    numbers, again = draws(50, seed=1), draws(50, seed=1)
    assert all((numbers[name] == again[name]).all() for name in numbers)
    assert (draws(50, seed=2)["coupling"] != numbers["coupling"]).any()


def test_stops_when_told(measured):
    with pytest.raises(StoppedError):
        chance(measured, ask=lambda share: False)
