"""The first rating to break: the exact evaluation at its supply must find it on the edge."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest

from burstwise.core.design.document import Design, with_values
from burstwise.core.evaluate import evaluate
from burstwise.core.evaluate.results import Results
from burstwise.core.limits.ratings import RATINGS
from burstwise.core.studies import first_break as module
from burstwise.core.studies.first_break import (
    FirstBreak,
    break_object,
    break_words,
    breaks_by_supply,
    corner_tables,
    first_break,
    first_break_by_engine,
)
from burstwise.core.studies.stage_table import stage_table

EXAMPLES = (
    "classroom-direct-continuous",
    "classroom-gated-interrupted",
    "demonstration-gated-large",
)


@pytest.mark.parametrize("name", EXAMPLES)
def test_it_breaks_there_and_nothing_breaks_before(
    example: Callable[[str], Design], name: str
) -> None:
    design = example(name)
    found = first_break_by_engine(design)
    assert found is not None
    at = evaluate(with_values(design, {"supply.voltage": found.supply}), verify=False)
    margin = running_margins(at)
    rating = next(one for one in RATINGS if one.name == found.rating)
    loads = {"as designed": at.load} | {item.corner.name: item.load for item in at.corners}
    there = float(rating.figures(at.design, loads[found.corner])[2])
    assert there == pytest.approx(margin[found.rating], abs=0.03)
    # Clamp power and a direct stage's heat climb with a high power of the supply.
    assert margin[found.rating] == pytest.approx(0.0, abs=0.03)
    assert min(margin.values()) >= -0.03
    below = evaluate(with_values(design, {"supply.voltage": 0.97 * found.supply}), verify=False)
    assert min(running_margins(below).values()) > 0.0
    above = evaluate(with_values(design, {"supply.voltage": 1.03 * found.supply}), verify=False)
    assert min(running_margins(above).values()) < 0.0


def running_margins(results: Results) -> dict[str, float]:
    """Margins of the ratings that a running stage has; the lost loop is none of them."""
    return {
        item.rating: item.margin for item in results.limits if not item.rating.startswith("lost_")
    }


@pytest.mark.slow
def test_from_above_it_is_the_same_supply(example: Callable[[str], Design]) -> None:
    design = example("classroom-gated-interrupted")
    low = first_break_by_engine(design)
    high = first_break_by_engine(with_values(design, {"supply.voltage": 60.0}))
    assert low is not None
    assert high is not None
    assert high.rating == low.rating
    # From above the lines of the tables lie elsewhere: measured 1.9 % apart.
    assert high.supply == pytest.approx(low.supply, rel=0.025)
    assert "broken since" in break_words(high, with_values(design, {"supply.voltage": 60.0}))


def test_the_standing_table_says_the_same(example: Callable[[str], Design]) -> None:
    design = example("classroom-gated-interrupted")
    ready = stage_table(design, 60.0)
    quick = first_break(design, ready, beside=corner_tables(design, ready), points=24)
    exact = first_break_by_engine(design)
    assert quick is not None
    assert exact is not None
    assert quick.rating == exact.rating
    assert quick.supply == pytest.approx(exact.supply, rel=5e-3)


def test_words(example: Callable[[str], Design]) -> None:
    design = with_values(example("classroom-gated-interrupted"), {"supply.voltage": 21.0})
    found = FirstBreak("safe_area_repeated", "Heat in repeated bursts", 35.4)
    assert break_words(found, design) == "Heat in repeated bursts at 35.4 V, 14 V above"
    assert break_words(None, design, highest=40.0) == "none up to 40 V"
    assert break_object(found) == {
        "rating": "safe_area_repeated",
        "supply_V": 35.4,
        "corner": "as designed",
    }
    hand = replace(found, corner="loaded top")
    assert break_words(hand, design).endswith("14 V above (loaded top)")
    assert break_object(None) is None


def test_only_what_breaks_from_here_on_counts(
    example: Callable[[str], Design], monkeypatch: pytest.MonkeyPatch
) -> None:
    # Margins by hand, straight lines over the supply: the first rating is broken below 10 V, as
    # one of a stage that does not start yet, and again from 50 V on; the second from 45 V on.
    design = with_values(example("classroom-gated-interrupted"), {"supply.voltage": 30.0})
    table = SimpleNamespace(table=SimpleNamespace(voltages=np.array([2.0, 60.0])))

    def margins(supplies: np.ndarray) -> np.ndarray:
        whole = np.full((len(RATINGS), len(supplies)), np.inf)
        whole[0] = np.where(supplies < 10.0, -1.0, (50.0 - supplies) / 50.0)
        whole[1] = (45.0 - supplies) / 45.0
        return whole

    monkeypatch.setattr(
        module, "field_of", lambda _design, _ready, *, voltage: SimpleNamespace(margins=voltage)
    )
    monkeypatch.setattr(module, "in_rating_order", margins)
    found = first_break(design, table)
    assert found is not None
    assert found.rating == RATINGS[1].name
    assert found.supply == pytest.approx(45.0)
    # At 48 V the second is exceeded: told is where that began, not the lowest supply of all.
    found = first_break(with_values(design, {"supply.voltage": 48.0}), table)
    assert found is not None
    assert found.supply == pytest.approx(45.0)
    # All that break, by supply, each in its worst corner: with a supply 1.25 times as high in the
    # corner the first rating's 50 V are reached at 40 V.
    every = breaks_by_supply(design, table)
    assert [each.rating for each in every] == [RATINGS[1].name, RATINGS[0].name]
    assert [each.supply for each in every] == pytest.approx([45.0, 50.0])
    corner = SimpleNamespace(corner=SimpleNamespace(name="high", rise=1.25), table=table)
    every = breaks_by_supply(design, table, beside=[corner])
    assert [each.supply for each in every] == pytest.approx([36.0, 40.0])
    assert {each.corner for each in every} == {"high"}
