"""What depends on the duty is the same whether it was typed or comes from timer parts.

The typed numbers of the design with parts are far from what it runs at, so that whoever reads them
is found.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from typing import Any

import numpy as np
import pytest

from burstwise.core.assembly.powerup_stages import powerup_plan
from burstwise.core.design.document import with_values
from burstwise.core.errors import InputError
from burstwise.core.evaluate import evaluate
from burstwise.core.evaluate.report import results_object
from burstwise.core.evaluate.results import Results
from burstwise.core.interrupter.resolve import (
    duty_reach,
    edits_in_use,
    resolved_interrupter,
    value_in_use,
)
from burstwise.core.report.sheet_content import build_sheet
from burstwise.core.search.proposals import movable
from burstwise.core.studies.chance import chance
from burstwise.core.studies.fail_order import fail_order, side_by_side
from burstwise.core.studies.field import field_of
from burstwise.core.studies.first_break import first_break
from burstwise.core.studies.limit_map import axis_over
from burstwise.core.studies.protection import zener_clamp
from burstwise.core.studies.quick import moved_to, quick
from burstwise.core.studies.remedy_kinds import KINDS
from burstwise.core.studies.sizing_bench import Bench, Tolerances
from burstwise.core.studies.stage_table import StageTable, stage_table
from burstwise.core.units import shown

CLOSE = 1e-9
TRAVEL = 0.35


@pytest.fixture(scope="module")
def pair(example) -> tuple[Results, Results]:
    """The same operation by typed numbers, and by parts beside idle typed ones."""
    by_parts = with_values(
        example("classroom-gated-interrupted"),
        {
            "interrupter.given_by": "parts",
            "interrupter.parts.travel": TRAVEL,
            "interrupter.duty": 0.97,
            "interrupter.frequency": 4321.0,
        },
    )
    timer = resolved_interrupter(by_parts)
    typed = with_values(
        by_parts,
        {
            "interrupter.given_by": "numbers",
            "interrupter.duty": timer.duty,
            "interrupter.frequency": timer.frequency,
        },
    )
    assert 0.05 < timer.duty < 0.6
    assert timer.frequency < 200.0
    return evaluate(typed, verify=False), evaluate(by_parts, verify=False)


@pytest.fixture(scope="module")
def tables(pair) -> tuple[StageTable, StageTable]:
    typed, parts = pair
    made = stage_table(typed.design, 1.5 * typed.design.supply.voltage, refine=0)
    return made, moved_to(made, parts.design)


def leaves(value: Any, path: str = "") -> Iterator[tuple[str, Any]]:
    if isinstance(value, Mapping):
        for key, item in value.items():
            yield from leaves(item, f"{path}.{key}" if path else str(key))
    elif isinstance(value, list | tuple):
        for place, item in enumerate(value):
            yield from leaves(item, f"{path}.{place}")
    else:
        yield path, value


def differing(one: Any, other: Any) -> set[str]:
    first, second = dict(leaves(one)), dict(leaves(other))
    return {
        path
        for path in first.keys() | second.keys()
        if path not in first or path not in second or not _same(first[path], second[path])
    }


def _same(one: Any, other: Any) -> bool:
    if isinstance(one, float) and isinstance(other, float):
        return bool(np.isclose(one, other, rtol=CLOSE, atol=0.0, equal_nan=True))
    return bool(one == other)


def test_every_number_of_the_results(pair) -> None:
    typed, parts = (results_object(each) for each in pair)
    found = {path.split(".")[0] for path in differing(typed, parts)}
    assert found <= {"design", "findings"}
    assert typed["burst"]["duty"] == pytest.approx(pair[1].duty)
    extra = {item.code for item in pair[1].findings} ^ {item.code for item in pair[0].findings}
    assert all(
        item.field.startswith("interrupter.")
        for each in pair
        for item in each.findings
        if item.code in extra
    )


def test_the_map_and_its_present_point(pair, tables) -> None:
    typed, parts = (each.design for each in pair)
    for path in ("interrupter.duty", "interrupter.frequency"):
        assert value_in_use(typed, path) == pytest.approx(value_in_use(parts, path), rel=CLOSE)
        np.testing.assert_allclose(axis_over(typed, path).values, axis_over(parts, path).values)
    fields = [field_of(each.design, ready) for each, ready in zip(pair, tables, strict=True)]
    np.testing.assert_allclose(fields[0].margins.margin, fields[1].margins.margin, rtol=CLOSE)


def test_what_fails_first_and_the_two_ways_to_run(pair, tables) -> None:
    typed, parts = (
        fail_order(each.design, ready) for each, ready in zip(pair, tables, strict=True)
    )
    assert [one.rating for one in typed.by_supply] == [one.rating for one in parts.by_supply]
    for one, other in zip(typed.by_supply, parts.by_supply, strict=True):
        assert (one.supply, one.duty, one.margin) == pytest.approx(
            (other.supply, other.duty, other.margin), rel=1e-6
        )
    modes = [side_by_side(each.design, ready) for each, ready in zip(pair, tables, strict=True)]
    assert modes[0].interrupted.junction_peak == pytest.approx(modes[1].interrupted.junction_peak)
    assert modes[0].interrupted.duty == pytest.approx(modes[1].interrupted.duty)
    breaks = [first_break(each.design, ready) for each, ready in zip(pair, tables, strict=True)]
    assert breaks[0] is not None
    assert breaks[1] is not None
    assert breaks[0].supply == pytest.approx(breaks[1].supply, rel=1e-6)


def test_the_quick_picture(pair, tables) -> None:
    typed, parts = (quick(each.design, ready) for each, ready in zip(pair, tables, strict=True))
    assert typed.average_power == pytest.approx(parts.average_power, rel=CLOSE)
    assert typed.junction_peak == pytest.approx(parts.junction_peak, rel=CLOSE)


def test_the_chance_that_limits_hold(pair) -> None:
    typed, parts = (chance(each, builds=60) for each in pair)
    assert typed.all_hold == parts.all_hold
    for one, other in zip(typed.ratings, parts.ratings, strict=True):
        assert (one.rating, one.middle) == (other.rating, pytest.approx(other.middle, rel=1e-6))


def test_the_remedy_of_less_duty(pair) -> None:
    """The same steps in the same words, and each edit reaches its duty by its own way."""
    less = next(kind for kind in KINDS if kind.name == "duty")
    typed, parts = (list(less.edits(each.design)) for each in pair)
    assert len(typed) >= 4
    for (words, _), (others, edits) in zip(typed, parts, strict=True):
        assert words == others
        reached = resolved_interrupter(with_values(pair[1].design, edits)).duty
        assert words.endswith(shown(reached, "%"))
        assert "interrupter.parts.travel" in edits


def test_the_sizes_of_protections(pair) -> None:
    typed, parts = (zener_clamp(Bench(each, Tolerances(), None)) for each in pair)
    assert typed.heat == pytest.approx(parts.heat, rel=CLOSE)
    assert typed.worst_heat == pytest.approx(parts.worst_heat, rel=CLOSE)


def without_noise(text: str) -> str:
    """A text with its long numbers to nine digits."""
    return re.sub(r"\d+\.\d{6,}(?:e-?\d+)?", lambda found: f"{float(found[0]):.9g}", text)


def test_the_power_up_plan_and_the_sheet(pair) -> None:
    plans = [powerup_plan(each) for each in pair]
    coils = [[one for one in plan.stages if one.name.startswith("coil-")] for plan in plans]
    assert coils[0]
    for one, other in zip(*coils, strict=True):
        assert one.title == other.title
        # A timer's first burst is known from its parts alone.
        told = [text for text in other.actions if not text.startswith("The first burst after")]
        # What is turned has a name of its own: a pulse source, or the knob of the parts.
        turned = [text.replace("the pulse source's duty", "knob") for text in one.actions]
        assert turned == told
        assert not differing(
            [[item.name, item.expected] for item in one.expectations],
            [[item.name, item.expected] for item in other.expectations],
        )
    sheets = [build_sheet(each, plan) for each, plan in zip(pair, plans, strict=True)]
    for title in ("Operating point", "Heat sink"):
        one, other = (
            next(section for section in sheet.sections if section.title == title)
            for sheet in sheets
        )
        assert without_noise(repr(one)) == without_noise(repr(other))


def test_an_edit_of_the_duty_turns_the_knob(pair) -> None:
    parts = pair[1].design
    low, high = duty_reach(parts)
    middle = 0.5 * (low + high)
    for wanted in (low, middle, high):
        edited = with_values(parts, edits_in_use(parts, {"interrupter.duty": wanted}))
        assert resolved_interrupter(edited).duty == pytest.approx(wanted, abs=2e-6)
        assert edited.interrupter.duty == 0.97
    text = edits_in_use(parts, {"interrupter.duty": f"{100 * middle:.6f} %", "supply.voltage": 30})
    assert text["supply.voltage"] == 30
    assert "interrupter.duty" not in text


def test_what_the_parts_do_not_give_is_refused_with_what_to_change(pair) -> None:
    typed, parts = (each.design for each in pair)
    _, high = duty_reach(parts)
    with pytest.raises(InputError, match="as far as the timer's knob goes"):
        edits_in_use(parts, {"interrupter.duty": high + 0.01})
    with pytest.raises(InputError, match="change the timing capacitor"):
        edits_in_use(parts, {"interrupter.frequency": 80.0})
    wanted = {"interrupter.duty": 0.9, "interrupter.frequency": 80.0}
    assert edits_in_use(typed, wanted) == wanted
    assert duty_reach(typed) == (0.0, 1.0)


def test_the_search_proposes_the_duties_that_the_knob_reaches(pair) -> None:
    typed, parts = ({one.free.path: one.free for one in movable(each.design)} for each in pair)
    low, high = duty_reach(pair[1].design)
    assert (typed["interrupter.duty"].low, typed["interrupter.duty"].high) == (0.01, 0.6)
    assert parts["interrupter.duty"].low == max(low, 0.01)
    assert parts["interrupter.duty"].high == min(high, 0.6)
    assert "interrupter.frequency" not in parts
