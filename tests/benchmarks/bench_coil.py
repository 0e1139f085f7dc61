"""Times of the distributed resonator and of a coil whose primary alone moves, [s]."""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable, Iterator
from dataclasses import replace

import numpy as np
from figures import Figure, tell
from scipy.linalg import eigh

from burstwise.core.coil.geometry import (
    ConductorKind,
    PrimaryConductor,
    PrimaryGeometry,
    PrimaryShape,
    SecondaryGeometry,
    TopLoad,
    TopLoadKind,
)
from burstwise.core.coil.summary import coil_constants

WIRE = PrimaryConductor(ConductorKind.WIRE, diameter=0.0025)
PRIMARY = PrimaryGeometry(PrimaryShape.HELICAL, WIRE, 0.085, 8, 0.01)
SECONDARY = SecondaryGeometry(0.10964, 0.000315, 0.00036, 1000)
TOP = TopLoad(TopLoadKind.TOROID, 0.25, 0.05, centre_height=0.05)


def median_time(work: Callable[[int], object], repeats: int = 40) -> float:
    """Median time of one call [s]."""
    times = []
    for i in range(repeats):
        start = time.perf_counter()
        work(i)
        times.append(time.perf_counter() - start)
    return statistics.median(times)


def figures() -> Iterator[Figure]:
    """All of a coil with the dense solve of its rings as a floor, and a primary that moves."""
    for rings in (50, 100, 200):

        def whole(i: int, rings: int = rings) -> object:
            top = replace(TOP, centre_height=0.05 + 1e-6 * (i + 1))
            return coil_constants(PRIMARY, SECONDARY, top, base_height=0.1, rings=rings)

        dense = np.random.default_rng(1).normal(size=(rings, rings))
        both = dense @ dense.T + rings * np.eye(rings)
        yield Figure(
            f"all of a coil, {rings} rings",
            median_time(whole),
            floor=median_time(lambda _, both=both: eigh(both, both)),
            floor_is="the generalised eigenvalues of two dense matrices of that size",
        )

    def moved(i: int) -> object:
        primary = replace(PRIMARY, start_height=1e-4 * i)
        return coil_constants(primary, SECONDARY, TOP, base_height=0.1)

    coil_constants(PRIMARY, SECONDARY, TOP, base_height=0.1)
    yield Figure("a primary moved, 100 rings", median_time(moved))


if __name__ == "__main__":
    tell(figures())
