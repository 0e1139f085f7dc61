"""What scatter does to a design that was found, against the normal distribution and by hand."""

from __future__ import annotations

import json
from typing import Any, cast

import numpy as np
import pytest
from scipy.stats import norm

from burstwise.core.errors import InputError
from burstwise.core.evaluate.results import Results
from burstwise.core.limits.rating import Limit
from burstwise.core.limits.ratings import Margins
from burstwise.core.search import Keep, Objective, Wish, report, tolerance
from burstwise.core.search.tolerance import Tolerance, check_builds
from burstwise.core.studies.chance import Builds
from burstwise.core.studies.quick import CornerShare, KnownCorners
from burstwise.core.studies.response import FewStartError
from burstwise.core.studies.spread import draws

BUILDS = 20_000
TOP = Objective("burst.top_voltage_reached_V", highest=True)


class _Response:
    starts = 0.9


def told(monkeypatch: pytest.MonkeyPatch, wish: Wish, corners: KnownCorners) -> Tolerance:
    """A drain whose margin is 30 % with a scatter of 10 % by coupling, a junction with 50 %."""

    def builds(_results: object, *, builds: int, seed: int, ask: object) -> Builds:
        numbers = draws(builds, seed=seed)
        drain = 0.3 + 0.1 * numbers["coupling"]
        margins = Margins(("drain", "junction"), np.stack([drain, np.full(builds, 0.5)]))
        return Builds(numbers, margins, cast(Any, _Response()))

    monkeypatch.setattr(tolerance, "random_builds", builds)
    monkeypatch.setattr(tolerance, "known_corners", lambda _results: corners)
    return tolerance.tolerance(cast(Results, None), wish, builds=BUILDS)


def test_shares_are_those_of_the_normal_distribution(monkeypatch: pytest.MonkeyPatch) -> None:
    found = told(monkeypatch, Wish(TOP, (Keep("margin", 0.2),)), KnownCorners())
    # Three standard deviations to nothing, one to 20 %; numbers are cut off at three.
    assert found.holds == pytest.approx(1.0, abs=2e-3)
    assert found.keeps == pytest.approx(norm.cdf(1.0), abs=0.01)
    assert found.low == pytest.approx(0.3 + 0.1 * norm.ppf(0.05), abs=5e-3)
    assert found.middle == pytest.approx(0.3, abs=5e-3)
    assert found.starts == 0.9
    assert found.inputs[0][0] == "Coupling"
    assert found.inputs[0][1] > 0.95
    assert "20000 builds" in found.text
    assert "decided by coupling" in found.text
    assert found.text.endswith(" 90 % of builds with usual scatter start at all.")


def test_where_few_builds_start_nothing_is_told_of_the_others(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    def few(*_given: object, **_named: object) -> Builds:
        raise FewStartError(8, "at least 29 of 64 that start", 0.125)

    monkeypatch.setattr(tolerance, "random_builds", few)
    found = tolerance.tolerance(cast(Results, None), Wish(TOP), builds=BUILDS)
    assert found.text == (
        "Only 12 % of builds with usual scatter start at all: too few to tell what they do."
    )
    told = report._tolerance(found)
    assert json.loads(json.dumps(told, allow_nan=False))["no_rating_exceeded"] is None
    assert told["starts"] == 0.125


def test_builds_are_judged_in_the_worst_corner(monkeypatch: pytest.MonkeyPatch) -> None:
    # By hand: the corner asks a quarter more, so 70 % of the rating become 87.5 % and the margin
    # 12.5 % with a scatter of 12.5 %: one standard deviation to nothing.
    corners = KnownCorners({"drain": CornerShare("no discharge", 1.25, 1.0)})
    found = told(monkeypatch, Wish(TOP), corners)
    assert found.middle == pytest.approx(0.125, abs=5e-3)
    assert found.holds == pytest.approx(norm.cdf(1.0), abs=0.01)
    assert found.keeps == found.holds
    # Twice the rating in that corner takes a part of it back: 70 % times 1.25 over 2 are 43.75 %.
    corners = KnownCorners({"drain": CornerShare("no discharge", 1.25, 2.0)})
    assert told(monkeypatch, Wish(TOP), corners).low < 0.5
    lost = Limit("lost_loop_current", "Lost loop", 9.5, 10.0, "A", 0.05, "")
    assert told(monkeypatch, Wish(TOP), KnownCorners({}, (lost,))).middle == 0.05


def test_margins_of_one_rating_count_where_they_were_wished_for(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    for name, limit, share in (("drain", 0.3, 0.5), ("junction", 0.4, 1.0), ("clamp", 0.9, 1.0)):
        wish = Wish(TOP, (Keep("margin", -5.0), Keep(f"margin.{name}", limit)))
        assert told(monkeypatch, wish, KnownCorners()).keeps == pytest.approx(share, abs=0.01)


@pytest.mark.parametrize("builds", [99, 100_001, -1])
def test_numbers_of_builds_that_are_none(builds: int) -> None:
    with pytest.raises(InputError):
        check_builds(builds)
