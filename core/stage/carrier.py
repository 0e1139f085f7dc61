"""Carrier scale: from a cold start to steady oscillation and back to rest, summarised.

One operating point is run until the peak of the top voltage no longer moves, booked over whole
carrier cycles, and let ring down. The energies at a few marks along the ring-up are kept, since the
energy of a short burst is not duty times steady power.
"""

from __future__ import annotations

import math

import numpy as np

from burstwise.core.arrays import Array
from burstwise.core.findings import Finding, caution, note, stop
from burstwise.core.stage.books import Books
from burstwise.core.stage.carrier_result import DEVICE_LOSSES as DEVICE_LOSSES
from burstwise.core.stage.carrier_result import RESIDUAL_LIMIT as RESIDUAL_LIMIT
from burstwise.core.stage.carrier_result import Carrier as Carrier
from burstwise.core.stage.carrier_result import RingDown, RingUp
from burstwise.core.stage.circuit import StageCircuit
from burstwise.core.stage.elements import Monitor
from burstwise.core.stage.engine import (
    NOTHING_VISITED,
    STEPS_PER_CYCLE,
    Engine,
    Stop,
    Trace,
    common_regions,
)
from burstwise.core.stage.kernel import MONITORS
from burstwise.core.stage.network import Visited
from burstwise.core.stage.region_tables import SpareTables
from burstwise.core.units import percent, shown

MARKS = (1, 2, 3, 4, 6, 8, 12, 16, 24, 32, 48, 64, 96, 128, 192, 256, 384, 512, 768, 1024, 1536)
"""Carrier cycles at which the books of the ring-up are closed."""
SLOW_MARKS = (2048, 3072, 4096, 5632)
"""Further marks for what is slow, such as a reservoir that is still being filled."""
SETTLED = 3e-4
"""Steady when the peak top voltage moved by less than this between two marks, and"""
REPEATED = 1e-3
"""every monitor, in parts of its swing, and stored energy, in parts of what was supplied."""
PATIENCE = 10.0
"""Slowest time constants of the resting network that a start is given, up to"""
LONGEST_WAIT = 3000.0
"""carrier periods."""
_SPARE = SpareTables(room=2)
_COMPARED = (Monitor.DRAIN, Monitor.DRAIN_CURRENT)
DEAD_PERIODS = 20
"""Periods of the secondary booked when the stage does not oscillate."""
STEADY_CYCLES = 24
"""Carrier cycles booked in the steady state."""
CROSSINGS_PER_CYCLE = 1600
"""Region changes in one carrier cycle above which a run is stopped."""
BEATING_CYCLES = 256
"""Carrier cycles booked when the envelope does not settle."""
STEP_LIMIT = 3e-3
"""Change of input power on halving the step above which a result is marked."""


def carrier(
    circuit: StageCircuit,
    *,
    hint: Visited = NOTHING_VISITED,
    trace: bool = False,
    verify: bool = False,
    steps_per_cycle: float = STEPS_PER_CYCLE,
) -> Carrier:
    """Cold start to steady state and ring-down of one operating point.

    Parameters
    ----------
    circuit : StageCircuit
        The stage.
    hint : Visited
        Regions of a neighbouring point, to build their tables in one go.
    trace : bool
        Keep one steady carrier cycle.
    verify : bool
        Run the steady window again with half the step and report the difference.
    steps_per_cycle : float
        Longest step as a part of the secondary's period.
    """
    engine = Engine(circuit, steps_per_cycle=steps_per_cycle, spare=_SPARE)
    engine.regions.build(common_regions(engine.network))
    engine.regions.prepare(hint)
    found = _Session(engine).summary(trace=trace, verify=verify)
    _SPARE.give(engine.regions)
    return found


