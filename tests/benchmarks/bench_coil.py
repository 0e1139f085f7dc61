"""Times of the distributed resonator and of a coil whose primary alone moves, in ms."""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable
from dataclasses import replace

from burstwise.core.coil import (
    ConductorKind,
    PrimaryConductor,
    PrimaryGeometry,
    PrimaryShape,
    SecondaryGeometry,
    TopLoad,
    TopLoadKind,
    coil_constants,
)

WIRE = PrimaryConductor(ConductorKind.WIRE, diameter=0.0025)
PRIMARY = PrimaryGeometry(PrimaryShape.HELICAL, WIRE, 0.085, 8, 0.01)
SECONDARY = SecondaryGeometry(0.10964, 0.000315, 0.00036, 1000)
TOP = TopLoad(TopLoadKind.TOROID, 0.25, 0.05, centre_height=0.05)


def milliseconds(work: Callable[[int], object], repeats: int = 40) -> str:
    """Median and 90 % of the time of one call."""
    times = []
    for i in range(repeats):
        start = time.perf_counter()
        work(i)
        times.append(1e3 * (time.perf_counter() - start))
    return f"{statistics.median(times):6.1f} ms median, {sorted(times)[int(0.9 * repeats)]:6.1f} ms"


def main() -> None:
    """Print the figures."""
    for rings in (50, 100, 200):

        def whole(i: int, rings: int = rings) -> object:
            top = replace(TOP, centre_height=0.05 + 1e-6 * (i + 1))
            return coil_constants(PRIMARY, SECONDARY, top, base_height=0.1, rings=rings)

        print(f"all of a coil, {rings:3d} rings: {milliseconds(whole)}")

    def moved(i: int) -> object:
        primary = replace(PRIMARY, start_height=1e-4 * i)
        return coil_constants(primary, SECONDARY, TOP, base_height=0.1)

    coil_constants(PRIMARY, SECONDARY, TOP, base_height=0.1)
    print(f"primary moved, 100 rings: {milliseconds(moved)}")


if __name__ == "__main__":
    main()
