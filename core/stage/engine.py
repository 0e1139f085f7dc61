"""Engine: runs of the stage from one state to another with exact books.

`Engine` owns the region tables of one circuit and the state of one run; it builds a region the
first time a run enters it. The stepping itself is compiled (`core.stage.kernel`).
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from enum import Enum
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import expm

from core.stage import kernel
from core.stage.books import Books, Ledger
from core.stage.circuit import GatedFeed, StageCircuit
from core.stage.elements import Monitor
from core.stage.network import OFF, OHMIC, SATURATED, Network, Region

Array = NDArray[np.float64]

STEPS_PER_CYCLE = 40
"""Longest step as a part of the secondary's period; convergence is tested in tests/core/stage."""
STEPS_PER_RING = 16
"""Longest step as a part of the fastest weakly damped mode of a region."""
SLACK_TICKS = 8
"""How far behind a crossing a step may land, in ticks of h/4096."""
_SLOTS = 24


class Stop(Enum):
    """Why a run came back."""

    REACHED = kernel.REACHED
    SECTION = kernel.AT_SECTION
    CHATTER = kernel.CHATTER
    QUEUE_FULL = kernel.QUEUE_FULL
    CYCLES_FULL = kernel.CYCLES_FULL
    DIVERGED = kernel.DIVERGED


@dataclass(frozen=True, slots=True)
class Trace:
    """Accepted points of a stretch of a run, not evenly spaced.

    Attributes
    ----------
    time : Array (points,)
        Time since the start of the run [s].
    monitors : Array (points, monitors)
        Signals in the order of `Monitor`.
    level : Array (points,)
        Drive level, 0 or 1.
    """

    time: Array
    monitors: Array
    level: NDArray[np.int64]

    def signal(self, monitor: Monitor) -> Array:
        """One signal along the trace."""
        column: Array = self.monitors[:, monitor]
        return column


