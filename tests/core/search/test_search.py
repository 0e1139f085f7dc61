"""The search against brute force on a grid, and what it promises against evaluations alone."""

from __future__ import annotations

import json
import math
import time
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest

from burstwise.core.command import run
from burstwise.core.console import BAD_INPUT, DONE, STOPPED
from burstwise.core.design.document import Design, with_values
from burstwise.core.evaluate import evaluate, results_object
from burstwise.core.search import Answer, Free, Keep, Objective, Wish, search
from burstwise.core.search.budget import Progress
from burstwise.core.search.space import free_from_text
from burstwise.core.search.trial import ground_of, tried
from burstwise.core.storage import load

EXAMPLES = Path(__file__).parents[3] / "resources" / "examples"
FILE = EXAMPLES / "classroom-gated-interrupted.burstwise"
TOP = Objective("burst.top_voltage_reached_V", highest=True)
MARGIN = Keep("margin", 0.2)
SUPPLY, TURNS = "supply.voltage", "coil.geometry.primary.turns"


@pytest.fixture(scope="module")
def design() -> Design:
    return load(FILE)


def fields(design: Design, *texts: str) -> tuple[Free, ...]:
    return tuple(free_from_text(design, text) for text in texts)


def brute(design: Design, wish: Wish, free: tuple[Free, Free], count: int = 21) -> float:
    """Best objective over a grid of both fields, every point tried."""
    ground = ground_of(design, wish, free)
    best = -math.inf
    for x in np.linspace(0.0, 1.0, count):
        for y in np.linspace(0.0, 1.0, count):
            trial = tried(
                ground,
                {free[0].path: free[0].value(float(x)), free[1].path: free[1].value(float(y))},
            )
            if trial.miss == 0.0:
                best = max(best, wish.objective.better(trial.objective))
    return best


@pytest.mark.slow
def test_a_planted_optimum_is_found(design: Design) -> None:
    # Highest supply that keeps margin and power; the power is limited by duty as well.
    wish = Wish(
        TOP,
        (MARGIN, Keep("burst.average_power_W", 12.0, most=True)),
    )
    free = fields(design, "supply.voltage=12:60", "interrupter.duty=5%:60%")
    known = brute(design, wish, (free[0], free[1]))
    for seed in (1, 2, 3):
        answer = search(design, wish, free, seed=seed, evaluations=150, processes=0)
        assert answer.found[0].objective >= 0.99 * known


def holds(answer: Answer, wish: Wish) -> None:
    """Every design that came back, evaluated on its own, holds what was asked."""
    assert answer.found
    for found in answer.found:
        alone = results_object(evaluate(found.design))
        for keep in wish.conditions:
            assert keep.miss(alone) == 0.0
        assert wish.objective.value(alone) == pytest.approx(found.objective, rel=1e-9)
        assert not any(item["severity"] == "stop" for item in alone["findings"])


def test_promises_hold_alone_and_the_others_differ(design: Design) -> None:
    wish = Wish(TOP, (MARGIN,))
    free = fields(design, "supply.voltage=12:34", "coil.geometry.primary.turns=4:9")
    answer = search(design, wish, free, seed=4, evaluations=40, processes=0)
    holds(answer, wish)
    assert answer.evaluations <= 60
    assert {item.name for item in answer.limited_by} & {"margin", "supply.voltage"}
    best = answer.found[0]
    highest = max(item.objective for item in answer.found)
    assert best.objective == pytest.approx(highest, rel=5e-3)
    assert with_values(design, dict(best.changed)) == best.design
    for place, other in enumerate(answer.found):
        for earlier in answer.found[:place]:
            assert other.values != earlier.values
            # By hand over the ranges: 22 V and, as whole numbers, 6 turns.
            volts = abs(other.values[SUPPLY] - earlier.values[SUPPLY]) / 22.0
            turns = abs(other.values[TURNS] - earlier.values[TURNS]) / 6.0
            assert max(volts, turns) >= 0.149


@pytest.mark.slow
def test_the_same_seed_gives_the_same_answer(design: Design) -> None:
    wish = Wish(Objective("thermal.junction_mean_C", highest=False), (MARGIN,))
    free = fields(design, "supply.voltage=20:40", "interrupter.duty=5%:40%")
    one = search(design, wish, free, seed=7, evaluations=60, processes=0)
    again = search(design, wish, free, seed=7, evaluations=60, processes=0)
    assert [item.values for item in one.found] == [item.values for item in again.found]
    assert [trial.values for trial in one.trials] == [trial.values for trial in again.trials]
    other = search(design, wish, free, seed=8, evaluations=60, processes=0)
    assert [trial.values for trial in one.trials] != [trial.values for trial in other.trials]


def test_a_small_space_is_tried_whole(design: Design) -> None:
    wish = Wish(TOP, (MARGIN,))
    free = fields(design, "supply.voltage=20,25,30,36,42", "interrupter.duty=10%,20%,30%")
    answer = search(design, wish, free, evaluations=40, processes=0)
    assert len(answer.trials) == 15
    # More supply gives more voltage, so the highest that keeps 20 % must come back.
    held = [volts for volts in (20.0, 25.0, 30.0, 36.0, 42.0) if margin_at(design, volts) >= 0.2]
    assert answer.found[0].values["supply.voltage"] == max(held)


def margin_at(design: Design, volts: float) -> float:
    changed = with_values(design, {"supply.voltage": volts, "interrupter.duty": 0.1})
    return evaluate(changed, verify=False).first_limit.margin


