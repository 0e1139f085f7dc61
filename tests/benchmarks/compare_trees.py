"""Start and drag of this checkout against those of another one, in the same run.

`python tests/benchmarks/compare_trees.py TREE [--rounds N] [--moves N]`, where TREE is a checkout
of another commit (`git worktree add TREE COMMIT`). Each round runs both, in turn the one and the
other first, so that what else the machine does meets both alike; the first start of each fills its
caches and does not count. Prints the medians, the range of the rounds and the ratio; the starts
are offscreen and the drags those of `bench_drag.py` of each tree.
"""

from __future__ import annotations

import argparse
import json
import os
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from bench_start import CHILD

HERE = Path(__file__).parents[2]
Figures = dict[str, float]


def output(tree: Path, arguments: list[str]) -> str:
    """What Python prints that imports the package of a tree."""
    with tempfile.TemporaryDirectory() as folder:
        surroundings = {
            **os.environ,
            "PYTHONPATH": str(tree / ".package"),
            "OPENBLAS_NUM_THREADS": "1",
            "QT_QPA_PLATFORM": "offscreen",
            "XDG_CONFIG_HOME": folder,
            "XDG_DATA_HOME": folder,
        }
        command = [sys.executable, *arguments]
        done = subprocess.run(
            command, env=surroundings, cwd=tree, stdout=subprocess.PIPE, text=True, check=True
        )
    return done.stdout


def start_figures(tree: Path) -> Figures:
    """One start of the window [s]."""
    told = output(tree, ["-c", CHILD, repr(time.time())])
    names = ("start: first paint [s]", "start: first results [s]")
    return dict(zip(names, json.loads(told.splitlines()[-1]), strict=True))


def drag_figures(tree: Path, moves: int) -> Figures:
    """Frames of the drags, medians [ms]."""
    script = tree / "tests" / "benchmarks" / "bench_drag.py"
    told = json.loads(output(tree, [str(script), str(moves), "--json"]))
    return {f"{each['what'].partition(';')[0]} [ms]": 1e3 * each["seconds"] for each in told}


def row(name: str, mine: list[float], other: list[float]) -> str:
    """Line of the table."""
    here, there = statistics.median(mine), statistics.median(other)
    return (
        f"{name:<56} {here:8.2f} ({min(mine):.2f} to {max(mine):.2f})"
        f" {there:8.2f} ({min(other):.2f} to {max(other):.2f})   ratio {here / there:.2f}"
    )


def main() -> None:
    parser = argparse.ArgumentParser(description="Start and drag against another checkout")
    parser.add_argument("tree", type=Path)
    parser.add_argument("--rounds", type=int, default=5)
    parser.add_argument("--moves", type=int, default=200)
    asked = parser.parse_args()
    trees = (HERE, asked.tree.resolve())
    seen: dict[Path, list[Figures]] = {tree: [] for tree in trees}
    for tree in trees:
        start_figures(tree)
    for number in range(asked.rounds):
        for tree in trees if number % 2 == 0 else trees[::-1]:
            seen[tree].append(start_figures(tree) | drag_figures(tree, asked.moves))
    print(f"this tree, then {trees[1]}; load {os.getloadavg()[0]:.1f}")
    for name in seen[HERE][0]:
        columns = [[figures[name] for figures in seen[tree] if name in figures] for tree in trees]
        if all(columns):
            print(row(name, *columns))


if __name__ == "__main__":
    main()