class _Session:
    """One pass through ring-up, steady window and ring-down."""

    def __init__(self, engine: Engine) -> None:
        self.engine = engine
        self.period = 1.0 / engine.circuit.coil.resonance
        self.findings: list[Finding] = []
        self.worst = 0.0
        self.start_stored = engine.stored
        self.marks: list[tuple[float, ...]] = [(0.0,) * 5 + (0.0,)]
        self.total: Books | None = None
        self.unbroken = True

    def summary(self, *, trace: bool, verify: bool) -> Carrier:
        engine = self.engine
        engine.enable(True)
        settled = self._ring_up()
        amplitude = _amplitudes(engine.cycles)
        alive = self.unbroken and self._alive(amplitude)
        self._judge(settled, alive)
        state, code, comparator = engine.state, engine.code, engine.comparator
        first = len(amplitude)
        window = STEADY_CYCLES if settled or not alive else BEATING_CYCLES
        books = self._window(window if alive else 0)
        rows = engine.cycles[first:]
        extremes = _extremes(rows, engine.values())
        kept = self._one_cycle() if trace else None
        step_error = 0.0
        if verify and alive and settled:
            step_error = self._half_step(state, code, comparator, books, extremes)
        worst = _extremes(engine.cycles, engine.values())
        ring_down = self._ring_down()
        spread = _spread(amplitude, settled)
        return self._gather(
            alive, books, rows, (extremes, worst), kept, step_error, ring_down, spread
        )

    def _ring_up(self) -> bool:
        engine = self.engine
        previous, levels = 0.0, engine.values()
        for count in (*MARKS, *SLOW_MARKS):
            before = engine.stored
            done = engine.cycle_count
            # A stage that does not start is given three times the time that a cycle takes.
            reach = (3.0 * (count - done) + 20.0) * self.period
            if not done:
                reach += min(PATIENCE * engine.network.slowest(), LONGEST_WAIT * self.period)
            crossings = CROSSINGS_PER_CYCLE * (count - done + 10)
            result = engine.run(reach, cycle=count, switch_limit=crossings)
            books = engine.close_books(before)
            self._account(books)
            if result is not Stop.SECTION:
                self.unbroken = False
                self._broken(result)
                return False
            last = engine.last_cycle
            top = float(_amplitudes(last[None])[0])
            self._mark(top)
            now, swing = engine.values(), _swings(last)
            moved = float(np.max(np.abs(now - levels) / swing))
            held = abs(books.stored_change) / max(abs(sum(books.supplied.values())), 1e-30)
            steady = count >= 16 and abs(top - previous) <= SETTLED * top
            if steady and moved <= REPEATED and held <= REPEATED:
                return True
            if count >= MARKS[-1] and not steady:
                return False
            previous, levels = top, now
        self._still_moving(held)
        return True

    def _still_moving(self, held: float) -> None:
        """Told when the oscillation repeats but something slow behind it does not yet."""
        self.findings.append(
            caution(
                "not-settled",
                "carrier",
                f"After {SLOW_MARKS[-1]} carrier cycles ({shown(self.engine.time, 's', digits=3)}) "
                f"something slow still moves: {percent(held, decimals=1)} of the supplied energy "
                "went into storage at the end. Figures are those at that time.",
            )
        )

    def _account(self, books: Books) -> None:
        self.worst = max(self.worst, books.residual)
        self.total = books if self.total is None else self.total + books

    def _mark(self, top: float) -> None:
        assert self.total is not None
        heat = _device_heat(self.total)
        self.marks.append(
            (
                self.engine.time,
                self.total.supplied["main"],
                heat,
                self.engine.stored - self.start_stored,
                self.total.charge,
                top,
            )
        )

    def _broken(self, result: Stop) -> None:
        if result is Stop.CHATTER and self.engine.counts["toggles"] < len(self.engine.cycles) * 8:
            self.worst = math.inf
            self.findings.append(
                stop(
                    "too-quick-to-solve",
                    "device.output_capacitance",
                    "The device switches between its states hundreds of times in one carrier "
                    "cycle, faster than the solver resolves: its capacitances are far too small "
                    "for the current. The solve was stopped; its figures are not to be trusted.",
                )
            )
        elif result in (Stop.CHATTER, Stop.QUEUE_FULL):
            self.worst = math.inf
            self.findings.append(
                stop(
                    "driver-chatter",
                    "drive.gated.input_threshold_high",
                    "The driver's input switches back and forth many times in one carrier cycle; "
                    "the solve was stopped. Widen the input hysteresis or slow the input.",
                )
            )
        if result is Stop.DIVERGED:
            self.worst = math.inf

    def _alive(self, amplitude: Array) -> bool:
        """Oscillating: enough cycles, not dying away, and well above the supply itself."""
        if len(amplitude) < 16:
            return False
        last = float(np.median(amplitude[-8:]))
        return bool(
            last > 0.05 * float(amplitude.max()) and last > self.engine.circuit.supply_voltage
        )

    def _judge(self, settled: bool, alive: bool) -> None:
        if alive and not settled:
            self.findings.append(
                caution(
                    "envelope-beats",
                    "carrier",
                    "The envelope does not settle to one period; figures are averages over "
                    f"{BEATING_CYCLES} carrier cycles and their spread is given.",
                )
            )

    def _window(self, cycles: int) -> Books:
        engine = self.engine
        before = engine.stored
        if cycles:
            goal = engine.cycle_count + cycles
            engine.run(4.0 * (cycles + 5) * self.period, cycle=goal)
            books = engine.close_books(before)
            self.worst = max(self.worst, books.residual)
            return books
        # What does not repeat has no cycle to average over: a stretch has to do.
        engine.run(DEAD_PERIODS * self.period)
        books = engine.close_books(before)
        self.worst = max(self.worst, books.residual)
        return books

    def _one_cycle(self) -> Trace:
        engine = self.engine
        before = engine.stored
        engine.forget_trace()
        engine.run(2.5 * self.period, cycle=engine.cycle_count + 1, trace=True)
        engine.close_books(before)
        return engine.trace()

    def _half_step(
        self,
        state: Array,
        code: int,
        comparator: int,
        books: Books,
        extremes: tuple[Array, Array],
    ) -> float:
        """Largest relative change on halving the step, over the steady window.

        Input power, the device's heat, and the peaks of drain voltage and current are compared.
        Only a pending driver delay is lost at the hand-over; one cycle is run to forget it.
        """
        finer = self.engine.halved()
        finer.set_state(state, code, comparator=comparator)
        finer.enable(True)
        if finer.run(20 * self.period, cycle=3) is not Stop.SECTION:
            return math.inf
        finer.close_books(finer.stored)
        before = finer.stored
        if finer.run(60 * self.period, cycle=3 + STEADY_CYCLES) is not Stop.SECTION:
            return math.inf
        again = finer.close_books(before)
        peaks = _extremes(finer.cycles[3:], finer.values())[0]
        pairs = [
            (again.supplied["main"] / again.duration, books.supplied["main"] / books.duration),
            *((float(peaks[m]), float(extremes[0][m])) for m in _COMPARED),
        ]
        whole = max(abs(pairs[0][1]), 1e-12)
        heats = (_device_heat(again) / again.duration, _device_heat(books) / books.duration)
        changes = [abs(a - b) / max(abs(b), 1e-12) for a, b in pairs]
        return max(*changes, abs(heats[0] - heats[1]) / whole)

    def _ring_down(self) -> RingDown:
        engine = self.engine
        before = engine.stored
        start, first = engine.time, engine.cycle_count
        quality = max(engine.circuit.coil.quality_factor, 1.0)
        cycles = min(max(0.7 * quality, 12.0), 250.0)
        engine.enable(False)
        engine.run(cycles * self.period)
        books = engine.close_books(before)
        # What is left by then no longer brings the drain below ground: it ends outside the device.
        heat, supplied = _device_heat(books), books.supplied["main"]
        rows = engine.cycles[first:]
        top = _amplitudes(rows) if len(rows) else np.zeros(0)
        return RingDown(heat, supplied, self._decay(rows, top), rows[:, 0] - start, top)

    def _decay(self, rows: Array, top: Array) -> float:
        coil = self.engine.circuit.coil
        natural = 2 * coil.secondary_inductance / coil.secondary_resistance
        if len(top) < 6 or top[2:].min() <= 0:
            return natural
        slope = float(np.polyfit(rows[2:, 0], np.log(top[2:]), 1)[0])
        return -1.0 / slope if slope < 0 else natural

    def _gather(
        self,
        alive: bool,
        books: Books,
        rows: Array,
        extremes: tuple[tuple[Array, Array], tuple[Array, Array]],
        kept: Trace | None,
        step_error: float,
        ring_down: RingDown,
        spread: float,
    ) -> Carrier:
        engine = self.engine
        time = books.duration
        marks = np.array(self.marks)
        envelope = engine.cycles[:, 0], _amplitudes(engine.cycles)
        to_90 = _first_reach(envelope[1], rows, alive)
        frequency = len(rows) / time if alive and len(rows) > 1 else 0.0
        supplied = books.supplied["main"]
        if not alive:  # a swing that dies away may give back what it took before
            supplied = max(supplied, 0.0)
        self._trust(step_error)
        return Carrier(
            circuit=engine.circuit,
            oscillates=alive,
            frequency=frequency,
            supply_current_mean=books.charge / time,
            supply_current_rms=_root_mean(books, Monitor.PRIMARY_CURRENT),
            drain_current_rms=_root_mean(books, Monitor.DRAIN_CURRENT),
            peaks=extremes[0][0],
            valleys=extremes[0][1],
            worst_peaks=extremes[1][0],
            worst_valleys=extremes[1][1],
            input_power=supplied / time,
            auxiliary_power=books.supplied["auxiliary"] / time,
            # Every part only takes; what hardly moves may round to a hair below zero.
            losses={name: max(energy, 0.0) / time for name, energy in books.lost.items()},
            residual=self.worst,
            held_off=engine.held_off,
            step_error=step_error,
            cycles_to_90_percent=float(to_90),
            time_to_90_percent=float(envelope[0][int(to_90) - 1]) if to_90 else 0.0,
            spread=spread,
            ring_up=RingUp(*marks.T),
            ring_down=ring_down,
            envelope=np.column_stack(envelope),
            regions=engine.regions.visited,
            findings=tuple(self.findings),
            trace=kept,
            driver_delays=engine.driver_delays,
        )

    def _trust(self, step_error: float) -> None:
        if not self.worst <= RESIDUAL_LIMIT:
            self.findings.append(
                stop(
                    "energy-open",
                    "carrier.energy_residual",
                    f"The energy books of the solve are open by {self.worst:.1e}, above the limit "
                    f"of {RESIDUAL_LIMIT:g}; its figures are not to be trusted.",
                )
            )
        if step_error > STEP_LIMIT:
            self.findings.append(
                note(
                    "step-sensitive",
                    "carrier.input_power_W",
                    f"Power, heat or a peak moves by {percent(step_error, decimals=1)} when the "
                    "solver's step is halved: the waveform is sensitive, read the figures with "
                    "that margin.",
                )
            )


