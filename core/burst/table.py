"""Carrier table: carrier-scale results on a grid of supply voltage and on-resistance.

The slow side asks the table instead of the engine. Energies and powers are held over V^2 and
voltages and currents over V, which leaves functions that hardly move, so a few grid lines do;
monotone cubic interpolation along the supply, straight lines along the on-resistance.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike
from scipy.interpolate import PchipInterpolator

from burstwise.core.arrays import Array
from burstwise.core.burst.ring_up import RingUpCurves
from burstwise.core.stage.carrier import Carrier

ORDERS: Final[dict[str, int]] = {
    "input_power": 2,
    "device_power": 2,
    "supply_current_mean": 1,
    "supply_current_rms": 1,
    "drain_current_peak": 1,
    "drain_current_rms": 1,
    "drain_voltage_peak": 1,
    "drain_voltage_worst": 1,
    "drain_current_worst": 1,
    "top_voltage_peak": 1,
    "gate_peak": 0,
    "gate_valley": 0,
    "gate_highest": 0,
    "gate_lowest": 0,
    "frequency": 0,
    "time_to_90_percent": 0,
    "ring_down_heat": 2,
    "ring_down_supplied": 2,
    "ring_down_time": 0,
    "stored": 2,
    "oscillates": 0,
    "auxiliary_power": 0,
    "clamp_power": 2,
}
"""Quantities of the table and the power of the supply voltage that each is divided by."""
CURVES: Final = ("supplied", "device_heat", "stored")
"""Energies along the ring-up [J], all over V^2; the first two go on with the first two powers."""
_PLACE: Final = {name: place for place, name in enumerate(ORDERS)}
_POWERS: Final = np.array(list(ORDERS.values()), dtype=np.float64)
_STEADY_POWERS: Final = 2
CURVE_POINTS: Final = 48


@dataclass(frozen=True, slots=True)
class Slice:
    """The table at an array of supply voltages, all resistances still side by side.

    Attributes
    ----------
    voltage : Array (...)
        Supply voltages [V].
    scalars : Array (..., resistances, quantities)
        In SI units.
    curve_gain : Array (..., curves)
        What the table's energies over V^2 are multiplied by [V^2].
    """

    table: CarrierTable
    voltage: Array
    scalars: Array
    curve_gain: Array

    def rows(self, name: str) -> Array:
        """Quantity `name` over the resistances, shape (..., resistances)."""
        return np.asarray(self.scalars[..., _PLACE[name]])

    def repeated(self, count: int) -> Slice:
        """The slice above itself `count` times, on a new first axis."""
        return Slice(
            self.table,
            *(
                np.broadcast_to(values, (count, *values.shape))
                for values in (self.voltage, self.scalars, self.curve_gain)
            ),
        )

    def energies(self, time: Array) -> Array:
        """All curves up to `time` after a cold start [J].

        Parameters
        ----------
        time : array (..., resistances)
            Time since the start [s]; beyond the ring-up energy goes on at the steady power.

        Returns
        -------
        array (..., resistances, curves)
        """
        steady = self.scalars[..., :_STEADY_POWERS]
        return self.table.curves.energies(self.voltage, self.curve_gain, time, steady)


@dataclass(frozen=True, slots=True)
class CarrierTable:
    """Grid of carrier results, ready for interpolation.

    Attributes
    ----------
    voltages, resistances : Array
        Grid lines: supply [V], on-resistance [ohm].
    scalars : interpolator
        Over voltage, giving (resistances, quantities) over the power of V in `ORDERS`.
    curves : RingUpCurves
        Energies along the ring-up.
    results : tuple of tuple of Carrier
        The runs themselves, by voltage then resistance.
    """

    voltages: Array
    resistances: Array
    scalars: PchipInterpolator
    curves: RingUpCurves
    results: tuple[tuple[Carrier, ...], ...]

    def at(self, voltage: ArrayLike) -> Slice:
        """Table at an array of supply voltages; beyond the grid the nearest line is scaled."""
        V = np.asarray(voltage, dtype=np.float64)
        inside = np.clip(V, self.voltages[0], self.voltages[-1])
        scalars = self.scalars(inside) * (V[..., None] ** _POWERS)[..., None, :]
        gain = np.broadcast_to((V**2)[..., None], (*V.shape, len(CURVES)))
        return Slice(self, V, scalars, gain)

    def along(self, rows: Array, resistance: ArrayLike) -> Array:
        """Straight lines between the resistances.

        Parameters
        ----------
        rows : array (..., resistances)
            Values at the grid lines.
        resistance : array_like (...)
            On-resistance [ohm]; may have further axes of its own at the end.
        """
        R = np.asarray(resistance, dtype=np.float64)
        low = np.searchsorted(self.resistances, R, side="right") - 1
        low = np.clip(low, 0, len(self.resistances) - 2)
        left, right = self.resistances[low], self.resistances[low + 1]
        share = (R - left) / (right - left)
        extra = R.ndim - (rows.ndim - 1)
        index = low.reshape(*low.shape[: R.ndim - extra], -1)
        near = np.take_along_axis(rows, index, axis=-1).reshape(R.shape)
        far = np.take_along_axis(rows, index + 1, axis=-1).reshape(R.shape)
        found = near + (far - near) * share
        # Behind the last line a straight one must not turn what cannot be negative.
        same = (near >= 0) & (far >= 0)
        return np.asarray(np.where(same, np.maximum(found, 0.0), found))

    def value(self, name: str, voltage: ArrayLike, resistance: ArrayLike) -> Array:
        """Quantity `name` at supply voltages and on-resistances, broadcast together."""
        V, R = np.broadcast_arrays(
            np.asarray(voltage, dtype=np.float64), np.asarray(resistance, dtype=np.float64)
        )
        inside = np.clip(V, self.voltages[0], self.voltages[-1])
        rows = self.scalars(inside)[..., _PLACE[name]]
        return np.asarray(self.along(rows, R) * V ** ORDERS[name])

    @property
    def worst_residual(self) -> float:
        """Largest open energy balance of all runs [1]."""
        return max(item.residual for row in self.results for item in row)


def table_of(volts: Array, ohms: Array, results: tuple[tuple[Carrier, ...], ...]) -> CarrierTable:
    """Table of given runs."""
    longest = max(item.ring_up.time[-1] for row in results for item in row)
    shortest = min(1.0 / item.circuit.coil.resonance for row in results for item in row)
    time = np.concatenate(
        [[0.0], np.geomspace(0.5 * shortest, max(longest, 4 * shortest), CURVE_POINTS - 1)]
    )
    grid = np.array(
        [[[scalar_of(item, name) for name in ORDERS] for item in row] for row in results]
    )
    lines = np.array(
        [[[curve_of(item, name, time) for name in CURVES] for item in row] for row in results]
    )
    return CarrierTable(
        volts,
        ohms,
        PchipInterpolator(volts, grid / (volts[:, None] ** _POWERS)[:, None, :], axis=0),
        RingUpCurves.through(volts, time, lines),
        results,
    )


def scalar_of(item: Carrier, name: str) -> float:
    """Quantity of `ORDERS` of one run, in SI units."""
    from_lists = {
        "ring_down_heat": lambda: item.ring_down.device_heat * item.oscillates,
        "ring_down_supplied": lambda: item.ring_down.supplied * item.oscillates,
        "ring_down_time": lambda: item.ring_down.time_constant,
        "stored": lambda: float(item.ring_up.stored[-1]),
        "oscillates": lambda: float(item.oscillates),
        "clamp_power": lambda: item.losses.get("drain_clamp", 0.0),
    }
    if name in from_lists:
        return from_lists[name]()
    return float(getattr(item, name))


def curve_of(item: Carrier, name: str, time: Array) -> Array:
    """One energy of the ring-up at given times [J], going on at the steady power."""
    marks = item.ring_up
    values = getattr(marks, name)
    power = {"supplied": item.input_power, "device_heat": item.device_power}.get(name, 0.0)
    if not item.oscillates:  # no ring-up: its power from the first moment on
        return np.asarray(power * time)
    if len(marks.time) < 3:
        return np.asarray(values[-1] + power * (time - marks.time[-1]))
    inside = PchipInterpolator(marks.time, values)(np.minimum(time, marks.time[-1]))
    beyond = np.maximum(time - marks.time[-1], 0.0)
    return np.asarray(inside + power * beyond)
