"""Second opinion on the engine: hand-written equations, solved by general-purpose solvers."""

from __future__ import annotations

import math
import sys
from collections.abc import Callable
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from scipy.integrate import solve_ivp
from sksundae.cvode import CVODE

from burstwise.core.stage.circuit import GatedFeed, StageCircuit

sys.path.insert(0, str(Path(__file__).parent))  # tests are no package

from nodal_equations import (
    ENERGIES,
    STATES,
    Values,
    capacitance,
    channel_current,
    packed_rates,
    terms_of,
    values,
)

__all__ = [
    "ENERGIES",
    "STATES",
    "Reference",
    "capacitance",
    "channel_current",
    "terms_of",
    "values",
]

Array = NDArray[np.float64]


class Reference:
    """Runs of one circuit by a general-purpose solver, driver toggles met as events.

    Parameters
    ----------
    circuit : StageCircuit
        The stage.
    solver : {"cvode", "radau"}
        Which solver.
    rtol : float
        Relative tolerance; absolute ones are this part of each state's full scale.
    energies : bool
        Whether losses are integrated along.
    drain_source : array (terms, 4), optional
        Terms of another capacitance between drain and source than the circuit's.
    """

    def __init__(
        self,
        circuit: StageCircuit,
        solver: str,
        *,
        rtol: float,
        energies: bool = True,
        drain_source: Array | None = None,
    ) -> None:
        self.circuit = circuit
        self.values = values(circuit)
        dtype = [(name, float) for name in Values._fields]
        self._table = np.array([tuple(self.values)], dtype=dtype)
        switch = circuit.switch
        own = terms_of(switch.drain_source_capacitance)
        gate_drain = terms_of(switch.gate_drain_capacitance)
        self._laws = (own if drain_source is None else drain_source, gate_drain)
        self.solver = solver
        self.rtol = rtol
        self.size = STATES + (len(ENERGIES) if energies else 0)
        coil = circuit.coil
        top = 10e3
        current = top * math.sqrt(coil.secondary_capacitance / coil.secondary_inductance)
        scale = np.array([5.0, current, top, 300.0, 10.0, 5.0, 300.0, 300.0])
        energy = circuit.supply_voltage * 5.0 / coil.resonance
        self.atol = rtol * np.append(scale, np.full(self.size - STATES, energy))
        self.level = 0
        feed = circuit.feed
        self.comparator = 0
        if isinstance(feed, GatedFeed):
            middle = 0.5 * (feed.threshold_low + feed.threshold_high)
            self.comparator = int(self.rest()[5] > middle)

    def rest(self) -> Array:
        """State at rest with the drive off."""
        v = self.values
        state = np.zeros(self.size)
        state[[3, 6, 7]] = v.supply
        if v.gated:
            rest = min(v.bias, v.clamp_high)
            state[5] = (
                rest
                if v.bias <= v.clamp_high
                else ((v.g_bias * v.bias + v.g_in_clamp * v.clamp_high) / (v.g_bias + v.g_in_clamp))
            )
            state[2] = v.base_ratio * state[5]
        else:
            state[4] = v.g_bias * v.bias / (v.g_bias + v.g_down)
            state[2] = v.base_ratio * state[4]
        return state

    def run(self, times: Array) -> Array:
        """States at the given times after the drive is enabled at rest, shape (times, size)."""
        state, now = self.rest(), 0.0
        out = np.empty((len(times), self.size))
        feed = self.circuit.feed
        pending: list[tuple[float, int]] = []
        if isinstance(feed, GatedFeed):
            pending.append((feed.delay, self.comparator ^ int(feed.inverting)))
        else:
            self.level = 1
        filled = 0
        while filled < len(times):
            stop_at = min([times[-1], *(when for when, _ in pending)])
            inner = times[(times > now) & (times <= stop_at)]
            points = np.unique(np.concatenate([[now], inner, [stop_at]]))
            if len(points) > 1:
                reached, rows, toggled = self._segment(points, state)
                took = int(np.sum(inner <= reached))
                out[filled : filled + took] = rows[1 : 1 + took]
                filled += took
                now, state = reached, rows[-1]
                if toggled and isinstance(feed, GatedFeed):
                    self.comparator = 1 - self.comparator
                    level = self.comparator ^ int(feed.inverting)
                    when = now + self._delay(state)
                    pending = [*(event for event in pending if event[0] <= when), (when, level)]
            while pending and pending[0][0] <= now * (1 + 1e-15):
                self.level = pending.pop(0)[1]
            if now >= times[-1]:
                break
        return out

    def _delay(self, state: Array) -> float:
        """Delay of the driver at the slew that its input has, straight over the time per volt."""
        feed, rates = self.circuit.feed, np.empty_like(state)
        if feed.slow_delay == 0.0:
            return feed.delay
        packed_rates(state, self.level, self._table, *self._laws, rates)
        ends = [1.0 / feed.fast_slew, 1.0 / feed.slow_slew]
        return float(np.interp(1.0 / abs(rates[5]), ends, [feed.delay, feed.slow_delay]))

    def _edge(self) -> Callable[[Array], float] | None:
        feed = self.circuit.feed
        if not isinstance(feed, GatedFeed):
            return None
        low, high = feed.threshold_low, feed.threshold_high
        if self.comparator == 1:
            return lambda y: low - y[5]
        return lambda y: y[5] - high

    def _segment(self, points: Array, state: Array) -> tuple[float, Array, bool]:
        return (self._cvode if self.solver == "cvode" else self._radau)(points, state)

    def _cvode(self, points: Array, state: Array) -> tuple[float, Array, bool]:
        level, table, laws, edge = self.level, self._table, self._laws, self._edge()

        def rhs(t: float, y: Array, yp: Array) -> None:
            packed_rates(y, level, table, *laws, yp)

        options = {"rtol": self.rtol, "atol": self.atol, "max_num_steps": 1_000_000}
        if edge is not None:

            def events(t: float, y: Array, e: Array) -> None:
                e[0] = edge(y)

            events.terminal = [True]
            events.direction = [1]
            options |= {"eventsfn": events, "num_events": 1}
        start = points[0]
        found = CVODE(rhs, **options).solve(points - start, state)
        assert found.success, found.message
        toggled = found.i_events is not None and len(found.i_events) > 0
        return start + float(found.t[-1]), np.asarray(found.y), toggled

    def _radau(self, points: Array, state: Array) -> tuple[float, Array, bool]:
        level, table, laws, edge = self.level, self._table, self._laws, self._edge()
        slope = np.empty(self.size)

        def rhs(t: float, y: Array) -> Array:
            packed_rates(y, level, table, *laws, slope)
            return slope.copy()

        events = None
        if edge is not None:

            def events(t: float, y: Array) -> float:
                return edge(y)

            events.terminal = True
            events.direction = 1
        start = points[0]
        found = solve_ivp(
            rhs,
            (0.0, points[-1] - start),
            state,
            method="Radau",
            t_eval=points - start,
            events=events,
            rtol=self.rtol,
            atol=self.atol,
        )
        assert found.success, found.message
        if found.status == 1:
            rows = np.vstack([found.y.T, found.y_events[0][-1:]])
            return start + float(found.t_events[0][-1]), rows, True
        return float(points[-1]), found.y.T, False
