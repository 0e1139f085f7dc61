"""Figures of a benchmark, printed as lines or, with ``--json``, as JSON for the page of all."""

from __future__ import annotations

import json
import sys
import time
from collections.abc import Callable, Iterable
from dataclasses import asdict, dataclass


@dataclass(frozen=True)
class Figure:
    """A measured time with what it is to be held against, all of one run.

    Attributes
    ----------
    what : str
        What was done.
    seconds : float
        Time that it took [s].
    floor, peer : float, optional
        Time of the least that has to be done, and of another way to the same result [s].
    floor_is, peer_is : str
        What these are.
    """

    what: str
    seconds: float
    floor: float | None = None
    floor_is: str = ""
    peer: float | None = None
    peer_is: str = ""


def tell(figures: Iterable[Figure]) -> None:
    """Print them: each as soon as it is there, or all as JSON at the end."""
    if "--json" in sys.argv:
        json.dump([asdict(each) for each in figures], sys.stdout)
        return
    for each in figures:
        print(line(each), flush=True)


def least_time(call: Callable[[], object], repeats: int = 5) -> float:
    """Smallest wall time of a call [s]."""
    times = []
    for _ in range(repeats):
        began = time.perf_counter()
        call()
        times.append(time.perf_counter() - began)
    return min(times)


def line(figure: Figure) -> str:
    """One line.

    Examples
    --------
    >>> line(Figure("a step", 2e-6, floor=1e-6, floor_is="a product"))
    'a step: 2 us; 2 times a product'
    """
    words = [f"{figure.what}: {in_units(figure.seconds)}"]
    if figure.floor is not None:
        words.append(f"{figure.seconds / figure.floor:.3g} times {figure.floor_is}")
    if figure.peer is not None:
        words.append(f"{figure.peer / figure.seconds:.3g} times as fast as {figure.peer_is}")
    return "; ".join(words)


def in_units(seconds: float) -> str:
    """Time with three digits and a unit.

    Examples
    --------
    >>> in_units(0.0123), in_units(4.5e-6), in_units(3)
    ('12.3 ms', '4.5 us', '3 s')
    """
    for size, unit in ((1.0, "s"), (1e-3, "ms"), (1e-6, "us")):
        if seconds >= size:
            return f"{seconds / size:.3g} {unit}"
    return f"{seconds * 1e9:.3g} ns"
