"""Lessons as data: each can be done, its answer is what the evaluation says, replies fit."""

from __future__ import annotations

import itertools
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from burstwise.core.design.document import Design, with_values
from burstwise.core.errors import FileError, InputError
from burstwise.core.evaluate import evaluate, results_object
from burstwise.core.lessons.lesson import (
    Lesson,
    answered,
    borne_out,
    lesson_from,
    lessons,
    reached,
    start_design,
)
from burstwise.core.storage import load

EXAMPLES = Path(__file__).parents[3] / "resources" / "examples"
RIGHT = {
    "continuous-heat": 0,
    "winding-sense": 0,
    "ring-up": 1,
    "average-and-peak": 0,
    "slow-ripple": 0,
    "spikes-and-clamps": 0,
    "timer-and-diodes": 1,
    "reading-a-shunt": 1,
    "supply-and-power": 1,
    "what-a-turn-costs": 0,
    "what-margin-costs": 0,
}
"""Right choice of each lesson, from the trade's reasoning and not from the evaluation."""
AIMS: dict[str, object] = {
    "ring-up": 0.01,
    "average-and-peak": 0.15,
    "slow-ripple": 15.0,
    "timer-and-diodes": 5.0,
    "reading-a-shunt": 24.0,
    "supply-and-power": 18.0,
    "what-a-turn-costs": 8.0,
    "what-margin-costs": 36.0,
}
ALL = {lesson.name: lesson for lesson in lessons()}


@pytest.fixture(params=ALL)
def lesson(request: pytest.FixtureRequest) -> Lesson:
    return ALL[request.param]


def _start(lesson: Lesson) -> Design:
    return start_design(lesson, load(EXAMPLES / f"{lesson.example}.burstwise"))


def _moved(lesson: Lesson) -> Design:
    control, goal = lesson.control, lesson.goal
    value = AIMS[lesson.name] if goal.option is None else control.options[goal.option].value
    return with_values(_start(lesson), {control.path: value})


@cache
def _both(name: str) -> tuple[dict[str, Any], dict[str, Any]]:
    lesson = ALL[name]
    designs = (_start(lesson), _moved(lesson))
    before, after = (results_object(evaluate(design, verify=False)) for design in designs)
    return before, after


def test_there_are_at_least_eight_lessons() -> None:
    assert len(ALL) >= 8
    assert set(RIGHT) == set(ALL)


def test_the_move_is_not_done_at_the_start_and_done_at_its_aim(lesson: Lesson) -> None:
    assert not reached(lesson, _start(lesson))
    assert reached(lesson, _moved(lesson))


def test_the_results_bear_out_what_the_trade_knows(lesson: Lesson) -> None:
    before, after = _both(lesson.name)
    answer = answered(lesson, RIGHT[lesson.name], before=before, after=after)
    assert answer.right == RIGHT[lesson.name]
    assert answer.correct
    assert "prediction holds" in answer.verdict


def test_a_wrong_prediction_gets_its_own_reply_and_the_numbers(lesson: Lesson) -> None:
    before, after = _both(lesson.name)
    for number, choice in enumerate(lesson.choices):
        answer = answered(lesson, number, before=before, after=after)
        assert answer.correct is (number == RIGHT[lesson.name])
        if not answer.correct:
            assert choice.reply in answer.verdict
            assert lesson.choices[RIGHT[lesson.name]].text in answer.verdict
        assert "{" not in answer.explanation
        assert f"{answer.measured:.3g}" in answer.verdict


def test_choices_do_not_overlap(lesson: Lesson) -> None:
    spans = sorted((choice.low, choice.high) for choice in lesson.choices)
    assert all(low < high for low, high in spans)
    assert all(one[1] <= two[0] for one, two in itertools.pairwise(spans))


def test_a_move_that_fits_no_answer_is_said() -> None:
    lesson = ALL["average-and-peak"]
    assert borne_out(lesson.choices, 0.25) is None
    before, after = _both("average-and-peak")
    far = {**after, "carrier": {**after["carrier"], "drain_current_peak_A": 1.0}}
    answer = answered(lesson, 0, before=before, after=far)
    assert answer.right is None
    assert "bring the control nearer" in answer.verdict


def test_a_broken_lesson_file_is_refused() -> None:
    with pytest.raises(FileError):
        lesson_from("{", "x.json")
    with pytest.raises(InputError, match="title"):
        lesson_from('{"name": "x"}', "x.json")