def _device_heat(books: Books) -> float:
    return sum(books.lost.get(name, 0.0) for name in DEVICE_LOSSES)


def _swings(row: Array) -> Array:
    """Swing of each monitor in one cycle; one that rests counts as a volt or an ampere."""
    swing = row[1 : 1 + MONITORS] - row[1 + MONITORS :]
    return np.where(swing > 1e-6, swing, 1.0)


def _amplitudes(rows: Array) -> Array:
    """Larger of both signs of the top voltage in each cycle."""
    high = rows[:, 1 + Monitor.TOP]
    low = rows[:, 1 + MONITORS + Monitor.TOP]
    amplitude: Array = np.maximum(high, -low)
    return amplitude


def _spread(amplitude: Array, settled: bool) -> float:
    if settled or len(amplitude) < 16:
        return 0.0
    tail = amplitude[-min(len(amplitude) // 2, BEATING_CYCLES) :]
    return float(np.ptp(tail) / (2 * np.mean(tail)))


def _first_reach(top: Array, rows: Array, alive: bool) -> int:
    if not alive or not len(rows):
        return 0
    goal = 0.9 * float(np.mean(_amplitudes(rows)))
    return int(np.argmax(top >= goal)) + 1


def _extremes(rows: Array, values: Array) -> tuple[Array, Array]:
    if not len(rows):
        return values, values
    peaks = rows[:, 1 : 1 + MONITORS].max(axis=0)
    valleys = rows[:, 1 + MONITORS :].min(axis=0)
    return peaks, valleys


def _root_mean(books: Books, monitor: Monitor) -> float:
    """RMS of a monitor; a current of nothing but rounding may have a square just below zero."""
    return math.sqrt(max(float(books.squares[monitor]), 0.0) / books.duration)
