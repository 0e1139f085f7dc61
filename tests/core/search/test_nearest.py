"""Where a wish asks for too much: the nearest one that can be had, held by a design of its own."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from burstwise.core.evaluate import evaluate, results_object
from burstwise.core.search import Answer, Keep, Objective, Wish, search
from burstwise.core.search.report import answer_object
from burstwise.core.search.space import free_from_text
from burstwise.core.storage import load

FILE = Path(__file__).parents[3] / "resources/examples/classroom-gated-interrupted.burstwise"
REACHED = "burst.top_voltage_reached_V"
WISH = Wish(Objective("burst.device_power_W", highest=False), (Keep("margin", 0.2),))
HIGH = Keep(REACHED, 60e3)


@pytest.fixture(scope="module")
def answer() -> Answer:
    design = load(FILE)
    free = [free_from_text(design, "supply.voltage=20,24,28,32,48")]
    wish = replace(WISH, keeps=(*WISH.keeps, HIGH))
    return search(design, wish, free, evaluations=20, processes=0)


def test_the_nearest_wish_is_held_and_eases_no_more_than_it_must(answer: Answer) -> None:
    assert not answer.found
    nearest = answer.nearest
    assert nearest is not None
    alone = results_object(evaluate(nearest.found.design))
    assert nearest.wish.miss(alone) == 0.0
    assert not any(item["severity"] == "stop" for item in alone["findings"])
    eased = {keep.name: keep.limit for keep in nearest.eased}
    assert REACHED in eased
    assert 0.98 * alone["burst"]["top_voltage_reached_V"] < eased[REACHED]
    assert {keep.name for keep in nearest.wish.keeps} == {"margin", REACHED}
    assert nearest.wish.objective == WISH.objective


def test_no_rating_is_exceeded_for_it() -> None:
    # 48 V comes closer to 15 kV than 24 V, but asks more of the drain than its rating.
    design = load(FILE)
    free = [free_from_text(design, "supply.voltage=20,24,48")]
    wish = Wish(WISH.objective, (Keep(REACHED, 15e3),))
    answer = search(design, wish, free, evaluations=20, processes=0)
    assert answer.closest is not None
    assert answer.closest.values["supply.voltage"] == 48.0
    assert evaluate(answer.closest.design).first_limit.margin < 0.0
    assert answer.nearest is not None
    assert answer.nearest.found.values["supply.voltage"] == 24.0
    assert min(item.margin for item in answer.nearest.found.results.limits) >= 0.0


def test_its_answer_has_the_design_and_no_complaint(answer: Answer) -> None:
    taken = answer.of_nearest
    assert answer.nearest is not None
    assert taken.found == (answer.nearest.found,)
    assert {"no-design", "nearest-wish"} <= {item.code for item in answer.findings}
    assert not {"no-design", "nearest-wish"} & {item.code for item in taken.findings}
    assert REACHED in {item.name for item in taken.limited_by}
    assert taken.of_nearest == taken
    told = answer_object(answer)["nearest"]
    assert told["design"]["margins"]
    assert told["eased"][0]["text"] == answer.nearest.eased[0].text


def test_conditions_are_eased_to_the_easy_side_and_only_where_they_are_missed() -> None:
    wish = Wish(WISH.objective, (Keep("margin", 0.2), Keep("coil.coupling", 0.3, most=True)))
    figures = {"limits": [{"rating": "drain_voltage", "margin_percent": 12.34}]}
    eased = wish.eased({**figures, "coil": {"coupling": 0.21}})
    assert eased is not None
    # By hand: 12.34 % is rounded down to 12.3 %; a coupling of 0.21 holds as it is.
    assert eased.keeps == (Keep("margin", 0.123), wish.keeps[1])
    eased = wish.eased({**figures, "coil": {"coupling": 0.41234}})
    assert eased is not None
    assert eased.keeps[1] == Keep("coil.coupling", 0.413, most=True)
    assert wish.eased({**figures, "coil": {"coupling": None}}) is None


def test_a_wish_that_is_held_has_none() -> None:
    design = load(FILE)
    free = [free_from_text(design, "supply.voltage=20,24")]
    answer = search(design, WISH, free, evaluations=20, processes=0)
    assert answer.found
    assert answer.nearest is None
    assert answer.of_nearest is answer
