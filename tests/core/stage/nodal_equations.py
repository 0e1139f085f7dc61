"""Equations of the stage written out by hand, a second opinion on the engine.

States are i1, i2 (lumped current out of the secondary), v_top, v_ds, v_gs, v_input, the snubber's
capacitor and the reservoir, then the energies. Kirchhoff's laws are solved on paper for drain and
gate; the shunt's voltage follows from the sum of the currents into the device. Capacitances of
the device are functions of voltage, straight pieces of charge or smooth: a sum of the terms of
`TERMS`. Nothing of burstwise.core.stage.network is used.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numba import njit
from numpy.typing import NDArray

from burstwise.core.stage.charge import ChargeSegments
from burstwise.core.stage.circuit import GatedFeed, StageCircuit

Array = NDArray[np.float64]

STATES = 8
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
    "snubber",
    "reservoir_diode",
    "reservoir_bleed",
)
STEP, JUNCTION, KNEE = 0, 1, 2
"""Terms (kind, a, b, c) of a capacitance in F, by voltage v:

- step: a above b volts;
- junction: a (1 + v/b)^-c, from 0 V down that of 0 V;
- knee: a / (1 + (v/b)^c), from 0 V down that of 0 V.
"""


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
    base_ratio: float
    g_snub: float
    c_snub: float
    v_res_diode: float
    g_res_diode: float
    g_bleed: float
    c_res: float


def values(circuit: StageCircuit) -> Values:
    """Numbers of a circuit, its device's capacitances aside."""
    coil, switch, feed, clamps = circuit.coil, circuit.switch, circuit.feed, circuit.clamps
    snubbed, reservoir = clamps.snubber_capacitance > 0, clamps.reservoir_capacitance > 0
    gated = isinstance(feed, GatedFeed)
    # In series with the driver; in a direct stage these equations have no place for it.
    inside = switch.internal_gate_resistance
    assert gated or inside == 0.0
    return Values(
        float(gated),
        circuit.supply_voltage,
        circuit.shunt_resistance,
        coil.primary_inductance + coil.lead_inductance,
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
        1.0 / (feed.pull_down_resistance + inside),
        1.0 / (feed.pull_up_resistance + inside) if isinstance(feed, GatedFeed) else 0.0,
        feed.supply if isinstance(feed, GatedFeed) else 0.0,
        feed.input_capacitance if isinstance(feed, GatedFeed) else 1e-9,
        coil.base_current_ratio,
        1.0 / clamps.snubber_resistance if snubbed else 0.0,
        clamps.snubber_capacitance if snubbed else 1e-9,
        clamps.reservoir_diode_voltage,
        1.0 / clamps.reservoir_diode_resistance if reservoir else 0.0,
        1.0 / clamps.reservoir_resistance if reservoir else 0.0,
        clamps.reservoir_capacitance if reservoir else 1e-9,
    )


def terms_of(law: ChargeSegments) -> Array:
    """Terms of a charge of straight pieces."""
    steps = np.diff(law.farads, prepend=0.0)
    edges = (-math.inf, *law.knots)
    return np.array([(STEP, step, edge, 0.0) for step, edge in zip(steps, edges, strict=True)])


