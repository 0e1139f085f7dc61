"""Trade-offs: each point holds what it promises, and tighter conditions cost what they must."""

from __future__ import annotations

import json
from itertools import pairwise
from pathlib import Path

import pytest

from burstwise.core.command import run
from burstwise.core.console import BAD_INPUT, DONE
from burstwise.core.design.document import Design, with_values
from burstwise.core.errors import InputError
from burstwise.core.evaluate import evaluate, results_object
from burstwise.core.search import Free, Keep, Objective, Sweep, Wish, trade_off
from burstwise.core.search.budget import Progress
from burstwise.core.search.space import free_from_text
from burstwise.core.search.tradeoff import sweep_from_text
from burstwise.core.storage import load

EXAMPLES = Path(__file__).parents[3] / "resources" / "examples"
FILE = EXAMPLES / "classroom-gated-interrupted.burstwise"
TOP = Objective("burst.top_voltage_reached_V", highest=True)
SUPPLY, DUTY = "supply.voltage", "interrupter.duty"


@pytest.fixture(scope="module")
def design() -> Design:
    return load(FILE)


def fields(design: Design, *texts: str) -> tuple[Free, ...]:
    return tuple(free_from_text(design, text) for text in texts)


def test_sweeps_as_they_are_written(design: Design) -> None:
    told = sweep_from_text(design, "margin=0%:40%", 5)
    assert told.values == (0.0, 0.1, 0.2, 0.3, 0.4)
    assert told.what == Keep("margin", 0.0)
    told = sweep_from_text(design, "burst.average_power_W<5:20", 4)
    assert told.what == Keep("burst.average_power_W", 5.0, most=True)
    assert told.values == (5.0, 10.0, 15.0, 20.0)
    told = sweep_from_text(design, "burst.top_voltage_reached_V>5kV:15kV", 3)
    assert told.values == (5e3, 10e3, 15e3)
    assert isinstance(told.what, Keep)
    assert not told.what.most
    told = sweep_from_text(design, "supply.voltage=20V:60V", 3)
    assert isinstance(told.what, Free)
    assert told.values == (20.0, 40.0, 60.0)
    assert told.text(40.0) == "40 V"


@pytest.mark.parametrize(
    ("text", "points"),
    [
        ("margin", 5),
        ("margin=40%:10%", 5),
        ("margin=0%:40%", 1),
        ("margin=0%:40%", 26),
        ("supply.nothing=1:2", 5),
        ("supply.voltage=60:20", 5),
        ("coil.geometry.primary.turns=3:8", 5),
        ("burst.average_power_W=5:20", 5),
        (":", 5),
    ],
)
def test_sweeps_that_are_none(design: Design, text: str, points: int) -> None:
    with pytest.raises(InputError) as told:
        sweep_from_text(design, text, points)
    assert "\n" not in str(told.value)


def test_more_margin_costs_top_voltage(design: Design) -> None:
    free = fields(design, "supply.voltage=12:60", "interrupter.duty=5%:40%")
    sweep = sweep_from_text(design, "margin=5%:25%", 3)
    # The margin of the wish gives way to the one that is swept.
    wish = Wish(TOP, (Keep("margin", 0.9),))
    told = trade_off(design, wish, free, sweep, seed=3, evaluations=90, processes=0)
    assert told.evaluations <= 90
    assert [point.value for point in told.points] == [0.05, 0.15, 0.25]
    reached = []
    for point in told.points:
        assert point.found is not None
        alone = evaluate(with_values(design, dict(point.found.changed)))
        assert alone.first_limit.margin >= point.value - 1e-12
        figure = results_object(alone)["burst"]["top_voltage_reached_V"]
        assert figure == pytest.approx(point.found.objective, rel=1e-9)
        reached.append(point.found.objective)
    assert all(more > less for more, less in pairwise(reached))
    # At the edge: little of the margin asked for is left over at the tightest point.
    last = told.points[-1]
    assert last.found is not None
    assert last.found.results.first_limit.margin < 0.25 + 0.03
    assert "margin" in {item.name for item in last.limited_by}


@pytest.mark.slow
def test_a_swept_field_stands_at_its_values(design: Design) -> None:
    free = fields(design, "interrupter.duty=5%:40%", "supply.voltage=10:90")
    power = Keep("burst.average_power_W", 4.0, most=True)
    sweep = Sweep(free[1], (20.0, 30.0))
    told = trade_off(design, Wish(TOP, (power,)), free, sweep, evaluations=50, processes=0)
    for point in told.points:
        assert point.found is not None
        assert point.found.design.supply.voltage == point.value
        assert point.found.changed[SUPPLY] == point.value
        assert with_values(design, dict(point.found.changed)) == point.found.design
        assert results_object(point.found.results)["burst"]["average_power_W"] <= 4.0
    with pytest.raises(InputError):
        trade_off(design, Wish(TOP), free[1:], sweep, evaluations=50, processes=0)


def test_a_stop_keeps_the_points_that_stand(design: Design) -> None:
    free = fields(design, "supply.voltage=20,25,30,36,42", "interrupter.duty=10%,20%")
    points = 0

    def go_on(progress: Progress) -> bool:
        nonlocal points
        points += progress.best is not None
        return points == 0

    sweep = sweep_from_text(design, "margin=0%:20%", 3)
    told = trade_off(design, Wish(TOP), free, sweep, evaluations=3000, processes=0, go_on=go_on)
    assert told.stopped
    assert len(told.points) < 3
    assert told.points[0].found is not None


@pytest.mark.slow
def test_the_command(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    flags = ["--maximise", TOP.name, "--free", "supply.voltage=20,30,40", "--points", "2"]
    flags += ["--evaluations", "40"]
    sweep = ["--sweep", "margin=0%:30%"]
    assert run(["search", str(FILE), *flags, *sweep, "--json"]) == DONE
    told = json.loads(capsys.readouterr().out)
    assert [point["value"] for point in told["points"]] == [0.0, 0.3]
    first, last = (point["best"]["values"][SUPPLY] for point in told["points"])
    assert first > last
    assert run(["search", str(FILE), *flags, *sweep]) == DONE
    assert "30 %" in capsys.readouterr().out
    out = ["-o", str(tmp_path / "best.burstwise")]
    assert run(["search", str(FILE), *flags, *sweep, *out]) == BAD_INPUT
    assert run(["search", str(FILE), *flags, "--sweep", "nothing=1:2"]) == BAD_INPUT
