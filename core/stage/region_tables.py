"""Tables of the regions that a run has entered, in the compiled stepping's form."""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import expm

from core.stage import kernel
from core.stage.books import Books, Ledger
from core.stage.network import Network, Region
from core.stage.stamps import FIRST_LOSS, FIRST_MONITOR

Array = NDArray[np.float64]

STEPS_PER_RING: Final = 16
"""Longest step as a part of the fastest weakly damped mode of a region."""
_SLOTS: Final = 48


class RegionTables:
    """Step tables, bounds and books of the regions of one network, a slot each.

    Parameters
    ----------
    network : Network
        Where the regions come from.
    tick : float
        Length of a tick [s].
    """

    def __init__(self, network: Network, tick: float) -> None:
        self.network = network
        self.tick = tick
        self._regions: list[Region] = []
        lengths, width = kernel.LENGTHS, kernel.WIDTH
        stamps = network.stamps
        # A region sets all of its slot; clearing the room for many would take longer than that.
        self._steps = lined_up((_SLOTS, lengths, width, kernel.COLUMNS))
        self._read_outs = np.empty((_SLOTS, stamps.read_outs.shape[1], width))
        self._lossy = np.empty((_SLOTS, len(stamps.losses)), dtype=bool)
        self._rates = np.empty((_SLOTS, kernel.MONITORS, width))
        self._bounds = lined_up((_SLOTS, 2, 1 + kernel.MONITORS))
        self._matrices = np.empty((_SLOTS, width, width))
        self._halves = np.empty((_SLOTS, kernel.HALVINGS, width, width))
        self._depths = np.empty(_SLOTS, dtype=np.int64)
        self._base_ticks = np.empty(_SLOTS, dtype=np.int64)
        self._slot_of = np.full(network.region_count, -1, dtype=np.int64)
        self._sums = lined_up((_SLOTS, lengths, kernel.SQUARE))
        self._ledger = Ledger(network)

    def build(self, codes: Iterable[int]) -> None:
        """Build the tables of regions that are not there yet."""
        wanted = [code for code in dict.fromkeys(codes) if self._slot_of[code] < 0]
        if not wanted:
            return
        regions = [self.network.region(code) for code in wanted]
        stacked = np.array([region.matrix for region in regions])
        # Halves of a tick where a region is too quick for the books' series.
        paces = (np.abs(stacked).sum(axis=1).max(axis=1) * (2.0 * self.tick)).tolist()
        depths = [
            min(math.ceil(math.log2(pace)), kernel.HALVINGS) if pace > 1.0 else 0 for pace in paces
        ]
        parts = expm(stacked * (self.tick * np.power(0.5, depths))[:, None, None])
        bases = self._base_steps(stacked)
        for region, part, depth, base in zip(regions, parts, depths, bases, strict=True):
            slot = len(self._regions)
            if slot == self._steps.shape[0]:
                self._grow()
            self._regions.append(region)
            kernel.fill_region(
                region.matrix,
                part,
                depth,
                self.tick,
                region.read_outs,
                FIRST_MONITOR,
                self._matrices[slot],
                self._read_outs[slot],
                self._halves[slot],
                self._rates[slot],
                self._steps[slot],
                self._sums[slot],
            )
            self._depths[slot] = depth
            self._lossy[slot] = region.lossy
            self._bounds[slot, :, 1:] = region.bounds
            self._bounds[slot, :, 0] = 0.0, 2.0
            self._base_ticks[slot] = base
            self._slot_of[region.code] = slot

    @property
    def codes(self) -> tuple[int, ...]:
        """Codes of the regions built so far."""
        return tuple(region.code for region in self._regions)

    def _base_steps(self, matrices: Array) -> NDArray[np.int64]:
        """Longest step of each region in ticks, short enough for its fastest ringing mode."""
        values = np.linalg.eigvals(matrices[:, :-1, :-1])
        pace = np.abs(values.imag)
        pace[np.abs(values.real) > pace] = 0.0
        fastest = np.maximum(pace.max(axis=1), 1e-30)
        allowed = 2 * math.pi / (STEPS_PER_RING * fastest * self.tick)
        halvings = np.clip(np.ceil(np.log2(kernel.TICKS / allowed)), 0, 6).astype(np.int64)
        return np.asarray(kernel.TICKS >> halvings, dtype=np.int64)

    def _grow(self) -> None:
        self._steps = _doubled_lined_up(self._steps)
        self._read_outs = doubled(self._read_outs)
        self._lossy = doubled(self._lossy)
        self._rates = doubled(self._rates)
        self._bounds = _doubled_lined_up(self._bounds)
        self._matrices = doubled(self._matrices)
        self._halves = doubled(self._halves)
        self._depths = doubled(self._depths)
        self._base_ticks = doubled(self._base_ticks)
        self._sums = _doubled_lined_up(self._sums)

    def tables(self, law: kernel.Law) -> kernel.Tables:
        """What the stepping reads; to be taken anew after each `build`."""
        return kernel.Tables(
            self._steps.reshape(-1),
            self._rates.reshape(-1),
            self._bounds.reshape(-1),
            self._slot_of,
            self._base_ticks,
            self._sums.reshape(-1),
            *law,
        )

    def slot(self, code: int) -> int:
        """Slot of a region, -1 where it is not built."""
        return int(self._slot_of[code])

    def monitors(self, code: int, inner: Array) -> Array:
        """Monitors of a state of WIDTH places in a region."""
        rows: Array = self._read_outs[self._slot_of[code], FIRST_MONITOR:FIRST_LOSS]
        return rows @ inner

    def empty_books(self) -> None:
        """Forget what is booked."""
        self._sums[: len(self._regions)] = 0.0

    def close_books(self, stored: tuple[float, float]) -> Books:
        """Books of what was booked since the last call; `stored` as in `Ledger.books`."""
        count, ledger = len(self._regions), self._ledger
        moments = np.empty((count, kernel.WIDTH, kernel.WIDTH))
        kernel.integrals(
            self._sums.reshape(-1),
            self._steps.reshape(-1),
            self._matrices,
            self._halves,
            self._depths,
            self.tick,
            moments,
        )
        values = np.empty(len(ledger.left))
        kernel.turnover(moments, self._read_outs, ledger.left, ledger.right, values)
        times = moments[:, -1, -1]
        seen = np.asarray(self._lossy[:count][times > 0].any(axis=0))
        return ledger.books(values, float(times.sum()), seen, stored)


def lined_up(shape: tuple[int, ...]) -> Array:
    """Room that starts at a cache line: vector loads across two lines take twice as long."""
    room = np.empty(math.prod(shape) + 8)
    first = -(room.ctypes.data // 8) % 8
    return room[first : first + math.prod(shape)].reshape(shape)


def doubled(table: NDArray[Any]) -> NDArray[Any]:
    """Same table with as much empty room behind."""
    return np.concatenate([table, np.empty_like(table)])


def _doubled_lined_up(table: Array) -> Array:
    longer = lined_up((2 * table.shape[0], *table.shape[1:]))
    longer[: table.shape[0]] = table
    return longer
