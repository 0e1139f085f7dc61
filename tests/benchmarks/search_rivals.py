"""The search against random choice and differential evolution, with the same number of trials.

Prints the best objective that held all conditions, by wish and seed, over the best known of all.

    python tests/benchmarks/search_rivals.py [EVALUATIONS] [SEEDS]
"""

from __future__ import annotations

import math
import statistics
import sys
from collections.abc import Callable
from pathlib import Path

import numpy as np
from scipy.optimize import differential_evolution

from burstwise.core.search import Keep, Objective, Wish, search
from burstwise.core.search.sample import Trial
from burstwise.core.search.space import Free, edits, free_from_text
from burstwise.core.search.trial import Ground, ground_of, tried
from burstwise.core.storage import load

EXAMPLES = Path(__file__).parents[2] / "resources" / "examples"
MARGIN = Keep("margin", 0.2)
TOP = Objective("burst.top_voltage_reached_V", highest=True)
SMALL = "classroom-gated-interrupted"
LARGE = "demonstration-gated-large"
WISHES = {
    "top voltage, primary and drive": (
        SMALL,
        Wish(TOP, (MARGIN,)),
        (
            "supply.voltage=12:60",
            "interrupter.duty=2%:50%",
            "coil.geometry.primary.turns=3:11",
            "coil.geometry.primary.start_height=-10mm:40mm",
            "coil.geometry.primary.inner_radius=38mm:60mm",
        ),
    ),
    "least heat at 12 kV": (
        SMALL,
        Wish(
            Objective("burst.device_power_W", highest=False),
            (MARGIN, Keep("burst.top_voltage_reached_V", 12e3)),
        ),
        (
            "supply.voltage=12:60",
            "interrupter.duty=2%:50%",
            "coil.geometry.primary.turns=3:11",
            "drive.gated.gate_resistor=1,2.2,4.7,10,22",
        ),
    ),
    "margin of the large coil": (
        LARGE,
        Wish(Objective("margin", highest=True), (Keep("burst.top_voltage_reached_V", 30e3),)),
        (
            "supply.voltage=30:80",
            "coil.geometry.primary.turns=5:10",
            "protection.snubber.resistance=5:40",
            "protection.snubber.capacitance=0.5n:4n",
        ),
    ),
}


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
    """Best objective among trials that hold."""
    better = ground.wish.objective.better
    return max((better(one.objective) for one in trials if one.miss == 0.0), default=-math.inf)


def main(evaluations: int, seeds: int) -> None:
    """Print the table."""
    for name, (file, wish, texts) in WISHES.items():
        design = load(EXAMPLES / f"{file}.burstwise")
        free: tuple[Free, ...] = tuple(free_from_text(design, text) for text in texts)
        ground = ground_of(design, wish, free)
        results: dict[str, list[float]] = {"search": [], "random": [], "evolution": []}
        for seed in range(1, seeds + 1):
            answer = search(design, wish, free, seed=seed, evaluations=evaluations)
            held = [wish.objective.better(one.objective) for one in answer.found]
            results["search"].append(max(held, default=-math.inf))
            random = np.random.default_rng(seed)
            cost, seen = counted(ground, evaluations)
            for _ in range(evaluations):
                cost(random.random(len(free)))
            results["random"].append(best(ground, seen))
            cost, seen = counted(ground, evaluations)
            differential_evolution(
                cost,
                [(0.0, 1.0)] * len(free),
                popsize=6,
                seed=seed,
                polish=False,
                maxiter=max(evaluations // (6 * len(free)) - 1, 1),
            )
            results["evolution"].append(best(ground, seen))
        known = max(max(values) for values in results.values())
        print(f"{name}: best known {known:.5g} (higher is better)")
        for rival, values in results.items():
            loss = [(known - value) / abs(known) for value in values]
            print(
                f"  {rival:10s} median {statistics.median(loss):7.2%} worst {max(loss):7.2%} "
                "below the best known"
            )


if __name__ == "__main__":
    numbers = [int(text) for text in sys.argv[1:]]
    main(*(numbers + [150, 3][len(numbers) :]))
