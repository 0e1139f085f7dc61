"""Times and agreement of the limit map, remedies, protection and random builds.

`python tests/benchmarks/bench_map.py [POINTS]` prints figures; POINTS single evaluations per
example (200 by default) are compared with the map.
"""

from __future__ import annotations

import os

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import sys
import time
from importlib.resources import files
from pathlib import Path

import numpy as np

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


def timed(words: str, start: float) -> float:
    now = time.perf_counter()
    print(f"  {words}: {now - start:.3f} s")
    return now


def compare(design, found, points: int) -> None:
    random = np.random.default_rng(1)
    same, apart = 0, []
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
    print(
        f"  same first limit at {same} of {points} points; margin of the first limit (above −1) "
        f"within 0.02 at {share:.1%}, median {np.median(apart):.4f}, 95 % "
        f"{np.quantile(apart, 0.95):.4f}, worst {max(apart):.4f}"
    )


def main(points: int) -> None:
    warm = load(EXAMPLES / f"{NAMES[1]}.burstwise")
    evaluate(warm, verify=False)
    for name in NAMES:
        print(name)
        design = with_values(load(EXAMPLES / f"{name}.burstwise"), {"interrupter.enabled": True})
        x, y = axis_over(design, "supply.voltage"), axis_over(design, "interrupter.duty")
        start = time.perf_counter()
        rough_map(design, x, y)
        start = timed("first picture with no table at hand", start)
        ready = stage_table(design, float(x.values[-1]))
        began = timed(f"table of {len(ready.table.voltages)} × 3 engine runs", start)
        for found in limit_maps(design, x, y, ready=ready):
            timed(f"map of {len(found.x.values)} × {len(found.y.values)} points there", began)
        start = time.perf_counter()
        fail_order(design, ready)
        start = timed(f"what fails first up to {reach_of(design):.0f} V, with side loading", start)
        results = evaluate(design, verify=False)
        start = time.perf_counter()
        outcome = chance(results)
        start = timed(
            f"{outcome.builds} builds (response error {outcome.response_error:.1%} rms)", start
        )
        count = len(list(proposals(results)))
        start = timed(f"{count} protections sized", start)
        count = len(list(remedies(results)))
        timed(f"{count} remedies", start)
        compare(design, found, points)


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 200)
