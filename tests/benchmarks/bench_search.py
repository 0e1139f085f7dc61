"""How long a search takes, how soon it stops, and the memory over many searches.

python tests/benchmarks/bench_search.py [SEARCHES]; with --json no memory.
"""

from __future__ import annotations

import resource
import sys
import threading
import time
from collections.abc import Iterator
from pathlib import Path

from figures import Figure, least_time, tell

from burstwise.core.evaluate import evaluate
from burstwise.core.search import Keep, Objective, Wish, search
from burstwise.core.search.space import free_from_text
from burstwise.core.storage import load

FILE = Path(__file__).parents[2] / "resources/examples/classroom-gated-interrupted.burstwise"
WISH = Wish(Objective("burst.top_voltage_reached_V", highest=True), (Keep("margin", 0.2),))
FIELDS = ("supply.voltage=12:60", "coil.geometry.primary.turns=3:11")
EVALUATIONS = 60
DELAYS = (0.05, 1.0, 4.0, 12.0)
"""Times after which somebody stops: in the beginning, then among trials [s]."""


def stopped_after(delay: float, processes: int) -> float:
    """Time from the wish to stop to the answer [s]."""
    design = load(FILE)
    free = [free_from_text(design, text) for text in FIELDS]
    asked: list[float] = []
    halt = threading.Event()

    def stop() -> None:
        asked.append(time.perf_counter())
        halt.set()

    timer = threading.Timer(delay, stop)
    timer.start()
    answer = search(
        design, WISH, free, seconds=600, processes=processes, go_on=lambda _: not halt.is_set()
    )
    assert answer.stopped
    return time.perf_counter() - asked[0]


def figures() -> Iterator[Figure]:
    """A short search beside as many evaluations, and how late it hears of a stop."""
    design = load(FILE)
    free = [free_from_text(design, text) for text in FIELDS]
    one = least_time(lambda: evaluate(design))
    began = time.perf_counter()
    answer = search(design, WISH, free, evaluations=EVALUATIONS, processes=2)
    yield Figure(
        f"a search of {answer.evaluations} designs in 2 processes beside",
        time.perf_counter() - began,
        peer=answer.evaluations * one,
        peer_is="as many evaluations, one after the other",
    )
    for processes in (2, 0):
        for delay in DELAYS:
            yield Figure(
                f"a search's answer to a stop after {delay:g} s, {processes} processes",
                stopped_after(delay, processes),
            )


def tell_memory(searches: int) -> None:
    """Print the most memory after each of many searches."""
    design = load(FILE)
    free = [free_from_text(design, "supply.voltage=20,25,30,35")]
    for number in range(1, searches + 1):
        search(design, WISH, free, seed=number, evaluations=14, processes=0)
        most = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
        print(f"after search {number}: at most {most:.0f} MB", flush=True)


if __name__ == "__main__":
    tell(figures())
    if "--json" not in sys.argv:
        tell_memory(*([int(text) for text in sys.argv[1:]] or [20]))
