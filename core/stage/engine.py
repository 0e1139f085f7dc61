"""Engine: runs of the stage from one state to another with exact books.

`Engine` owns the state of one run and builds a region the first time the run enters it. The
stepping itself is compiled (`burstwise.core.stage.kernel`).
"""

from __future__ import annotations

import copy
import itertools
import math
from dataclasses import dataclass
from enum import Enum

import numpy as np
from numpy.typing import NDArray

from burstwise.core.arrays import Array
from burstwise.core.stage import kernel
from burstwise.core.stage.books import Books
from burstwise.core.stage.circuit import GatedFeed, StageCircuit
from burstwise.core.stage.elements import Monitor
from burstwise.core.stage.network import Network, Visited
from burstwise.core.stage.region_tables import RegionTables, SpareTables, doubled, lined_up
from burstwise.core.stage.stamps import LEVELS, OFF, OHMIC, SATURATED
from burstwise.core.stopping import check_stop

STEPS_PER_CYCLE = 40
"""Longest step as a part of the secondary's period; convergence is tested in tests/core/stage."""
NOTHING_VISITED = Visited()
AHEAD = 4
"""Regions that are built at once where the drain is on its way through them."""
_DRAIN_RATE = kernel.INNER + kernel.MONITORS + Monitor.DRAIN
SLACK_TICKS = 16
"""How far behind a crossing a step may land, in ticks of h/65536."""


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
        Ticks (of h/65536) that a step may land behind a crossing.
    hint : Visited
        Regions to build at once, those that a neighbouring run visited.
    cycle_room : int
        Carrier cycles that one run may record.
    spare : SpareTables, optional
        Where to take tables from; whoever hands it in gives them back.

    Attributes
    ----------
    step : float
        Longest step h [s].
    regions : RegionTables
        Tables of the regions entered so far.
    held_off : bool
        Whether the device rests off while the drive is held down.
    """

    def __init__(
        self,
        circuit: StageCircuit,
        *,
        steps_per_cycle: float = STEPS_PER_CYCLE,
        slack: int = SLACK_TICKS,
        hint: Visited = NOTHING_VISITED,
        cycle_room: int = 6000,
        spare: SpareTables | None = None,
    ) -> None:
        self.network = Network(circuit)
        self.circuit = circuit
        self.step = 1.0 / (circuit.coil.resonance * steps_per_cycle)
        self.tick = self.step / kernel.TICKS
        tables = RegionTables if spare is None else spare.take
        self.regions = tables(self.network, self.tick)
        self._halvings = 0
        self._law = self._element_law(circuit, slack)
        self._machine = self._new_machine(cycle_room)
        self.regions.prepare(hint)
        self.reset()

    def _element_law(self, circuit: StageCircuit, slack: int) -> kernel.Law:
        network = self.network
        switch, feed = circuit.switch, circuit.feed
        comparator = np.zeros(8)
        if isinstance(feed, GatedFeed):
            comparator[:] = (
                feed.threshold_low,
                feed.threshold_high,
                feed.delay / self.tick,
                float(feed.inverting),
                1.0,
                1.0 / (feed.fast_slew * self.tick),
                1.0 / (feed.slow_slew * self.tick),
                (feed.slow_delay - feed.delay) / self.tick if feed.slew_counts else 0.0,
            )
        across = np.zeros((len(network.charges), kernel.INNER))
        across[:, : network.order] = network.across
        moved = network.shifts()
        shifts = np.zeros((*moved.shape[:-1], kernel.INNER))
        shifts[..., : network.order] = moved
        return kernel.Law(
            borders=network.flat_borders,
            first=network.first,
            column=np.array(
                [kernel.INNER + monitor for monitor in network.columns], dtype=np.int64
            ),
            channel=np.array(
                [switch.threshold, switch.transconductance, 1.0 / switch.on_resistance]
            ),
            comparator=comparator,
            slack=np.array([slack]),
            charged=np.array([len(network.elements)]),
            across=across,
            shifts=shifts,
        )

    def _new_machine(self, cycle_room: int) -> kernel.Machine:
        points = 4096
        return kernel.Machine(
            numbers=np.zeros(kernel.STATE_SIZE, dtype=np.int64),
            point=lined_up((kernel.COLUMNS,)),
            end=lined_up((kernel.COLUMNS,)),
            spare=lined_up((kernel.COLUMNS,)),
            here=lined_up((kernel.COLUMNS,)),
            trial=lined_up((kernel.COLUMNS,)),
            events=np.zeros((kernel.EVENT_SLOTS, 2), dtype=np.int64),
            peaks=lined_up((2, kernel.MONITORS)),
            cycles=np.empty((cycle_room, 1 + 2 * kernel.MONITORS)),
            trace_time=np.empty(points),
            trace_point=np.empty((points, kernel.MONITORS)),
            trace_code=np.empty(points, dtype=np.int64),
        )

    def halved(self) -> Engine:
        """Engine of the same circuit with half the longest step and a quarter of the slack.

        Its tables are the same ones: propagators are exact, a step's length decides only which
        crossings may be overlooked. Books are shared and must be closed before it is used.
        """
        finer = copy.copy(self)
        finer.step, finer._halvings = 0.5 * self.step, self._halvings + 1
        finer._law = self._law._replace(slack=np.maximum(self._law.slack // 4, 1))
        finer._machine = self._new_machine(len(self._machine.cycles))
        return finer

    # Runs

    def reset(self) -> None:
        """Back to rest: supply on, drive off, driver input at its bias, time zero.

        Raises
        ------
        ArithmeticError
            The network has no rest point with the drive held.
        """
        state, code = self.network.rest_state(0)
        self.held_off = self.network.decode(code)[0] == OFF
        self.set_state(state, code)

    def set_state(self, state: Array, code: int, *, comparator: int | None = None) -> None:
        """Start a run from a given state (n coordinates and a 1) in a given region."""
        machine = self._machine
        machine.numbers[:] = 0
        machine.numbers[kernel.CODE] = code
        self.regions.build([code])
        inner = machine.point[: kernel.INNER]
        inner[:] = 0.0
        inner[: self.network.order] = state[:-1]
        machine.point[kernel.INNER :] = self.regions.view(code, inner)
        values = self.values()
        machine.numbers[kernel.LEVEL] = self.network.decode(code)[2]
        feed = self.circuit.feed
        if isinstance(feed, GatedFeed):
            rest = int(values[Monitor.INPUT] > 0.5 * (feed.threshold_high + feed.threshold_low))
            machine.numbers[kernel.COMPARATOR] = rest if comparator is None else comparator
        machine.peaks[0] = -np.inf
        machine.peaks[1] = np.inf
        self.regions.empty_books()

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

        Raises
        ------
        StoppedError
            The work was asked to stop; see `burstwise.core.stopping`.
        """
        numbers = self._machine.numbers
        ticks = 2**62 if math.isinf(duration) else round(duration / self.tick)
        until = int(min(numbers[kernel.NOW] + ticks, 2**62))
        numbers[kernel.SWITCHES] = 0
        while True:
            check_stop()
            # Taken anew each time: building a region or a longer trace may replace the arrays.
            tables = self.regions.tables(self._law, halvings=self._halvings)
            machine = self._machine
            reason = kernel.advance(until, cycle, book, trace, switch_limit, tables, machine)
            if reason == kernel.TRACE_FULL:
                self._longer_trace()
                continue
            if reason != kernel.NEEDS_REGION:
                return Stop(reason)
            self._build_around(int(numbers[kernel.CODE]))

    def _build_around(self, code: int) -> None:
        """Build a region, and those on the drain's way, which are soon entered, in one batch."""
        ahead = []
        if self.network.decode(code)[0] != OHMIC:
            rising = bool(self._machine.point[_DRAIN_RATE] > 0.0)
            ahead = self.network.along_drain(code, self.values(), rising=rising, count=AHEAD)
        self.regions.build([code, *ahead])

    def _longer_trace(self) -> None:
        old = self._machine
        self._machine = old._replace(
            trace_time=doubled(old.trace_time),
            trace_point=doubled(old.trace_point),
            trace_code=doubled(old.trace_code),
        )

    # Read-outs

    @property
    def time(self) -> float:
        """Time since the start of the run [s]."""
        return float(self._machine.numbers[kernel.NOW] * self.tick)

    @property
    def state(self) -> Array:
        """Copy of the coordinates and a 1 (n+1,)."""
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
    def driver_delays(self) -> tuple[float, float]:
        """Delay of the driver after its input last fell, and last rose, while enabled [s]."""
        fell, rose = self._machine.numbers[kernel.LAGS : kernel.LAGS + 2]
        return float(fell * self.tick), float(rose * self.tick)

    @property
    def stored(self) -> float:
        """Stored energy now [J]."""
        return self.network.stored(self.state, self.code)

    def values(self) -> Array:
        """Monitors now, in the order of `Monitor`."""
        first = kernel.INNER
        return self._machine.point[first : first + kernel.MONITORS].copy()

    @property
    def cycle_count(self) -> int:
        """Finished carrier cycles."""
        return int(self._machine.numbers[kernel.CYCLES])

    @property
    def last_cycle(self) -> Array:
        """Last row of `cycles`."""
        row = np.array(self._machine.cycles[self.cycle_count - 1])
        row[0] *= self.tick
        return row

    @property
    def cycles(self) -> Array:
        """Rows of finished carrier cycles: time [s], peaks, valleys."""
        rows = self._machine.cycles[: self.cycle_count].copy()
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
        monitors = machine.trace_point[:count].copy()
        half = self.network.region_count // 2
        return Trace(machine.trace_time[:count] * self.tick, monitors, codes // half)

    def close_books(self, stored_before: float) -> Books:
        """Energies booked since the last call, and start anew.

        Parameters
        ----------
        stored_before : float
            Stored energy at the start of the stretch [J].
        """
        return self.regions.close_books((stored_before, self.stored))


def common_regions(network: Network) -> list[int]:
    """Regions that nearly every run visits, since a batch is built faster than one by one.

    Channel off, ohmic and saturated; drive off and on; clamps between their voltages, but for that
    at the secondary's base.
    """
    channels = (OFF, OHMIC, SATURATED)
    found = [(channel, 1) for channel in channels]
    if network.circuit.gated:
        found += itertools.product(channels, (0, 2))
    else:
        # The base is the gate: low where the channel is off, high where it is ohmic.
        found += [(OFF, 0), (OHMIC, 2)]
    base = [element.monitor for element in network.elements].index(Monitor.INPUT)
    rest = network.segments_at(np.zeros(len(Monitor)))
    highest = tuple(len(borders) for borders in network.borders)
    count = len(network.elements)
    codes = []
    for channel, clamp in found:
        elements = tuple(clamp if place == base else 1 for place in range(count))
        charges = {rest[count:], highest[count:]} if channel == OFF else {rest[count:]}
        for segments, level in itertools.product(charges, range(LEVELS)):
            codes.append(network.code(channel, (*elements, *segments), level))
    return codes
