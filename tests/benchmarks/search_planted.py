"""Planted optima: the search against the best point of a grid, every one of which is tried.

Prints the best of each seed over the best of the grid, for two and three free fields.

    python tests/benchmarks/search_planted.py [SEEDS] [EVALUATIONS]
"""

from __future__ import annotations

import itertools
import math
import sys
from pathlib import Path

import numpy as np

from burstwise.core.search import Free, Keep, Objective, Wish, search
from burstwise.core.search.space import edits, free_from_text
from burstwise.core.search.trial import ground_of, tried
from burstwise.core.storage import load

FILE = Path(__file__).parents[2] / "resources/examples/classroom-gated-interrupted.burstwise"
WISH = Wish(
    Objective("burst.top_voltage_reached_V", highest=True),
    (Keep("margin", 0.2), Keep("burst.average_power_W", 12.0, most=True)),
)
SPACES = {
    21: ("supply.voltage=12:60", "interrupter.duty=5%:60%"),
    11: ("supply.voltage=12:60", "interrupter.duty=5%:60%", "interrupter.frequency=50:450"),
}
"""Fields by the points of the grid along each."""


def grid_best(free: tuple[Free, ...], count: int) -> float:
    """Best objective over a grid of all fields that holds every condition."""
    ground = ground_of(load(FILE), WISH, free)
    best = -math.inf
    for place in itertools.product(np.linspace(0.0, 1.0, count), repeat=len(free)):
        trial = tried(ground, edits(free, np.array(place)))
        if trial.miss == 0.0:
            best = max(best, WISH.objective.better(trial.objective))
    return best


def main(seeds: int, evaluations: int) -> None:
    """Print the figures."""
    design = load(FILE)
    for count, texts in SPACES.items():
        free = tuple(free_from_text(design, text) for text in texts)
        known = grid_best(free, count)
        print(f"{len(free)} fields, {count}^{len(free)} points: best {known:.5g}", flush=True)
        near = 0
        for seed in range(1, seeds + 1):
            answer = search(design, WISH, free, seed=seed, evaluations=evaluations, processes=0)
            share = answer.found[0].objective / known if answer.found else 0.0
            near += share >= 0.99
            print(f"  seed {seed}: {share:.4f} of it in {answer.evaluations}", flush=True)
        print(f"  {near} of {seeds} seeds within 1 %", flush=True)


if __name__ == "__main__":
    numbers = [int(text) for text in sys.argv[1:]]
    main(*(numbers + [10, 150][len(numbers) :]))
