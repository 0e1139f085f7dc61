"""Tables of the regions that a run has entered, in the compiled stepping's form."""

from __future__ import annotations

import math
import threading
from collections.abc import Iterable
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from burstwise.core.stage import kernel
from burstwise.core.stage.books import Books, Ledger
from burstwise.core.stage.network import Network, Visited
from burstwise.core.stage.stamps import FIRST_MONITOR

Array = NDArray[np.float64]

STEPS_PER_RING: Final = 16
"""Longest step as a part of the fastest weakly damped mode of a region."""
_SLOTS: Final = 192
_MOST_KEPT: Final = 400
"""Slots above which tables are not kept for another run."""


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
    """

    def __init__(self, network: Network, tick: float) -> None:
        self.network = network
        self.tick = tick
        self._codes: list[int] = []
        # Books are added up in the order of the codes, whatever was entered first.
        self._ranking = np.zeros(0, dtype=np.int64)
        lengths, width = kernel.LENGTHS, kernel.WIDTH
        stamps = network.stamps
        # A region sets all of its slot; clearing the room for many would take longer than that.
        self._steps = lined_up((_SLOTS, lengths, width, kernel.INNER))
        self._read_outs = np.empty((_SLOTS, stamps.read_outs.shape[1], width))
        self._lossy = np.empty((_SLOTS, len(stamps.losses)), dtype=bool)
        self._views = lined_up((_SLOTS, width, kernel.VIEWED))
        self._bounds = lined_up((_SLOTS, 2, kernel.MONITORS))
        self._matrices = np.empty((_SLOTS, width, width))
        self._halves = np.empty((_SLOTS, kernel.HALVINGS, kernel.BLOCK))
        self._depths = np.empty(_SLOTS, dtype=np.int64)
        self._base_ticks = np.empty(_SLOTS, dtype=np.int64)
        self._sums = lined_up((_SLOTS, lengths, kernel.SQUARE))
        # Where a region's slot is in use, and where one is left from the network before.
        self._slot_of = np.full(network.region_count, -1, dtype=np.int64)
        self._kept_slot = self._slot_of.copy()
        self._booked = np.zeros(network.region_count, dtype=bool)
        self._ledger = Ledger(network)
        self._open = False

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
    def count(self) -> int:
        """Regions that the tables hold, of this network and of those before."""
        return len(self._codes)

    def move_to(self, network: Network, tick: float) -> None:
        """Serve another network that `fits`, from a cold start on."""
        if tick != self.tick:
            # No matrix is equal to these: every step is of another length.
            self._matrices[: len(self._codes)] = math.nan
        self.network, self.tick = network, tick
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
        matrices = self._spread(regions.systems)
        same = self._matrices[slots] == matrices
        # All but the last column moves the coordinates.
        anew = ~same[..., :-1].all(axis=(1, 2))
        changed = anew | ~same[..., -1].all(axis=1)
        self._matrices[slots] = matrices
        fresh = slots[anew]
        if len(fresh):
            self._depths[fresh] = self._depths_of(matrices[anew])
            self._base_ticks[fresh] = self._paces(regions.systems[anew])
        kernel.fill_views(
            slots,
            regions.read_outs,
            FIRST_MONITOR,
            self.tick,
            self._matrices,
            self._read_outs,
            self._views,
        )
        kernel.fill_regions(
            slots[changed],
            anew[changed].astype(np.int64),
            self._depths,
            self.tick,
            self._matrices,
            self._halves.reshape(-1),
            self._steps.reshape(-1),
        )
        self._slot_of[wanted] = slots

    def _slots_for(self, codes: list[int]) -> NDArray[np.int64]:
        """Slots of some regions, those that are not known behind all others."""
        unknown = [code for code in codes if self._kept_slot[code] < 0]
        first, last = len(self._codes), len(self._codes) + len(unknown)
        while last > self._steps.shape[0]:
            self._grow()
        self._kept_slot[unknown] = np.arange(first, last)
        self._matrices[first:last] = math.nan
        self._sums[first:last] = 0.0
        self._codes += unknown
        if unknown:
            self._ranking = np.argsort(self._codes)
        return self._kept_slot[codes]

    def _spread(self, systems: Array) -> Array:
        """Systems of (y, 1) with the constant in the last of WIDTH places."""
        wide = np.zeros((len(systems), kernel.WIDTH, kernel.WIDTH))
        order = systems.shape[1] - 1
        wide[:, :order, :order] = systems[:, :order, :order]
        wide[:, :order, -1] = systems[:, :order, -1]
        return wide

    def _depths_of(self, matrices: Array) -> NDArray[np.int64]:
        """Halves of a tick where a region is too quick for the series of the exponential."""
        paces = np.abs(matrices[..., :-1]).sum(axis=1).max(axis=1) * (2.0 * self.tick)
        depths = np.clip(np.ceil(np.log2(np.maximum(paces, 1.0))), 0, kernel.HALVINGS)
        return np.asarray(depths, dtype=np.int64)

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

    def tables(self, law: kernel.Law, *, halvings: int = 0) -> kernel.Tables:
        """What the stepping reads; to be taken anew after each `build`.

        `halvings` tells how often the longest step of every region is halved.
        """
        self._open = True
        return kernel.Tables(
            self._steps.reshape(-1),
            self._views.reshape(-1),
            self._bounds.reshape(-1),
            self._slot_of,
            self._base_ticks >> halvings if halvings else self._base_ticks,
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
        if self._open:
            self._sums[: len(self._codes)] = 0.0
        self._open = False

    def close_books(self, stored: tuple[float, float]) -> Books:
        """Books of what was booked since the last call; `stored` as in `Ledger.books`."""
        count, ledger = len(self._codes), self._ledger
        moments = np.empty((count, kernel.WIDTH, kernel.WIDTH))
        kernel.integrals(
            self._sums.reshape(-1),
            self._steps.reshape(-1),
            self._matrices,
            self._halves.reshape(-1),
            self._depths,
            self.tick,
            moments,
        )
        self._open = False
        values = np.empty(len(ledger.left))
        duration = kernel.turnover(
            self._ranking, moments, self._read_outs, ledger.left, ledger.right, values
        )
        times = moments[:, -1, -1]
        seen = np.asarray(self._lossy[:count][times > 0].any(axis=0))
        self._booked[np.array(self._codes)[times > 0]] = True
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
        if found is None:
            return RegionTables(network, tick)
        found.move_to(network, tick)
        return found

    def give(self, tables: RegionTables) -> None:
        """Tables that are no longer used; such as have grown large are not kept."""
        if tables.count > _MOST_KEPT:
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
    """Same table with as much empty room behind."""
    return np.concatenate([table, np.empty_like(table)])


def _doubled_lined_up(table: Array) -> Array:
    longer = lined_up((2 * table.shape[0], *table.shape[1:]))
    longer[: table.shape[0]] = table
    return longer
