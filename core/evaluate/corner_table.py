"""Carrier table of a corner from one engine run, beside the table of the stage as designed."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from scipy.interpolate import PchipInterpolator

from burstwise.core.arrays import Array
from burstwise.core.burst.ring_up import RingUpCurves
from burstwise.core.burst.table import (
    CURVE_POINTS,
    CURVES,
    ORDERS,
    CarrierTable,
    curve_of,
    scalar_of,
)
from burstwise.core.evaluate.load import SLOPE, diode_slope
from burstwise.core.stage.carrier import Carrier

_STEADY: Final = {"supplied": "input_power", "device_heat": "device_power", "stored": "stored"}
"""Figure that each energy of the ring-up goes with."""
_TINY: Final = 1e-30


def corner_table(nominal: CarrierTable, run: Carrier) -> CarrierTable:
    """Table that goes through one run of a corner.

    With the on-resistance figures move as those of the stage as designed. With the voltage they do
    so too where the corner breaks out; without breakout figures go with the voltage's own powers,
    since what is left is nearly linear.

    Parameters
    ----------
    nominal : CarrierTable
        Of the stage as designed.
    run : Carrier
        The corner's run.
    """
    circuit = run.circuit
    volts, powers = nominal.voltages, np.array(list(ORDERS.values()), dtype=np.float64)
    inside = np.clip(circuit.supply_voltage, volts[0], volts[-1])
    beside = np.asarray(nominal.scalars(inside))
    rows = np.asarray(nominal.scalars(volts))
    if circuit.coil.breakout_voltage == np.inf:
        rows = np.broadcast_to(beside, rows.shape)
    own = np.array([scalar_of(run, name) for name in ORDERS]) / circuit.supply_voltage**powers
    ohms = np.full(len(own), circuit.switch.on_resistance)
    there = nominal.along(np.swapaxes(beside, 0, 1), ohms)
    ratio = own / np.where(np.abs(there) > _TINY, there, 1.0)
    grid = np.where(np.abs(there) > _TINY, rows * ratio, own)
    time = _times(run)
    return CarrierTable(
        volts,
        nominal.resistances,
        PchipInterpolator(volts, grid, axis=0),
        RingUpCurves.through(volts, time, _lines(run, time, grid, own) * _squares(volts)),
        ((run,),),
    )


@dataclass(frozen=True, slots=True)
class CornerStage:
    """The same with the losses of the run over V^2, as `LossTable` has them."""

    table: CarrierTable
    loss_names: tuple[str, ...]
    losses: Callable[[Any], Array]


def corner_stage(nominal: CarrierTable, run: Carrier) -> CornerStage:
    """Table of a corner with its losses, see `corner_table`."""
    circuit, names = run.circuit, tuple(sorted(run.losses))
    slope = diode_slope(
        run.trace, frequency=run.frequency, diode_voltage=circuit.switch.diode_voltage
    )
    row = np.array([*(run.losses[name] for name in names), slope]) / circuit.supply_voltage**2

    def losses(voltage: Array) -> Array:
        return np.broadcast_to(row, (*np.shape(voltage), len(nominal.resistances), len(row)))

    return CornerStage(corner_table(nominal, run), (*names, SLOPE), losses)


def _times(run: Carrier) -> Array:
    period = 1.0 / run.circuit.coil.resonance
    longest = max(float(run.ring_up.time[-1]), 4.0 * period)
    return np.concatenate([[0.0], np.geomspace(0.5 * period, longest, CURVE_POINTS - 1)])


def _lines(run: Carrier, time: Array, grid: Array, own: Array) -> Array:
    """Energies over V^2 (voltages, resistances, curves, points)."""
    names, volts = list(ORDERS), run.circuit.supply_voltage
    lines = []
    for name in CURVES:
        place = names.index(_STEADY[name])
        share = grid[..., place] / (own[place] if abs(own[place]) > _TINY else 1.0)
        lines.append(share[..., None] * curve_of(run, name, time) / volts**2)
    return np.stack(lines, axis=2)


def _squares(volts: Array) -> Array:
    return np.asarray(volts[:, None, None, None] ** 2)
