"""The search against random choice and differential evolution, with the same number of trials.

What counts is the best design that holds everything in the full evaluation. The search spends part
of its trials on full evaluations, the rivals get theirs for nothing.

Prints the best objective that held all conditions, by wish and seed, over the best known of all.

    python tests/benchmarks/search_rivals.py [EVALUATIONS] [SEEDS] [WISHES]
"""

from __future__ import annotations

import math
import statistics
import sys
import time
from collections.abc import Callable

import numpy as np
from scipy.optimize import differential_evolution
from search_wishes import CASES, Case

from burstwise.core.search import search
from burstwise.core.search.sample import Trial, judged
from burstwise.core.search.space import edits
from burstwise.core.search.trial import Ground, confirmed, ground_of, tried

CONFIRMED = 8
"""Full evaluations that a rival gets beyond its trials; the search pays for its own."""


def counted(ground: Ground, most: int) -> tuple[Callable[[np.ndarray], float], list[Trial]]:
    """Cost of coordinates with feasibility first, and what was tried; ends after `most`."""
    seen: list[Trial] = []

    def cost(place: np.ndarray) -> float:
        if len(seen) >= most:
            return 2e3
        trial = tried(ground, edits(ground.free, place))
        seen.append(trial)
        if trial.miss > 0.0:
            return 1e3 + trial.miss
        return -math.atan(ground.wish.objective.better(trial.objective) * 1e-5)

    return cost, seen


def best(ground: Ground, trials: list[Trial]) -> float:
    """Best objective among trials that hold when they are evaluated in full, as the search's do."""
    better = ground.wish.objective.better
    held = [one for one in trials if one.miss == 0.0]
    for one in sorted(held, key=lambda one: better(one.objective), reverse=True)[:CONFIRMED]:
        sample, _ = confirmed(ground, one.values)
        exact = judged(sample, ground.wish, ground.corners)
        if exact.miss == 0.0:
            return better(exact.objective)
    return -math.inf


def rivals(case: Case, evaluations: int, seed: int, ground: Ground) -> dict[str, float]:
    """Best objective of each rival, higher is better."""
    wish, free = case.wish, ground.free
    answer = search(case.design, wish, free, seed=seed, evaluations=evaluations, processes=0)
    held = [wish.objective.better(one.objective) for one in answer.found]
    random = np.random.default_rng(seed)
    cost, drawn = counted(ground, evaluations)
    for _ in range(evaluations):
        cost(random.random(len(free)))
    cost, evolved = counted(ground, evaluations)
    differential_evolution(
        cost,
        [(0.0, 1.0)] * len(free),
        popsize=6,
        seed=seed,
        polish=False,
        maxiter=max(evaluations // (6 * len(free)) - 1, 1),
    )
    return {
        "search": max(held, default=-math.inf),
        "random": best(ground, drawn),
        "evolution": best(ground, evolved),
    }


def losses(values: list[float], known: float) -> list[float]:
    """Distance to the best known, over it; inf where nothing held."""
    return [(known - value) / abs(known) for value in values]


def told(name: str, loss: list[float]) -> str:
    """Line of the table."""
    none = sum(math.isinf(one) for one in loss)
    without = f", nothing held in {none} of {len(loss)}" if none else ""
    return (
        f"  {name:10s} median {statistics.median(loss):7.2%} worst {max(loss):7.2%} "
        f"below the best known{without}"
    )


def main(evaluations: int, seeds: int, wishes: int) -> None:
    """Print the tables."""
    all_losses: dict[str, list[float]] = {}
    for case in CASES[:wishes]:
        began = time.perf_counter()
        ground = ground_of(case.design, case.wish, case.free)
        found = [rivals(case, evaluations, seed, ground) for seed in range(1, seeds + 1)]
        known = max(max(one.values()) for one in found)
        seconds = time.perf_counter() - began
        print(f"{case.name}: best known {known:.5g} (higher is better), {seconds:.0f} s")
        for rival in found[0]:
            loss = losses([one[rival] for one in found], known)
            all_losses.setdefault(rival, []).extend(loss)
            print(told(rival, loss), flush=True)
    print("all wishes together")
    for rival, loss in all_losses.items():
        print(told(rival, loss))


if __name__ == "__main__":
    numbers = [int(text) for text in sys.argv[1:]]
    main(*(numbers + [150, 3, len(CASES)][len(numbers) :]))
