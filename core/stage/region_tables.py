"""Tables of the regions that a run has entered, in the compiled stepping's form."""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from core.stage import kernel
from core.stage.books import Books, Ledger
from core.stage.network import Network, Visited
from core.stage.stamps import FIRST_MONITOR

Array = NDArray[np.float64]

STEPS_PER_RING: Final = 16
"""Longest step as a part of the fastest weakly damped mode of a region."""
_SLOTS: Final = 192


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
        self._codes: list[int] = []
        lengths, width = kernel.LENGTHS, kernel.WIDTH
        stamps = network.stamps
        # A region sets all of its slot; clearing the room for many would take longer than that.
        self._steps = lined_up((_SLOTS, lengths, width, kernel.INNER))
        self._read_outs = np.empty((_SLOTS, stamps.read_outs.shape[1], width))
        self._lossy = np.empty((_SLOTS, len(stamps.losses)), dtype=bool)
        self._views = lined_up((_SLOTS, width, kernel.VIEWED))
        self._bounds = lined_up((_SLOTS, 2, kernel.MONITORS))
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
        regions = self.network.regions(wanted)
        first, last = len(self._codes), len(self._codes) + len(wanted)
        while last > self._steps.shape[0]:
            self._grow()
        # Halves of a tick where a region is too quick for the books' series.
        paces = np.abs(regions.systems).sum(axis=1).max(axis=1) * (2.0 * self.tick)
        depths = np.clip(np.ceil(np.log2(np.maximum(paces, 1.0))), 0, kernel.HALVINGS)
        self._depths[first:last] = depths
        self._lossy[first:last] = regions.lossy
        self._bounds[first:last] = regions.bounds
        self._paces(regions.systems, slice(first, last))
        kernel.fill_regions(
            regions.systems,
            regions.read_outs,
            FIRST_MONITOR,
            self._depths[first:last],
            self.tick,
            first,
            self._matrices,
            self._read_outs,
            self._halves,
            self._views,
            self._steps,
            self._sums,
        )
        self._slot_of[wanted] = np.arange(first, last)
        self._codes += wanted

    def _paces(self, systems: Array, slots: slice) -> None:
        """Longest step of regions in ticks, by their fastest ringing modes."""
        values = np.linalg.eigvals(systems[:, :-1, :-1])
        ringing = np.abs(values.imag)
        ringing[np.abs(values.real) > ringing] = 0.0
        fastest = np.maximum(ringing.max(axis=1), 1e-30)
        allowed = 2 * math.pi / (STEPS_PER_RING * fastest * self.tick)
        halvings = np.clip(np.ceil(np.log2(kernel.TICKS / allowed)), 0, 6).astype(np.int64)
        self._base_ticks[slots] = kernel.TICKS >> halvings

    @property
    def visited(self) -> Visited:
        """Regions built so far."""
        return Visited(self.network.layout, tuple(self._codes))

    def prepare(self, hint: Visited) -> None:
        """Build the regions that a run of a network of the same layout entered."""
        if hint.layout == self.network.layout:
            self.build(hint.codes)

    def _grow(self) -> None:
        self._steps = _doubled_lined_up(self._steps)
        self._read_outs = doubled(self._read_outs)
        self._lossy = doubled(self._lossy)
        self._views = _doubled_lined_up(self._views)
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
            self._views.reshape(-1),
            self._bounds.reshape(-1),
            self._slot_of,
            self._base_ticks,
            self._sums.reshape(-1),
            *law,
        )

    def slot(self, code: int) -> int:
        """Slot of a region, -1 where it is not built."""
        return int(self._slot_of[code])

    def view(self, code: int, inner: Array) -> Array:
        """Monitors and their rates per tick at coordinates of INNER places in a region."""
        turned: Array = np.append(inner, 1.0) @ self._views[self._slot_of[code]]
        return turned

    def empty_books(self) -> None:
        """Forget what is booked."""
        self._sums[: len(self._codes)] = 0.0

    def close_books(self, stored: tuple[float, float]) -> Books:
        """Books of what was booked since the last call; `stored` as in `Ledger.books`."""
        count, ledger = len(self._codes), self._ledger
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
