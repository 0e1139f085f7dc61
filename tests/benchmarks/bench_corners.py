"""Worst corners and the first limit's corner against brute force, and what corners cost.

`python tests/benchmarks/bench_corners.py [DESIGNS [FIRST]]` scatters DESIGNS designs (200 by
default) around the examples with a gate driver; each corner of each is evaluated by itself.
"""

from __future__ import annotations

import os

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import sys
import time
from concurrent.futures import ThreadPoolExecutor
from importlib.resources import files
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1] / "core" / "evaluate"))
sys.path.insert(0, str(Path(__file__).parents[1] / "reference"))
from corner_designs import brute_force, measured, scattered, smallest, worst_by_force

from burstwise.core.evaluate import evaluate
from burstwise.core.evaluate.corners import corner_points
from burstwise.core.storage import load

EXAMPLES = Path(str(files("burstwise.resources") / "examples"))
NAMES = (
    "classroom-gated-interrupted",
    "classroom-gated-spiking",
    "demonstration-gated-large",
    "classroom-direct-continuous",
)
CLOSE = 0.02
"""Margins this close count as the same corner: two corners may ask alike [1]."""


def main() -> None:
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 200
    start = int(sys.argv[2]) if len(sys.argv) > 2 else 0
    bases = [measured(load(EXAMPLES / f"{name}.burstwise")) for name in NAMES]
    dead, right, ratings, same = 0, 0, 0, 0
    apart: list[float] = []
    shares: list[float] = []
    for seed in range(start, start + count):
        design = scattered(bases[seed % len(bases)], seed)
        begun = time.perf_counter()
        results = evaluate(design)
        whole = time.perf_counter() - begun
        if not results.carrier.oscillates:
            dead += 1
            continue
        begun = time.perf_counter()
        with ThreadPoolExecutor(max_workers=2) as pool:
            corner_points(
                results.design, results.coil, results.table, run=results.carrier, pool=pool
            )
        shares.append((time.perf_counter() - begun) / whole)
        forced = brute_force(design)
        for item in results.limits:
            if item.rating.startswith("lost_loop") or item.corner == "lost loop":
                continue
            name, margin = worst_by_force(forced, item.rating)
            ratings += 1
            there = forced[item.corner].get(item.rating)
            same += name == item.corner or (there is not None and there.margin - margin < CLOSE)
            if np.isfinite(margin) and np.isfinite(item.margin):
                apart.append(abs(item.margin - margin) / max(1.0 - margin, 0.2))
        first = smallest(results)
        least = min(worst_by_force(forced, item.rating)[1] for item in results.limits
                    if not item.rating.startswith("lost_loop"))  # fmt: skip
        there = forced[first.corner][first.rating].margin
        right += there - least < CLOSE * max(1.0, 1.0 - least)
        print(f"{seed}: {first.rating} {first.corner} {first.margin:.3f} forced {least:.3f}",
              flush=True)  # fmt: skip
    ran = count - dead
    print(f"{ran} designs ran, {dead} did not start")
    print(f"first limit's corner right: {right} of {ran}")
    print(f"worst corner of each rating right: {same} of {ratings}")
    for part in (50, 95, 99, 100):
        print(f"what is asked off by, {part} %: {np.percentile(apart, part):.4f}")
    print(f"corners' part of an evaluation, median: {np.median(shares):.3f}")


if __name__ == "__main__":
    main()
