"""Trials in processes: what they are begun with, what runs here meanwhile, what is made once."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from burstwise.core.search import Free, Keep, Objective, Wish, trial
from burstwise.core.search.pool import Pool
from burstwise.core.search.sample import Sample
from burstwise.core.search.trial import Ground, sampled
from burstwise.core.storage import load

FILE = Path(__file__).parents[3] / "resources/examples/classroom-gated-interrupted.burstwise"
WISH = Wish(Objective("burst.top_voltage_reached_V", highest=True), (Keep("margin", 0.2),))
SUPPLY, DUTY = "supply.voltage", "interrupter.duty"
TURNS = "coil.geometry.primary.turns"


@pytest.fixture
def ground() -> Ground:
    return Ground(load(FILE), WISH, (Free(SUPPLY, 20.0, 40.0), Free(DUTY, 0.05, 0.4)))


def told(sample: Sample) -> tuple[Any, ...]:
    return sample.figures, [(item.rating, item.margin) for item in sample.limits]


def test_a_script_may_ask_without_a_guard(tmp_path: Path) -> None:
    # Python's own way reads the script again in every process, which would ask again in each.
    script = tmp_path / "asks.py"
    script.write_text(
        "print('read')\n"
        "from burstwise.core.search.pool import Pool\n"
        "from burstwise.core.search.trial import Ground\n"
        "from burstwise.core.search import Free, Keep, Objective, Wish\n"
        "from burstwise.core.storage import load\n"
        "wish = Wish(Objective('burst.top_voltage_reached_V', True), (Keep('margin', 0.2),))\n"
        f"ground = Ground(load({str(FILE)!r}), wish, (Free('supply.voltage', 20.0, 40.0),))\n"
        "with Pool(1, lambda: True, ground) as pool:\n"
        "    pool._coming[0].result(120)\n"
        "    pool.run([{'supply.voltage': 25.0}])\n"
        "    print(len(pool.done))\n"
    )
    done = subprocess.run([sys.executable, str(script)], capture_output=True, text=True, check=True)
    assert done.stdout.split() == ["read", "1"]


def test_trials_run_here_until_a_process_is_up(
    ground: Ground, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked = [{SUPPLY: 25.0, DUTY: 0.1}, {SUPPLY: 30.0, DUTY: 0.1}, {SUPPLY: 35.0, DUTY: 0.1}]
    with Pool(1, lambda: True, ground) as pool:
        coming = pool._coming
        here: list[Any] = []

        def counted(ground: Ground, values: Any) -> Sample:
            here.append(values)
            if len(here) == 2:  # from here on it is up
                coming[0].result(120)
            return sampled(ground, values)

        monkeypatch.setattr("burstwise.core.search.pool.sampled", counted)
        pool.run(asked)
        assert here[:2] == asked[: len(here)][:2]
        assert len(here) <= 2
        assert [sample.values for sample in pool.done] == asked
        alone = [sampled(ground, values) for values in asked]
        assert [told(sample) for sample in pool.done] == [told(sample) for sample in alone]


def test_another_duty_reads_the_table_that_stands(
    ground: Ground, monkeypatch: pytest.MonkeyPatch
) -> None:
    made: list[float] = []
    table = trial.stage_table

    def counted(design: Any, highest: float, **more: Any) -> Any:
        made.append(highest)
        return table(design, highest, **more)

    monkeypatch.setattr(trial, "stage_table", counted)
    trial._recent.clear()
    first = sampled(ground, {SUPPLY: 30.0, DUTY: 0.1})
    again = sampled(ground, {SUPPLY: 30.0, DUTY: 0.2})
    assert made == [30.0]
    assert told(first) != told(again)
    trial._recent.clear()
    assert told(sampled(ground, {SUPPLY: 30.0, DUTY: 0.2})) == told(again)
    assert made == [30.0, 30.0]
    # Another supply and another stage have tables of their own.
    sampled(ground, {SUPPLY: 29.0, DUTY: 0.2})
    sampled(ground, {SUPPLY: 30.0, DUTY: 0.2, TURNS: 7.0})
    assert made == [30.0, 30.0, 29.0, 30.0]
