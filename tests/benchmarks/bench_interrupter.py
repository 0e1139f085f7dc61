"""Times of sizing, random builds and the knob; run with `python tests/benchmarks/bench_...`."""

import time
from collections.abc import Callable, Iterator

import numpy as np
from figures import Figure, tell

from burstwise.core.design.timer_wish import TimerWish
from burstwise.core.interrupter.candidates import astable_candidates
from burstwise.core.interrupter.random_builds import random_builds
from burstwise.core.interrupter.sizing import size_timer
from burstwise.core.interrupter.tolerance import travel_bands
from burstwise.core.interrupter.waveform import scope_reading, waveforms


def least_time(call: Callable[[], object], repeats: int = 15) -> float:
    """Smallest wall time of a call [s]."""
    times = []
    for _ in range(repeats):
        astable_candidates.cache_clear()
        start = time.perf_counter()
        call()
        times.append(time.perf_counter() - start)
    return min(times)


def figures() -> Iterator[Figure]:
    """Sizing, random builds and the knob."""
    wish = TimerWish(frequency=15.0, duty_low=0.02, duty_high=0.98)
    fine = wish.model_copy(update={"resistor_series": "E96"})
    one = size_timer(wish).sets[0]
    travel = np.linspace(0, 1, 101)
    works: dict[str, Callable[[], object]] = {
        "a timer sized from E24": lambda: size_timer(wish),
        "a timer sized from E96": lambda: size_timer(fine),
        "10,000 random builds of a timer": lambda: random_builds(one),
        "tolerance bands at 101 travels of the knob": lambda: travel_bands(one, travel),
        "a timer's waveforms": lambda: waveforms(one, travel=0.3),
        "what a scope reads of it": lambda: scope_reading(one, travel=0.3),
    }
    for what, work in works.items():
        yield Figure(what, least_time(work))


if __name__ == "__main__":
    tell(figures())
