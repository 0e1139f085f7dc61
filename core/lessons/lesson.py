"""Lessons: a question, a prediction, a move of the real program's control, a check by results.

Which answer is right is decided by what the evaluation computes, never by the lesson's text.
"""

from __future__ import annotations

import json
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from importlib import resources
from typing import Annotated, Any, Literal

from pydantic import Field, ValidationError

from burstwise.core.design.document import Design, with_values
from burstwise.core.design.fields import Section, input_error
from burstwise.core.errors import FileError, InputError
from burstwise.core.interrupter.resolve import value_in_use
from burstwise.core.units import shown

Scalar = float | bool | str | None


class Option(Section):
    """One place of a control that is not a number: words and the value that it sets."""

    text: str
    value: Scalar | dict[str, float]


class Control(Section):
    """The one field that the learner moves; with `options` it is chosen, else a quantity."""

    path: str
    title: str
    unit: str = ""
    low: float = 0.0
    high: float = 1.0
    log: bool = False
    options: tuple[Option, ...] = ()


class Goal(Section):
    """When the move is done: the field lies within low and high, or is that of an option."""

    low: float | None = None
    high: float | None = None
    option: int | None = None


class Measure(Section):
    """What is computed from the results before and after the move.

    `change` is after over before, `share` is one result over another, both after the move.
    """

    kind: Literal["change", "share"]
    path: str
    over: str = ""
    title: str


class Choice(Section):
    """One prediction: its words, the range of the measure that it stands for, and the reply."""

    text: str
    low: float
    high: float
    reply: Annotated[str, Field(description="What to say when it was chosen and is not right")]


class Shown(Section):
    """Result that stays in view."""

    path: str
    title: str
    unit: str


class Lesson(Section):
    """One lesson as its file has it."""

    name: str
    title: str
    example: str
    start: Annotated[dict[str, Scalar], Field(default_factory=dict)]
    intro: str
    question: str
    choices: Annotated[tuple[Choice, ...], Field(min_length=2)]
    task: str
    control: Control
    goal: Goal
    measure: Measure
    watch: tuple[Shown, ...]
    curve: Literal["average_power", "peak_current", "junction_peak", "top_voltage"]
    explanation: str


@dataclass(frozen=True, slots=True)
class Answer:
    """What the results say about a prediction.

    Attributes
    ----------
    measured : float
        Value of the lesson's measure.
    right : int or None
        Choice that the results bear out; None where they bear out none.
    correct : bool
        Whether the learner chose it.
    verdict, explanation : str
        What to say about the choice, and why, with the numbers of these results.
    """

    measured: float
    right: int | None
    correct: bool
    verdict: str
    explanation: str


def lessons() -> tuple[Lesson, ...]:
    """All lessons of the program, in the order of their files.

    Raises
    ------
    InputError
        A lesson file that cannot be used.
    """
    folder = resources.files("burstwise.resources") / "lessons"
    files = sorted(
        (item for item in folder.iterdir() if item.name.endswith(".json")),
        key=lambda item: item.name,
    )
    return tuple(lesson_from(item.read_text(encoding="utf-8"), item.name) for item in files)


def lesson_from(text: str, source: str) -> Lesson:
    """Lesson from the text of a file.

    Raises
    ------
    FileError, InputError
        Not JSON, or a field that cannot be used.
    """
    try:
        return Lesson.model_validate(json.loads(text))
    except json.JSONDecodeError as error:
        raise FileError(source, error.msg, "a JSON document", line=error.lineno) from error
    except ValidationError as error:
        raise input_error(error) from error


def start_design(lesson: Lesson, example: Design) -> Design:
    """Design that a lesson starts from."""
    return with_values(example, {**lesson.start, "name": f"Lesson: {lesson.title}"})


def reached(lesson: Lesson, design: Design) -> bool:
    """Whether the learner has moved the control to where the lesson wants it."""
    value = value_in_use(design, lesson.control.path)
    goal = lesson.goal
    if goal.option is not None:
        wanted = lesson.control.options[goal.option].value
        return bool(_plain(value) == _plain_option(wanted, value))
    low = -float("inf") if goal.low is None else goal.low
    high = float("inf") if goal.high is None else goal.high
    return isinstance(value, (int, float)) and low <= float(value) <= high


def _plain(value: Any) -> Any:
    return value.model_dump() if hasattr(value, "model_dump") else value


def _plain_option(wanted: Any, value: Any) -> Any:
    """Option as the document holds it: fields not named in it keep their defaults."""
    if isinstance(wanted, Mapping) and hasattr(value, "model_dump"):
        return {**value.model_dump(), **wanted}
    return wanted


def result_number(known: Mapping[str, Any], path: str) -> float:
    """Number at a path of the results' object.

    Raises
    ------
    InputError
        No number there.
    """
    here: Any = known
    for name in path.split("."):
        here = here.get(name) if isinstance(here, Mapping) else None
    if not isinstance(here, (int, float)):
        raise InputError(path, here, "a number of the results")
    return float(here)


def measured(lesson: Lesson, before: Mapping[str, Any], after: Mapping[str, Any]) -> float:
    """Value of a lesson's measure.

    Parameters
    ----------
    lesson : Lesson
        The lesson.
    before, after : mapping
        Results' objects before and after the move.
    """
    part = lesson.measure
    below = before if part.kind == "change" else after
    over = result_number(below, part.path if part.kind == "change" else part.over)
    value = result_number(after, part.path)
    return value / over if over else float("inf")


def answered(
    lesson: Lesson, chosen: int, *, before: Mapping[str, Any], after: Mapping[str, Any]
) -> Answer:
    """What the results say about a prediction.

    Parameters
    ----------
    chosen : int
        Index of the learner's choice.
    before, after : mapping
        Results' objects before and after the move.
    """
    found = measured(lesson, before, after)
    right = borne_out(lesson.choices, found)
    said = f"{lesson.measure.title}: {found:#.3g}."
    if right is None:
        verdict = f"{said} None of the answers fits this move; bring the control nearer to its aim."
    elif right == chosen:
        verdict = f"{said} Your prediction holds: {lesson.choices[right].text}."
    else:
        verdict = (
            f"{said} The results say: {lesson.choices[right].text}. {lesson.choices[chosen].reply}"
        )
    text = filled(lesson.explanation, before=before, after=after, measure=found)
    return Answer(found, right, right == chosen, verdict, text)


def borne_out(choices: Sequence[Choice], value: float) -> int | None:
    """Choice whose range holds a value."""
    for number, choice in enumerate(choices):
        if choice.low <= value < choice.high:
            return number
    return None


_SLOT = re.compile(r"\{(before|after):([\w.]+):([^}]*)\}")


def filled(
    text: str, *, before: Mapping[str, Any], after: Mapping[str, Any], measure: float
) -> str:
    """Text with its slots filled: ``{after:burst.duty:%}`` is a result with unit.

    ``{measure}`` is the measure itself.

    Examples
    --------
    >>> filled("{before:a:V} to {after:a:V}: {measure}", before={"a": 2.0}, after={"a": 4.0},
    ...        measure=2.0)
    '2 V to 4 V: 2'
    """

    def put(found: re.Match[str]) -> str:
        known = before if found[1] == "before" else after
        return shown(result_number(known, found[2]), found[3], digits=3)

    return _SLOT.sub(put, text).replace("{measure}", f"{measure:.3g}")