class Engine:
    """Region tables and run state of one stage circuit.

    Parameters
    ----------
    circuit : StageCircuit
        The stage.
    steps_per_cycle : float
        Longest step as a part of the secondary's period.
    slack : int
        Ticks (of h/4096) that a step may land behind a crossing.
    hint : iterable of int
        Region codes to build at once, e.g. those that a neighbouring run visited.
    cycle_room : int
        Carrier cycles that one run may record.

    Attributes
    ----------
    step : float
        Longest step h [s].
    """

    def __init__(
        self,
        circuit: StageCircuit,
        *,
        steps_per_cycle: float = STEPS_PER_CYCLE,
        slack: int = SLACK_TICKS,
        hint: Iterable[int] = (),
        cycle_room: int = 6000,
    ) -> None:
        self.network = Network(circuit)
        self.circuit = circuit
        self.step = 1.0 / (circuit.coil.resonance * steps_per_cycle)
        self.tick = self.step / kernel.TICKS
        self._regions: list[Region] = []
        lengths, width = kernel.LENGTHS, kernel.WIDTH
        self._steps = _lined_up((_SLOTS, lengths, width, kernel.COLUMNS))
        self._monitors = np.zeros((_SLOTS, width, kernel.MONITORS))
        self._rates = np.zeros((_SLOTS, kernel.MONITORS, width))
        self._bounds = _lined_up((_SLOTS, 2, 1 + kernel.MONITORS))
        self._ledger = Ledger(self.network)
        self._matrices = np.zeros((_SLOTS, width, width))
        self._halves = np.zeros((_SLOTS, kernel.HALVINGS, width, width))
        self._depths = np.zeros(_SLOTS, dtype=np.int64)
        self._base_ticks = np.zeros(_SLOTS, dtype=np.int64)
        self._slot_of = np.full(self.network.region_count, -1, dtype=np.int64)
        self._sums = _lined_up((_SLOTS, lengths, kernel.SQUARE))
        self._law = self._element_law(circuit, slack)
        self._machine = self._new_machine(cycle_room)
        self.build(hint)
        self.reset()

    # Regions

    def build(self, codes: Iterable[int]) -> None:
        """Build the tables of regions that are not there yet."""
        wanted = [code for code in dict.fromkeys(codes) if self._slot_of[code] < 0]
        if not wanted:
            return
        regions = [self.network.region(code) for code in wanted]
        stacked = np.array([region.matrix for region in regions])
        # Halves of a tick where a region is too quick for the books' series.
        pace = np.abs(stacked).sum(axis=1).max(axis=1) * self.tick
        depths = np.clip(np.ceil(np.log2(np.maximum(2.0 * pace, 1.0))), 0, kernel.HALVINGS)
        parts = expm(stacked * (self.tick * 0.5**depths)[:, None, None])
        bases = self._base_steps(stacked)
        for region, part, depth, base in zip(regions, parts, depths, bases, strict=True):
            slot = len(self._regions)
            if slot == self._steps.shape[0]:
                self._grow()
            self._regions.append(region)
            rows = self.network.monitor_rows(region)
            self._monitors[slot] = self._wide(rows.T)
            self._matrices[slot] = self._wide(self._wide(region.matrix).T).T
            self._rates[slot] = self._monitors[slot].T @ self._matrices[slot] * self.tick
            tick_matrix = self._doubled_up(slot, part, int(depth))
            kernel.fill_steps(tick_matrix.T.copy(), self._monitors[slot], self._steps[slot])
            self._ledger.add(region, rows)
            self._bounds[slot, :, 1:] = self.network.bounds(region.code)
            self._bounds[slot, :, 0] = 0.0, 2.0
            self._base_ticks[slot] = base
            self._slot_of[region.code] = slot

    def _doubled_up(self, slot: int, part: Array, depth: int) -> Array:
        """Propagator of a tick from that of its `depth`-th half; the halves are kept for books."""
        self._depths[slot] = depth
        wide = self._wide(self._wide(part).T).T
        for place in range(depth - 1, -1, -1):
            self._halves[slot, place] = wide
            wide = wide @ wide
        return wide

    def _wide(self, rows: Array) -> Array:
        """Rows of (y, 1) spread to the kernel's width, the constant in the last place."""
        spread = np.zeros((kernel.WIDTH, *rows.shape[1:]))
        spread[: self.network.order] = rows[:-1]
        spread[-1] = rows[-1]
        return spread

    @property
    def visited(self) -> tuple[int, ...]:
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
        self._monitors = _doubled(self._monitors)
        self._rates = _doubled(self._rates)
        self._bounds = _doubled_lined_up(self._bounds)
        self._matrices = _doubled(self._matrices)
        self._halves = _doubled(self._halves)
        self._depths = _doubled(self._depths)
        self._base_ticks = _doubled(self._base_ticks)
        self._sums = _doubled_lined_up(self._sums)
        self._machine = self._machine._replace(sums=self._sums.reshape(-1))

    def _element_law(self, circuit: StageCircuit, slack: int) -> kernel.Law:
        elements = self.network.elements
        switch, feed = circuit.switch, circuit.feed
        comparator = np.zeros(6)
        comparator[5] = slack
        if isinstance(feed, GatedFeed):
            comparator[:5] = (
                feed.threshold_low,
                feed.threshold_high,
                feed.delay / self.tick,
                float(feed.inverting),
                1.0,
            )
        return kernel.Law(
            np.array([element.low for element in elements]),
            np.array([element.high for element in elements]),
            np.array([kernel.WIDTH + element.monitor for element in elements], dtype=np.int64),
            np.array([switch.threshold, switch.transconductance, 1.0 / switch.on_resistance]),
            comparator,
        )

    def _new_machine(self, cycle_room: int) -> kernel.Machine:
        points = 4096
        return kernel.Machine(
            numbers=np.zeros(kernel.STATE_SIZE, dtype=np.int64),
            point=_lined_up((kernel.COLUMNS,)),
            end=_lined_up((kernel.COLUMNS,)),
            spare=_lined_up((kernel.COLUMNS,)),
            here=_lined_up((kernel.COLUMNS,)),
            trial=_lined_up((kernel.COLUMNS,)),
            events=np.zeros((kernel.EVENT_SLOTS, 2), dtype=np.int64),
            peaks=_lined_up((2, 1 + kernel.MONITORS)),
            history=np.zeros((2, 3)),
            cycles=np.zeros((cycle_room, 2 + 2 * kernel.MONITORS)),
            trace_time=np.zeros(points),
            trace_point=np.zeros((points, kernel.COLUMNS)),
            trace_code=np.zeros(points, dtype=np.int64),
            sums=self._sums.reshape(-1),
        )

    # Runs

    def reset(self) -> None:
        """Back to rest: supply on, drive off, driver input at its bias, time zero.

        Raises
        ------
        ArithmeticError
            The network has no rest point with the drive off.
        """
        state, code = self.network.rest_state(0)
        self.set_state(state, code)

    def set_state(self, state: Array, code: int, *, comparator: int | None = None) -> None:
        """Start a run from a given state (n coordinates and a 1) in a given region."""
        machine = self._machine
        machine.numbers[:] = 0
        machine.numbers[kernel.CODE] = code
        self.build([code])
        machine.point[: kernel.WIDTH] = self._wide(state)
        slot = self._slot_of[code]
        machine.point[kernel.WIDTH :] = machine.point[: kernel.WIDTH] @ self._monitors[slot]
        values = self.values()
        machine.numbers[kernel.LEVEL] = self.network.decode(code)[2]
        feed = self.circuit.feed
        if isinstance(feed, GatedFeed):
            rest = int(values[Monitor.INPUT] > 0.5 * (feed.threshold_high + feed.threshold_low))
            machine.numbers[kernel.COMPARATOR] = rest if comparator is None else comparator
        machine.peaks[0] = -np.inf
        machine.peaks[1] = np.inf
        machine.history[:, :2] = values[Monitor.DRAIN : Monitor.TOP + 1]
        machine.history[:, 2] = -1.0
        self._sums[: len(self._regions)] = 0.0

    def enable(self, on: bool) -> None:
        """Release or hold down the drive, now; a gated driver answers after its delay."""
        numbers = self._machine.numbers
        feed = self.circuit.feed
        numbers[kernel.ENABLED] = int(on)
        if isinstance(feed, GatedFeed):
            if feed.locked_out:
                numbers[kernel.ENABLED] = 0
            asks = numbers[kernel.COMPARATOR] ^ int(feed.inverting)
            level = int(numbers[kernel.ENABLED] * asks)
            when = int(numbers[kernel.NOW] + round(feed.delay / self.tick))
        else:
            level, when = int(on), int(numbers[kernel.NOW])
        kernel.schedule(when, level, numbers, self._machine.events)

    def run(
        self,
        duration: float = math.inf,
        *,
        cycle: int = -1,
        book: bool = True,
        trace: bool = False,
        switch_limit: int = 2_000_000,
    ) -> Stop:
        """Run on for `duration` seconds or to the end of carrier cycle number `cycle`.

        The end of a run is met to half a tick (h/8192); the end of a cycle is the rising zero of
        the top voltage, met within one tick behind it.
        """
        numbers = self._machine.numbers
        ticks = 2**62 if math.isinf(duration) else round(duration / self.tick)
        until = int(min(numbers[kernel.NOW] + ticks, 2**62))
        numbers[kernel.SWITCHES] = 0
        while True:
            # Taken anew each time: building a region or a longer trace may replace the arrays.
            reason = kernel.advance(
                until, cycle, book, trace, switch_limit, self._tables(), self._machine
            )
            if reason == kernel.TRACE_FULL:
                self._longer_trace()
                continue
            if reason != kernel.NEEDS_REGION:
                return Stop(reason)
            self.build([int(numbers[kernel.CODE])])

    def _tables(self) -> kernel.Tables:
        return kernel.Tables(
            self._steps.reshape(-1),
            self._rates.reshape(-1),
            self._bounds.reshape(-1),
            self._slot_of,
            self._base_ticks,
            *self._law,
        )

    def _longer_trace(self) -> None:
        old = self._machine
        self._machine = old._replace(
            trace_time=_doubled(old.trace_time),
            trace_point=_doubled(old.trace_point),
            trace_code=_doubled(old.trace_code),
        )

    # Read-outs

    @property
    def time(self) -> float:
        """Time since the start of the run [s]."""
        return float(self._machine.numbers[kernel.NOW] * self.tick)

    @property
    def state(self) -> Array:
        """Copy of the coordinates and a 1 (n+1,); half the square of the first n is the energy."""
        return np.append(self._machine.point[: self.network.order], 1.0)

    @property
    def code(self) -> int:
        """Region that the run is in."""
        return int(self._machine.numbers[kernel.CODE])

    @property
    def comparator(self) -> int:
        """State of the driver's input, 0 or 1."""
        return int(self._machine.numbers[kernel.COMPARATOR])

    @property
    def counts(self) -> dict[str, int]:
        """Steps taken, matrix products used, driver input toggles since the start of the run."""
        numbers = self._machine.numbers
        return {
            "steps": int(numbers[kernel.STEPS]),
            "products": int(numbers[kernel.PRODUCTS]),
            "toggles": int(numbers[kernel.TOGGLES]),
        }

    @property
    def stored(self) -> float:
        """Stored energy now [J]."""
        energy = self._machine.point[: self.network.order]
        return float(0.5 * energy @ energy)

    def values(self) -> Array:
        """Monitors now, in the order of `Monitor`."""
        return self._machine.point[kernel.WIDTH :].copy()

    @property
    def cycles(self) -> Array:
        """Rows of finished carrier cycles: time [s], stored energy [J], peaks, valleys."""
        rows = self._machine.cycles[: self._machine.numbers[kernel.CYCLES]].copy()
        rows[:, 0] *= self.tick
        return rows

    def forget_trace(self) -> None:
        """Start a new trace."""
        self._machine.numbers[kernel.TRACED] = 0

    def trace(self) -> Trace:
        """Points recorded since the trace was last forgotten."""
        machine = self._machine
        count = machine.numbers[kernel.TRACED]
        codes = machine.trace_code[:count]
        monitors = machine.trace_point[:count, kernel.WIDTH :].copy()
        half = self.network.region_count // 2
        return Trace(machine.trace_time[:count] * self.tick, monitors, codes // half)

    def close_books(self, stored_before: float) -> Books:
        """Energies booked since the last call, and start anew.

        Parameters
        ----------
        stored_before : float
            Stored energy at the start of the stretch [J].
        """
        count = len(self._regions)
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
        kept = [*range(self.network.order), kernel.WIDTH - 1]
        return self._ledger.books(moments[:, kept][:, :, kept], (stored_before, self.stored))


def _lined_up(shape: tuple[int, ...]) -> Array:
    """Zeros that start at a cache line: vector loads across two lines take twice as long."""
    room = np.zeros(math.prod(shape) + 8)
    first = -(room.ctypes.data // 8) % 8
    return room[first : first + math.prod(shape)].reshape(shape)


def _doubled(table: NDArray[Any]) -> NDArray[Any]:
    """Same table with as much empty room behind."""
    return np.concatenate([table, np.zeros_like(table)])


def _doubled_lined_up(table: Array) -> Array:
    longer = _lined_up((2 * table.shape[0], *table.shape[1:]))
    longer[: table.shape[0]] = table
    return longer


def common_regions(network: Network) -> list[int]:
    """Regions that nearly every run visits: channel off, ohmic, saturated; drive off and on."""
    between = (1,) * len(network.elements)
    return [
        network.code(channel, between, level)
        for channel in (OFF, OHMIC, SATURATED)
        for level in (0, 1)
    ]
