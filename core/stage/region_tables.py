"""Tables of the regions that a run has entered, in the compiled stepping's form."""

from __future__ import annotations

import math
import threading
from collections.abc import Iterable
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from burstwise.core.arrays import Array
from burstwise.core.stage import kernel
from burstwise.core.stage.books import Books, Ledger
from burstwise.core.stage.network import Network, Visited
from burstwise.core.stage.stamps import FIRST_MONITOR

STEPS_PER_RING: Final = 16
"""Longest step as a part of the fastest weakly damped mode of a region."""
_SLOTS: Final = 512
"""Regions that tables hold before those out of use are given up. There is room for twice as many,
which the system hands out as it is written to: copying all costs more than a run."""
_ROOM: Final = {
    "_steps": (kernel.LENGTHS, kernel.WIDTH, kernel.INNER),
    "_sums": (kernel.LENGTHS, kernel.SQUARE),
    "_views": (kernel.WIDTH, kernel.VIEWED),
    "_bounds": (2, kernel.MONITORS),
    "_matrices": (kernel.WIDTH, kernel.WIDTH),
    "_halves": (kernel.HALVINGS, kernel.BLOCK),
}
"""Numbers of each slot, the same for every network."""


class RegionTables:
    """Step tables, bounds and books of the regions of one network, a slot each.

    Tables can be moved to another network of the same layout. A region whose matrix is the same
    there, as at another supply voltage or where only another segment holds what has changed, is
    not filled anew; what stands in the tables depends on the present network alone.

    Parameters
    ----------
    network : Network
        Where the regions come from.
    tick : float
        Length of a tick [s].
    room : RegionTables, optional
        Tables that nobody needs any more, to take the room of: new room costs as much as a run.
    """

    _steps: Array
    _sums: Array
    _views: Array
    _bounds: Array
    _matrices: Array
    _halves: Array

    def __init__(self, network: Network, tick: float, *, room: RegionTables | None = None) -> None:
        self.network = network
        self.tick = tick
        # A region sets all of its slot; clearing the room for many would take longer than that.
        for name, shape in _ROOM.items():
            mine = lined_up((2 * _SLOTS, *shape)) if room is None else getattr(room, name)
            setattr(self, name, mine)
        slots, stamps = len(self._steps), network.stamps
        self._read_outs = np.empty((slots, stamps.read_outs.shape[1], kernel.WIDTH))
        self._lossy = np.empty((slots, len(stamps.losses)), dtype=bool)
        self._depths = np.empty(slots, dtype=np.int64)
        self._base_ticks = np.empty(slots, dtype=np.int64)
        # What is booked in each slot, and which network used it last, by its number.
        self._lengths = np.zeros(slots, dtype=np.int64)
        self._used = np.zeros(slots, dtype=np.int64)
        self._networks = 1
        self._codes = np.empty(slots, dtype=np.int64)
        self._taken = 0
        # Where a region's slot is in use, and where one is left from the network before.
        self._slot_of = np.full(network.region_count, -1, dtype=np.int64)
        self._kept_slot = self._slot_of.copy()
        self._booked = np.zeros(network.region_count, dtype=bool)
        self._ledger = Ledger(network)

    def fits(self, network: Network) -> bool:
        """Whether the tables can be moved to a network."""
        mine = self.network
        return (
            network.layout == mine.layout
            and network.order == mine.order
            and network.stamps.losses == mine.stamps.losses
            and network.stamps.read_outs.shape[1] == mine.stamps.read_outs.shape[1]
        )

    @property
    def large(self) -> bool:
        """Whether one run has entered more regions than tables are to hold."""
        return self._taken > _SLOTS

    def move_to(self, network: Network, tick: float) -> None:
        """Serve another network that `fits`, from a cold start on."""
        if tick != self.tick:
            # No matrix is equal to these: every step is of another length.
            self._matrices[: self._taken] = math.nan
        self.network, self.tick = network, tick
        self._networks += 1
        self._slot_of[:] = -1
        self._booked[:] = False
        self._ledger = Ledger(network)
        self.empty_books()

    def build(self, codes: Iterable[int]) -> None:
        """Build the tables of regions that are not there yet."""
        wanted = [code for code in dict.fromkeys(codes) if self._slot_of[code] < 0]
        if not wanted:
            return
        slots = self._slots_for(wanted)
        regions = self.network.regions(wanted)
        self._lossy[slots] = regions.lossy
        self._bounds[slots] = regions.bounds
        anew = np.empty(len(slots), dtype=bool)
        kernel.fill_regions(
            slots,
            regions.systems,
            regions.read_outs,
            FIRST_MONITOR,
            self.tick,
            self._matrices,
            self._depths,
            self._halves.reshape(-1),
            self._steps.reshape(-1),
            self._read_outs,
            self._views,
            anew,
        )
        if anew.any():
            self._base_ticks[slots[anew]] = self._paces(regions.systems[anew])
        self._slot_of[wanted] = slots

    def _slots_for(self, codes: list[int]) -> NDArray[np.int64]:
        """Slots of some regions, those that are not known where there is room."""
        slots = self._kept_slot[codes]
        self._used[slots[slots >= 0]] = self._networks
        unknown = np.array(codes)[slots < 0]
        if len(unknown):
            new = self._room_for(len(unknown))
            self._kept_slot[unknown] = new
            self._codes[new] = unknown
            self._matrices[new] = math.nan
            slots = self._kept_slot[codes]
        return slots

    def _room_for(self, count: int) -> NDArray[np.int64]:
        """Slots behind all others; those that have been out of use for longest; more behind."""
        found = self._fresh(min(count, max(_SLOTS - self._taken, 0)))
        if len(found) < count:
            unused = np.flatnonzero(self._used[: self._taken] < self._networks)
            oldest = np.argsort(self._used[unused], kind="stable")
            given_up = unused[oldest[: count - len(found)]]
            self._kept_slot[self._codes[given_up]] = -1
            self._used[given_up] = self._networks
            found = np.concatenate([found, given_up])
        return np.concatenate([found, self._fresh(count - len(found))])

    def _fresh(self, count: int) -> NDArray[np.int64]:
        """Slots that nothing stands in yet."""
        found = np.arange(self._taken, self._taken + count)
        self._taken += count
        while self._taken > len(self._steps):
            self._grow()
        self._used[found] = self._networks
        return found

    def _paces(self, systems: Array) -> NDArray[np.int64]:
        """Longest step of regions in ticks, by their fastest ringing modes."""
        values = np.linalg.eigvals(systems[:, :-1, :-1])
        ringing = np.abs(values.imag)
        ringing[np.abs(values.real) > ringing] = 0.0
        fastest = np.maximum(ringing.max(axis=1), 1e-30)
        allowed = 2 * math.pi / (STEPS_PER_RING * fastest * self.tick)
        halvings = np.clip(np.ceil(np.log2(kernel.TICKS / allowed)), 0, 6)
        return np.asarray(kernel.TICKS >> halvings.astype(np.int64))

    @property
    def visited(self) -> Visited:
        """Regions that something was booked in."""
        return Visited(self.network.layout, tuple(np.flatnonzero(self._booked).tolist()))

    def prepare(self, hint: Visited) -> None:
        """Build the regions that a run of a network of the same layout entered."""
        if hint.layout == self.network.layout:
            self.build(hint.codes)

    def _grow(self) -> None:
        for name in (*_ROOM, "_read_outs", "_lossy", "_depths", "_base_ticks", "_codes"):
            setattr(self, name, doubled(getattr(self, name)))
        self._lengths = np.append(self._lengths, np.zeros_like(self._lengths))
        self._used = np.append(self._used, np.zeros_like(self._used))

    def tables(self, law: kernel.Law, *, halvings: int = 0) -> kernel.Tables:
        """What the stepping reads; to be taken anew after each `build`.

        `halvings` tells how often the longest step of every region is halved.
        """
        return kernel.Tables(
            self._steps.reshape(-1),
            self._views.reshape(-1),
            self._bounds.reshape(-1),
            self._slot_of,
            self._base_ticks >> halvings if halvings else self._base_ticks,
            self._sums.reshape(-1),
            self._lengths,
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
        self._lengths[:] = 0

    def close_books(self, stored: tuple[float, float]) -> Books:
        """Books of what was booked since the last call; `stored` as in `Ledger.books`."""
        ledger, slots = self._ledger, np.flatnonzero(self._lengths)
        # Books are added up in the order of the codes, whatever was entered first.
        slots = slots[np.argsort(self._codes[slots])]
        moments = np.empty((len(slots), kernel.WIDTH, kernel.WIDTH))
        kernel.integrals(
            slots,
            self._sums.reshape(-1),
            self._lengths,
            self._steps.reshape(-1),
            self._matrices,
            self._halves.reshape(-1),
            self._depths,
            self.tick,
            moments,
        )
        values = np.empty(len(ledger.left))
        duration = kernel.turnover(
            slots, moments, self._read_outs, ledger.left, ledger.right, values
        )
        self._booked[self._codes[slots]] = True
        seen = np.asarray(self._lossy[slots].any(axis=0))
        return ledger.books(values, duration, seen, stored)


class SpareTables:
    """Tables that no run uses any more, kept for the next one.

    Most runs follow one of the same stage at another supply or on-resistance, which leaves most of
    their tables as they are. Safe between threads: tables are taken out while they are in use.

    Parameters
    ----------
    room : int
        Tables kept at most; the longest unused goes first.
    """

    def __init__(self, room: int) -> None:
        self._room, self._lock = room, threading.Lock()
        self._spare: list[RegionTables] = []

    def take(self, network: Network, tick: float) -> RegionTables:
        """Tables of a network, moved from another one where any fit."""
        with self._lock:
            fitting = [item for item in self._spare if item.fits(network)]
            # Those of the same tick, and those last used, have most in common.
            fitting.sort(key=lambda item: item.tick == tick)
            found = fitting[-1] if fitting else None
            if found is not None:
                self._spare.remove(found)
            # Where none fits, the one that would go first leaves its room.
            room = self._spare.pop(0) if found is None and len(self._spare) == self._room else None
        if found is None:
            return RegionTables(network, tick, room=room)
        found.move_to(network, tick)
        return found

    def give(self, tables: RegionTables) -> None:
        """Tables that are no longer used; such as have grown large are not kept."""
        if tables.large:
            return
        with self._lock:
            self._spare.append(tables)
            del self._spare[: -self._room]


def lined_up(shape: tuple[int, ...]) -> Array:
    """Room that starts at a cache line: vector loads across two lines take twice as long."""
    room = np.empty(math.prod(shape) + 8)
    first = -(room.ctypes.data // 8) % 8
    return room[first : first + math.prod(shape)].reshape(shape)


def doubled(table: NDArray[Any]) -> NDArray[Any]:
    """Same table with as much empty room behind, lined up where it holds numbers."""
    shape = (2 * len(table), *table.shape[1:])
    longer = lined_up(shape) if table.dtype == np.float64 else np.empty(shape, table.dtype)
    longer[: len(table)] = table
    return longer
