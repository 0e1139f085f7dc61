"""The page of speeds says of each figure what it was held against, and how they compare."""

from __future__ import annotations

import re
import runpy
from dataclasses import asdict
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
BENCHMARKS = ROOT / "tests" / "benchmarks"
MAKER = runpy.run_path(str(ROOT / "docs" / "make_benchmarks.py"))
FIGURES = runpy.run_path(str(BENCHMARKS / "figures.py"))


def test_a_row_has_both_comparisons() -> None:
    figure = FIGURES["Figure"](
        "a step", 4e-6, floor=1e-6, floor_is="a product", peer=8e-3, peer_is="another"
    )
    alone = FIGURES["Figure"]("a walk", 2.0)
    told = MAKER["part"]("Steps", [asdict(figure), asdict(alone)], FIGURES["in_units"])
    rows = [line for line in told.splitlines() if line.startswith("|")]
    assert rows[2] == "| a step | 4 us | a product, 1 us | 4 | another, 8 ms | 2e+03 |"
    assert rows[3] == "| a walk | 2 s | — | — | — | — |"
    assert len({row.count("|") for row in rows}) == 1
    assert told.startswith("\n## Steps\n")


def test_a_line_says_the_same() -> None:
    figure = FIGURES["Figure"]("a step", 4e-6, floor=1e-6, floor_is="a product")
    assert FIGURES["line"](figure) == "a step: 4 us; 4 times a product"
    slow = FIGURES["Figure"]("a step", 4e-6, peer=1.0, peer_is="another")
    assert FIGURES["line"](slow) == "a step: 4 us; 2.5e+05 times as fast as another"


@pytest.mark.parametrize(
    ("seconds", "words"), [(1.0, "1 s"), (0.9996, "1e+03 ms"), (2.34e-8, "23.4 ns")]
)
def test_times_have_a_unit(seconds: float, words: str) -> None:
    assert FIGURES["in_units"](seconds) == words


@pytest.mark.parametrize("name", MAKER["SCRIPTS"])
def test_every_script_tells_its_figures(name: str) -> None:
    text = (BENCHMARKS / f"{name}.py").read_text("utf-8")
    imported = re.search(r"^from figures import (.+)$", text, re.MULTILINE)
    assert imported is not None
    assert {"Figure", "tell"} <= set(imported[1].split(", "))
    assert re.search(r"\btell\(", text.rpartition("def ")[2])


def test_every_script_that_tells_figures_is_on_the_page() -> None:
    telling = {
        file.stem
        for file in BENCHMARKS.glob("bench_*.py")
        if "from figures import" in file.read_text("utf-8")
    }
    assert telling == set(MAKER["SCRIPTS"])


def test_surroundings_are_told() -> None:
    told = MAKER["surroundings"]()
    assert "load" in told
    assert "numpy 2" in told or "numpy 1" in told