@njit
def capacitance(volts, terms):
    """Capacitance at a voltage, the sum of its terms."""
    total = 0.0
    for kind, a, b, c in terms:
        if kind == STEP:
            if volts > b:
                total += a
        elif kind == JUNCTION:
            total += a * (1.0 + max(volts, 0.0) / b) ** -c
        else:
            total += a / (1.0 + (max(volts, 0.0) / b) ** c)
    return total


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
def rates(x, level, v, drain_source, gate_drain, dx):
    """Time derivatives of states and energies."""
    i1, i2, v_top, v_ds, v_gs, v_in = x[0], x[1], x[2], x[3], x[4], x[5]
    v_snub, v_res = x[6], x[7]
    # Conductance and short-circuit current of all that feeds the gate from outside the device.
    if v.gated > 0.0:
        g_feed = v.g_up if level == 1 else v.g_down
        i_short = g_feed * v.v_drive if level == 1 else 0.0
    else:
        g_feed = v.g_bias + (v.g_down if level == 0 else 0.0)
        i_short = v.g_bias * v.bias + v.base_ratio * i2
    v_s = v.shunt * (i1 + i_short - g_feed * v_gs) / (1.0 + v.shunt * g_feed)
    over = v_ds - v_res - v.v_res_diode
    i_res = 0.0
    if over + v_s > 0.0 and v.g_res_diode > 0.0:
        # The diode takes its current past the shunt.
        into = i1 + i_short - g_feed * v_gs - v.g_res_diode * over
        v_s = v.shunt * into / (1.0 + v.shunt * (g_feed + v.g_res_diode))
        i_res = v.g_res_diode * (over + v_s)
    v_g, v_d = v_gs + v_s, v_ds + v_s
    i_channel = channel_current(v_ds, v_gs, v)
    i_diode = (v_ds + v.v_diode) * v.g_diode if v_ds < -v.v_diode else 0.0
    i_aval = (v_ds - v.v_aval) * v.g_aval if v_ds > v.v_aval else 0.0
    i_clamp = (v_ds - v.v_clamp) * v.g_clamp if v_ds > v.v_clamp else 0.0
    i_break = _beyond(v_top, -v.v_break, v.v_break, v.g_break)
    i_snub = v.g_snub * (v_ds - v_snub)
    i_bleed = v.g_bleed * (v_res - v.supply)
    dx[6], dx[7] = i_snub / v.c_snub, (i_res - i_bleed) / v.c_res
    into_drain = i1 - i_channel - i_diode - i_aval - i_clamp - i_snub - i_res
    into_gate = i_short - g_feed * v_g
    if v.gated > 0.0:
        i_in = _beyond(v_in, -v.clamp_low, v.clamp_high, v.g_in_clamp)
        dx[5] = (v.base_ratio * i2 + v.g_bias * (v.bias - v_in) - i_in) / v.c_in
        base, clamp_power = v_in, i_in * v_in
    else:
        i_in = _beyond(v_gs, -v.clamp_low, v.clamp_high, v.g_in_clamp)
        into_gate -= i_in
        dx[5] = 0.0
        base, clamp_power = v_g, i_in * v_gs
    u1 = v.supply - v.r1 * i1 - v_d
    u2 = v_top - v.r2 * i2 - v.base_ratio * base
    det = v.l1 * v.l2 - v.m * v.m
    dx[0] = (v.l2 * u1 - v.m * u2) / det
    dx[1] = (v.l1 * u2 - v.m * u1) / det
    dx[2] = (-i2 - i_break) / v.c2
    c_ds, c_gd = capacitance(v_ds, drain_source), capacitance(v_ds - v_gs, gate_drain)
    a, b, c = c_ds + c_gd, -c_gd, v.c_gs + c_gd
    dx[3] = (c * into_drain - b * into_gate) / (a * c - b * b)
    dx[4] = (a * into_gate - b * into_drain) / (a * c - b * b)
    if dx.shape[0] == STATES:
        return
    e = dx[STATES:]
    e[0] = v.supply * (i1 - i_bleed)
    e[1] = i_channel * v_ds
    e[2] = v.r1 * i1 * i1
    e[3] = v.r2 * i2 * i2
    e[4] = v_s * v_s / v.shunt if v.shunt > 0.0 else 0.0
    e[5] = i_diode * v_ds
    e[6] = i_aval * v_ds
    e[7] = i_break * v_top
    e[8] = clamp_power
    if v.gated > 0.0:
        volts = v.v_drive if level == 1 else 0.0
        e[9] = g_feed * (v_g - volts) ** 2
        e[10] = v.g_bias * (v.bias - v_in) ** 2
    else:
        e[9] = v.g_down * v_g**2 if level == 0 else 0.0
        e[10] = v.g_bias * (v.bias - v_g) ** 2
    e[11] = i_clamp * v_ds
    e[12] = i1 - i_bleed
    e[13] = i1 * i1
    e[14] = i_snub * (v_ds - v_snub)
    e[15] = i_res * (v_d - v_res)
    e[16] = i_bleed * (v_res - v.supply)


@njit
def packed_rates(x, level, table, drain_source, gate_drain, dx):
    """`rates` with the values in an array of one record, which is quick to hand over."""
    rates(x, level, table[0], drain_source, gate_drain, dx)