@pytest.mark.slow
def test_an_impossible_wish_says_what_contradicts(design: Design) -> None:
    free = fields(design, "supply.voltage=12:60", "interrupter.duty=5%:60%")
    power = Keep("burst.average_power_W", 40.0)
    cool = Keep("thermal.junction_mean_C", 30.0, most=True)
    told = search(design, Wish(TOP, (power, cool)), free, evaluations=120, processes=0)
    assert not told.found
    assert told.closest is not None
    text = next(item.text for item in told.findings if item.code == "no-design")
    assert "can be held alone" in text
    never = Keep("carrier.top_voltage_peak_V", 500e3)
    told = search(design, Wish(TOP, (never,)), free, evaluations=40, processes=0)
    text = next(item.text for item in told.findings if item.code == "no-design")
    assert "Not reached" in text
    assert "500 kV" in text


def test_a_field_that_moves_nothing_is_told(design: Design) -> None:
    free = fields(design, "supply.voltage=20,30", "device.name=one,two")
    told = search(design, Wish(TOP), free, evaluations=30, processes=0)
    assert {item.field for item in told.findings if item.code == "moves-nothing"} == {"device.name"}


def test_a_stop_is_answered_at_once_with_what_there_is(design: Design) -> None:
    free = fields(design, "supply.voltage=12:60", "interrupter.duty=5%:60%")
    asked: list[float] = []

    def go_on(progress: Progress) -> bool:
        if progress.best is not None:
            asked.append(time.perf_counter())
        return progress.best is None

    answer = search(design, Wish(TOP, (MARGIN,)), free, evaluations=5000, processes=0, go_on=go_on)
    assert answer.stopped
    assert answer.found
    assert answer.evaluations < 500


@pytest.mark.slow
def test_processes_give_the_answer_of_this_one(design: Design) -> None:
    free = fields(design, "supply.voltage=20:40", "interrupter.duty=5%:40%")
    here = search(design, Wish(TOP, (MARGIN,)), free, evaluations=40, processes=0)
    beside = search(design, Wish(TOP, (MARGIN,)), free, evaluations=40, processes=2)
    assert [item.values for item in here.found] == [item.values for item in beside.found]


@pytest.mark.slow
def test_the_command(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = tmp_path / "best.burstwise"
    flags = ["--free", "supply.voltage=20,30,40", "--keep", "margin=20%", "--evaluations", "20"]
    aim = ["--maximise", "carrier.top_voltage_peak_V"]
    assert run(["search", str(FILE), *aim, *flags, "-o", str(out), "--json"]) == DONE
    told = json.loads(capsys.readouterr().out)
    assert {"best", "others", "limited_by", "evaluations", "seconds", "findings"} <= set(told)
    best = told["best"]
    assert load(out).supply.voltage == best["values"]["supply.voltage"]
    assert min(best["margins"].values()) >= 20.0
    assert run(["search", str(FILE), *aim, *flags, "--keep", "margin=99%"]) == STOPPED
    assert "Not reached" in capsys.readouterr().out
    for bad in (
        ["--free", "supply.nothing=1:2"],
        ["--free", "supply.voltage=1:2", "--keep", "x"],
        ["--free", "supply.voltage=1:2", "supply.voltage=1:3"],
        ["--free", "supply.voltage=1:2", "--evaluations", "1"],
    ):
        assert run(["search", str(FILE), *aim, *bad]) == BAD_INPUT
        assert capsys.readouterr().err.count("\n") == 1
    assert run(["search", str(FILE), "--maximise", "carrier.nothing", *flags]) == BAD_INPUT
    assert "carrier.nothing" in capsys.readouterr().err


def test_what_does_not_help_is_left_alone(design: Design) -> None:
    # The steady top voltage does not hang on the interrupter's frequency: it stays at 150 Hz. Up to
    # 32 V the margin holds anyway, so that the frequency cannot help that either.
    wish = Wish(Objective("carrier.top_voltage_peak_V", highest=True), (MARGIN,))
    free = fields(design, "supply.voltage=20:32", "interrupter.frequency=50:450")
    answer = search(design, wish, free, evaluations=70, processes=0)
    assert design.interrupter.frequency == 150.0
    assert answer.found[0].values["interrupter.frequency"] == 150.0
    assert "interrupter.frequency" not in answer.found[0].changed


def test_the_others_differ_in_kind(design: Design) -> None:
    # Ten numbers of turns, every one tried: neighbours are a tenth of the range apart, less than
    # what makes another kind, so no two of them come back. The six turns that stand are not among
    # them, so nothing is brought back.
    free = fields(design, f"{TURNS}=7:16")
    answer = search(design, Wish(TOP, (Keep("margin", 0.05),)), free, evaluations=40, processes=0)
    turns = sorted(found.values[TURNS] for found in answer.found)
    assert len(turns) >= 2
    assert min(more - less for less, more in pairwise(turns)) >= 2.0


def test_a_start_that_breaks_a_rating_is_mended_by_less_supply_at_once(design: Design) -> None:
    # 48 V ask more of the drain than its rating; 45 % of them, at 35 % of the duty, keep a fifth.
    start = with_values(design, {SUPPLY: 48.0, "interrupter.duty": 0.2})
    assert evaluate(start, verify=False).first_limit.margin < 0.0
    free = fields(start, "supply.voltage=12:60", "interrupter.duty=2%:50%", f"{TURNS}=4:9")
    answer = search(start, Wish(TOP, (MARGIN,)), free, evaluations=12, processes=0)
    first, second = answer.trials[:2]
    assert first.miss > 0.2
    assert second.values == {SUPPLY: 21.6, "interrupter.duty": 0.07, TURNS: first.values[TURNS]}
    assert second.miss == 0.0
    assert answer.found
