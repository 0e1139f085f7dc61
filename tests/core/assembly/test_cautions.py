"""The one list of cautions: what it must have, and that every place that suggests power has it."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from burstwise.core.assembly.cautions import HAZARDS, PLACES, in_full, line
from burstwise.core.assembly.powerup_stages import powerup_plan
from burstwise.core.evaluate.results import Results
from burstwise.core.lessons.lesson import lessons
from burstwise.core.report.sheet import Paragraph
from burstwise.core.report.sheet_content import build_sheet

Evaluated = Callable[[str], Results]
_GUIDE = Path(__file__).parents[3] / "docs" / "guide"
_MUST = (
    "seizures", "hearing protection", "barrier", "second person", "emergency", "lifts 0 V", "knob",
    "heat sink to 0 V", "Phones", "computers", "hearing aids", "RF ground", "mains earth",
    "licensed", "pacemakers", "extinguisher", "eye protection", "unattended", "discharge to the "
    "skin", "measure volts",
)  # fmt: skip


@pytest.mark.parametrize("word", _MUST)
def test_the_list_has_what_can_hurt(word: str) -> None:
    assert word.lower() in in_full().lower()


def test_titles_are_different_and_each_has_a_sentence() -> None:
    assert len({hazard.title for hazard in HAZARDS}) == len(HAZARDS)
    assert all(hazard.text.endswith(".") for hazard in HAZARDS)


@pytest.mark.parametrize("place", PLACES)
def test_every_line_of_the_window_warns_and_permits_nothing(place: str) -> None:
    said = line(place)
    assert said.startswith("▲ ")
    assert "igh voltage" in said
    assert said.endswith("no permission.")


def test_lines_say_what_their_place_adds() -> None:
    assert "seizures" in PLACES["interrupter"]
    for place in ("power-up", "lessons"):
        assert "second person" in PLACES[place]
        assert "arrier" in PLACES[place]


def test_sheet_has_every_hazard_before_anything_else(evaluated: Evaluated) -> None:
    first = build_sheet(evaluated("classroom-gated-interrupted")).sections[0]
    words = [block.text for block in first.blocks if isinstance(block, Paragraph)]
    assert words[: len(HAZARDS)] == [f"{item.title}. {item.text}" for item in HAZARDS]


def test_plan_says_who_stands_where_before_the_coil_is_on(evaluated: Evaluated) -> None:
    plan = powerup_plan(evaluated("classroom-gated-interrupted"))
    for stage in plan.stages:
        if stage.name.startswith("coil-") and stage.settings:
            words = " ".join(stage.actions)
            assert "second person" in words
            assert "arrier" in words
            assert "Low voltage on first" in words
            assert "low voltage off last" in words.lower()


def test_lesson_of_flashing_bursts_and_pages_of_the_guide_say_so() -> None:
    slow = next(lesson for lesson in lessons() if lesson.name == "slow-ripple")
    assert "seizures" in slow.explanation
    for page in ("lessons.md", "interrupter.md"):
        assert "seizures" in (_GUIDE / page).read_text(encoding="utf-8")
    build = (_GUIDE / "build.md").read_text(encoding="utf-8").lower().replace("\n", " ")
    for hazard in HAZARDS:
        assert hazard.title.lower().removesuffix("s") in build, hazard.title
