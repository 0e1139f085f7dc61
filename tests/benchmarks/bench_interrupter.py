"""Times of sizing, random builds and the knob; run with `python tests/benchmarks/bench_...`."""

import time
from collections.abc import Callable
from dataclasses import replace

import numpy as np

from burstwise.core.interrupter.candidates import astable_candidates
from burstwise.core.interrupter.random_builds import random_builds
from burstwise.core.interrupter.sets import TimerWish
from burstwise.core.interrupter.sizing import size_timer
from burstwise.core.interrupter.stock import ResistorStock
from burstwise.core.interrupter.tolerance import travel_bands
from burstwise.core.interrupter.waveform import scope_reading, waveforms


def milliseconds(call: Callable[[], object], repeats: int = 15) -> str:
    """Smallest and median wall time of a call."""
    times = []
    for _ in range(repeats):
        astable_candidates.cache_clear()
        start = time.perf_counter()
        call()
        times.append(1e3 * (time.perf_counter() - start))
    return f"{min(times):7.2f} ms smallest, {np.median(times):7.2f} ms median"


def main() -> None:
    """Print the times."""
    wish = TimerWish(15.0, 0.02, 0.98, 12.0)
    fine = replace(wish, resistors=ResistorStock(series="E96"))
    one = size_timer(wish).sets[0]
    travel = np.linspace(0, 1, 101)
    print("sizing, E24         ", milliseconds(lambda: size_timer(wish)))
    print("sizing, E96         ", milliseconds(lambda: size_timer(fine)))
    print("10,000 random builds", milliseconds(lambda: random_builds(one)))
    print("bands at 101 travels", milliseconds(lambda: travel_bands(one, travel)))
    print("waveforms           ", milliseconds(lambda: waveforms(one, travel=0.3)))
    print("scope reading       ", milliseconds(lambda: scope_reading(one, travel=0.3)))


if __name__ == "__main__":
    main()
