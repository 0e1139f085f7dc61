"""Times and agreement of the limit map, remedies, protection and random builds.

`python tests/benchmarks/bench_map.py [POINTS]` tells times; POINTS single evaluations per example
(200 by default) are compared with the map. With `--json` a quarter of them on one example.
"""

from __future__ import annotations

import os

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import sys
import time
from collections.abc import Iterator
from importlib.resources import files
from pathlib import Path

import numpy as np
from figures import Figure, tell

from burstwise.core.design.document import with_values
from burstwise.core.evaluate import evaluate
from burstwise.core.storage import load
from burstwise.core.studies.chance import chance
from burstwise.core.studies.fail_order import fail_order, reach_of
from burstwise.core.studies.limit_map import axis_over, limit_maps, rough_map
from burstwise.core.studies.protection import proposals
from burstwise.core.studies.remedies import remedies
from burstwise.core.studies.stage_table import stage_table

EXAMPLES = Path(str(files("burstwise.resources") / "examples"))
NAMES = (
    "classroom-direct-continuous",
    "classroom-gated-interrupted",
    "classroom-gated-spiking",
    "demonstration-gated-large",
)


SHORT = NAMES[1:2]
POINTS = 200


class Clock:
    """Time since it was asked last."""

    def __init__(self) -> None:
        self._at = time.perf_counter()

    def passed(self) -> float:
        """Time that passed [s]; the next one begins now."""
        before, self._at = self._at, time.perf_counter()
        return self._at - before


def compared(design, found, points: int) -> tuple[str, float]:
    """How a map agrees with single evaluations, in words, and what one of them takes [s]."""
    random = np.random.default_rng(1)
    same, apart = 0, []
    began = time.perf_counter()
    for _ in range(points):
        row, column = random.integers(len(found.y.values)), random.integers(len(found.x.values))
        point = {
            found.x.path: float(found.x.values[column]),
            found.y.path: float(found.y.values[row]),
        }
        alone = evaluate(with_values(design, point), verify=False)
        same += found.names[found.first[row, column]] == alone.limits_as_designed[0].rating
        true = alone.limits_as_designed[0].margin
        if true > -1.0:
            apart.append(abs(float(found.smallest[row, column]) - true))
    share = np.mean(np.array(apart) <= 0.02)
    words = (
        f"same first limit at {same} of {points} points, its margin (above −1) within 0.02 at "
        f"{share:.1%}, median {np.median(apart):.4f}, worst {max(apart):.4f}"
    )
    return words, (time.perf_counter() - began) / points


def of_one(name: str, points: int) -> Iterator[Figure]:
    """Figures of an example."""
    design = with_values(load(EXAMPLES / f"{name}.burstwise"), {"interrupter.enabled": True})
    x, y = axis_over(design, "supply.voltage"), axis_over(design, "interrupter.duty")
    clock = Clock()
    rough_map(design, x, y)
    rough = clock.passed()
    ready = stage_table(design, float(x.values[-1]))
    table = clock.passed()
    *_, found = limit_maps(design, x, y, ready=ready)
    map_time = clock.passed()
    words, one = compared(design, found, points)
    count = len(x.values) * len(y.values)
    alone = {"peer": count * one, "peer_is": f"{count} evaluations, from {points} of them"}
    yield Figure(f"{name}: first picture of the limit map, no table at hand", rough, **alone)
    yield Figure(f"{name}: table of {len(ready.table.voltages)} supplies for it", table)
    yield Figure(f"{name}: map of {count} points from the table; {words}", map_time, **alone)
    results = evaluate(design, verify=False)
    clock.passed()
    fail_order(design, ready)
    order = clock.passed()
    yield Figure(f"{name}: what fails first up to {reach_of(design):.0f} V", order)
    outcome = chance(results)
    yield Figure(
        f"{name}: {outcome.builds} random builds, response error {outcome.response_error:.1%} rms",
        clock.passed(),
        peer=outcome.builds * one,
        peer_is=f"as many evaluations, from {points} of them",
    )
    count = len(list(proposals(results)))
    yield Figure(f"{name}: {count} protections sized", clock.passed())
    count = len(list(remedies(results)))
    yield Figure(f"{name}: {count} remedies", clock.passed())


def figures() -> Iterator[Figure]:
    """All examples; one of them, and fewer points, for the page."""
    words = [word for word in sys.argv[1:] if word != "--json"]
    points, names = (POINTS, NAMES) if "--json" not in sys.argv else (POINTS // 4, SHORT)
    evaluate(load(EXAMPLES / f"{NAMES[1]}.burstwise"), verify=False)
    for name in names:
        yield from of_one(name, int(words[0]) if words else points)


if __name__ == "__main__":
    tell(figures())
