"""Second opinion on the engine: the stage written out by hand, solved by general-purpose solvers.

States are i1, i2 (base current out of the winding), v_top, v_ds, v_gs, v_input, followed by the
energies. Kirchhoff's laws are solved on paper for drain and gate; the shunt's voltage follows from
the sum of the currents into the device. Nothing of core.stage.network is used.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import NamedTuple

import numpy as np
from numba import njit
from numpy.typing import NDArray
from scipy.integrate import solve_ivp
from sksundae.cvode import CVODE

from core.stage.circuit import GatedFeed, StageCircuit

Array = NDArray[np.float64]

STATES = 6
ENERGIES = (
    "supplied",
    "channel",
    "primary_winding",
    "secondary_winding",
    "shunt",
    "body_diode",
    "avalanche",
    "breakout",
    "clamp",
    "gate_feed",
    "bias",
    "drain_clamp",
    "charge",
    "primary_square",
)


class Values(NamedTuple):
    """All numbers of a circuit, flat, for the compiled right-hand side."""

    gated: float
    supply: float
    shunt: float
    l1: float
    l2: float
    m: float
    r1: float
    r2: float
    c2: float
    v_break: float
    g_break: float
    g_on: float
    threshold: float
    gm: float
    c_gs: float
    c_gd: float
    c_ds: float
    v_diode: float
    g_diode: float
    v_aval: float
    g_aval: float
    v_clamp: float
    g_clamp: float
    bias: float
    g_bias: float
    clamp_high: float
    clamp_low: float
    g_in_clamp: float
    g_down: float
    g_up: float
    v_drive: float
    c_in: float


def values(circuit: StageCircuit) -> Values:
    """Numbers of a circuit without snubber and reservoir clamp."""
    coil, switch, feed, clamps = circuit.coil, circuit.switch, circuit.feed, circuit.clamps
    assert clamps.snubber_capacitance == 0
    assert clamps.reservoir_capacitance == 0
    gated = isinstance(feed, GatedFeed)
    return Values(
        float(gated),
        circuit.supply_voltage,
        circuit.shunt_resistance,
        coil.primary_inductance,
        coil.secondary_inductance,
        coil.mutual_inductance * (1.0 if circuit.reversed_sense else -1.0),
        coil.primary_resistance,
        coil.secondary_resistance,
        coil.secondary_capacitance,
        coil.breakout_voltage,
        1.0 / coil.breakout_resistance,
        1.0 / switch.on_resistance,
        switch.threshold,
        switch.transconductance,
        switch.gate_source_capacitance,
        switch.gate_drain_capacitance.farads[0],
        switch.drain_source_capacitance.farads[0],
        switch.diode_voltage,
        1.0 / switch.diode_resistance,
        switch.avalanche_voltage,
        1.0 / switch.avalanche_resistance,
        clamps.drain_voltage,
        1.0 / clamps.drain_resistance,
        feed.bias_voltage,
        1.0 / feed.bias_resistance,
        feed.clamp_high,
        feed.clamp_low,
        1.0 / feed.clamp_resistance,
        1.0 / feed.pull_down_resistance,
        1.0 / feed.pull_up_resistance if isinstance(feed, GatedFeed) else 0.0,
        feed.supply if isinstance(feed, GatedFeed) else 0.0,
        feed.input_capacitance if isinstance(feed, GatedFeed) else 1e-9,
    )


@njit
def _beyond(volts, low, high, conductance):
    """Current of an element that conducts above `high` and below `low`."""
    if volts > high:
        return (volts - high) * conductance
    if volts < low:
        return (volts - low) * conductance
    return 0.0


@njit
def channel_current(v_ds, v_gs, v):
    # Below zero drain and source change places, and gate to drain controls the channel.
    control = v_gs if v_ds >= 0.0 else v_gs - v_ds
    over = control - v.threshold
    if over <= 0.0:
        return 0.0
    size = min(abs(v_ds) * v.g_on, v.gm * over)
    return size if v_ds >= 0.0 else -size


@njit
def rates(x, level, v, dx):
    """Time derivatives of states and energies."""
    i1, i2, v_top, v_ds, v_gs, v_in = x[0], x[1], x[2], x[3], x[4], x[5]
    # Conductance and short-circuit current of all that feeds the gate from outside the device.
    if v.gated > 0.0:
        g_feed = v.g_up if level == 1 else v.g_down
        i_short = g_feed * v.v_drive if level == 1 else 0.0
    else:
        g_feed = v.g_bias + (v.g_down if level == 0 else 0.0)
        i_short = v.g_bias * v.bias + i2
    v_s = v.shunt * (i1 + i_short - g_feed * v_gs) / (1.0 + v.shunt * g_feed)
    v_g, v_d = v_gs + v_s, v_ds + v_s
    i_channel = channel_current(v_ds, v_gs, v)
    i_diode = (v_ds + v.v_diode) * v.g_diode if v_ds < -v.v_diode else 0.0
    i_aval = (v_ds - v.v_aval) * v.g_aval if v_ds > v.v_aval else 0.0
    i_clamp = (v_ds - v.v_clamp) * v.g_clamp if v_ds > v.v_clamp else 0.0
    i_break = _beyond(v_top, -v.v_break, v.v_break, v.g_break)
    into_drain = i1 - i_channel - i_diode - i_aval - i_clamp
    into_gate = i_short - g_feed * v_g
    if v.gated > 0.0:
        i_in = _beyond(v_in, -v.clamp_low, v.clamp_high, v.g_in_clamp)
        dx[5] = (i2 + v.g_bias * (v.bias - v_in) - i_in) / v.c_in
        base, clamp_power = v_in, i_in * v_in
    else:
        i_in = _beyond(v_gs, -v.clamp_low, v.clamp_high, v.g_in_clamp)
        into_gate -= i_in
        dx[5] = 0.0
        base, clamp_power = v_g, i_in * v_gs
    u1 = v.supply - v.r1 * i1 - v_d
    u2 = v_top - v.r2 * i2 - base
    det = v.l1 * v.l2 - v.m * v.m
    dx[0] = (v.l2 * u1 - v.m * u2) / det
    dx[1] = (v.l1 * u2 - v.m * u1) / det
    dx[2] = (-i2 - i_break) / v.c2
    a, b, c = v.c_ds + v.c_gd, -v.c_gd, v.c_gs + v.c_gd
    dx[3] = (c * into_drain - b * into_gate) / (a * c - b * b)
    dx[4] = (a * into_gate - b * into_drain) / (a * c - b * b)
    if dx.shape[0] == 6:
        return
    dx[6] = v.supply * i1
    dx[7] = i_channel * v_ds
    dx[8] = v.r1 * i1 * i1
    dx[9] = v.r2 * i2 * i2
    dx[10] = v_s * v_s / v.shunt if v.shunt > 0.0 else 0.0
    dx[11] = i_diode * v_ds
    dx[12] = i_aval * v_ds
    dx[13] = i_break * v_top
    dx[14] = clamp_power
    if v.gated > 0.0:
        volts = v.v_drive if level == 1 else 0.0
        dx[15] = g_feed * (v_g - volts) ** 2
        dx[16] = v.g_bias * (v.bias - v_in) ** 2
    else:
        dx[15] = v.g_down * v_g**2 if level == 0 else 0.0
        dx[16] = v.g_bias * (v.bias - v_g) ** 2
    dx[17] = i_clamp * v_ds
    dx[18] = i1
    dx[19] = i1 * i1


@njit
def packed_rates(x, level, table, dx):
    """`rates` with the values in an array of one record, which is quick to hand over."""
    rates(x, level, table[0], dx)


class Reference:
    """Runs of one circuit by a general-purpose solver, driver toggles met as events.

    Parameters
    ----------
    circuit : StageCircuit
        Stage without snubber and reservoir clamp.
    solver : {"cvode", "radau"}
        Which solver.
    rtol : float
        Relative tolerance; absolute ones are this part of each state's full scale.
    energies : bool
        Whether losses are integrated along.
    """

    def __init__(
        self, circuit: StageCircuit, solver: str, *, rtol: float, energies: bool = True
    ) -> None:
        self.circuit = circuit
        self.values = values(circuit)
        dtype = [(name, float) for name in Values._fields]
        self._table = np.array([tuple(self.values)], dtype=dtype)
        self.solver = solver
        self.rtol = rtol
        self.size = STATES + (len(ENERGIES) if energies else 0)
        coil = circuit.coil
        top = 10e3
        current = top * math.sqrt(coil.secondary_capacitance / coil.secondary_inductance)
        scale = np.array([5.0, current, top, 300.0, 10.0, 5.0])
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
        state[3] = v.supply
        if v.gated:
            rest = min(v.bias, v.clamp_high)
            state[5] = (
                rest
                if v.bias <= v.clamp_high
                else ((v.g_bias * v.bias + v.g_in_clamp * v.clamp_high) / (v.g_bias + v.g_in_clamp))
            )
            state[2] = state[5]
        else:
            state[4] = state[2] = v.g_bias * v.bias / (v.g_bias + v.g_down)
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
                    pending.append((now + feed.delay, level))
            while pending and pending[0][0] <= now * (1 + 1e-15):
                self.level = pending.pop(0)[1]
            if now >= times[-1]:
                break
        return out

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
        level, table, edge = self.level, self._table, self._edge()

        def rhs(t: float, y: Array, yp: Array) -> None:
            packed_rates(y, level, table, yp)

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
        level, table, edge = self.level, self._table, self._edge()
        slope = np.empty(self.size)

        def rhs(t: float, y: Array) -> Array:
            packed_rates(y, level, table, slope)
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
