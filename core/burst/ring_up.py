"""Energies along the ring-up, over supply voltage and on-resistance, at any time."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.interpolate import PchipInterpolator

from burstwise.core.arrays import Array
from burstwise.core.stage.kernel.layout import allocating


@allocating
def _energies(
    knots: Array,
    pieces: Array,
    grid: Array,
    volts: Array,
    gain: Array,
    time: Array,
    powers: Array,
    out: Array,
) -> None:
    """Energies of many bursts; arrays as in `RingUpCurves`, one row per burst."""
    last, reach = len(knots) - 2, grid[-1]
    for n in range(len(volts)):
        piece = min(max(np.searchsorted(knots, volts[n]) - 1, 0), last)
        d = volts[n] - knots[piece]
        for r in range(time.shape[1]):
            at = min(max(time[n, r], 0.0), reach)
            place = min(np.searchsorted(grid, at, side="right"), len(grid) - 1) - 1
            share = (at - grid[place]) / (grid[place + 1] - grid[place])
            for c in range(out.shape[2]):
                value = 0.0
                for step in range(2):
                    a = pieces[piece, r, place + step, c]
                    part = share if step else 1.0 - share
                    value += part * (((a[0] * d + a[1]) * d + a[2]) * d + a[3])
                value *= gain[n, c]
                if c < powers.shape[2]:
                    value += (time[n, r] - at) * powers[n, r, c]
                out[n, r, c] = value


@dataclass(frozen=True, slots=True)
class RingUpCurves:
    """Energies over V^2 along the ring-up: monotone cubics in the voltage, straight in time.

    Attributes
    ----------
    voltages : Array (voltages,)
        Grid lines [V].
    time : Array (points,)
        Times since a cold start [s], from 0.
    pieces : Array (voltages - 1, resistances, points, curves, 4)
        Coefficients of the cubics.
    """

    voltages: Array
    time: Array
    pieces: Array

    @staticmethod
    def through(voltages: Array, time: Array, energies: Array) -> RingUpCurves:
        """Curves through energies [J], shape (voltages, resistances, curves, points)."""
        over = energies / voltages[:, None, None, None] ** 2
        cubics = PchipInterpolator(voltages, np.swapaxes(over, 2, 3), axis=0)
        return RingUpCurves(voltages, time, np.ascontiguousarray(np.moveaxis(cubics.c, 0, -1)))

    def energies(self, voltage: Array, gain: Array, time: Array, powers: Array) -> Array:
        """All curves at given times [J].

        Parameters
        ----------
        voltage : array (...)
            Supply voltages [V]; beyond the grid its nearest line counts.
        gain : array (..., curves)
            What the energies over V^2 are multiplied by [V^2].
        time : array (..., resistances)
            Time since a cold start [s].
        powers : array (..., resistances, k)
            Power with which the first k curves go on beyond the last time [W].

        Returns
        -------
        array (..., resistances, curves)
        """
        shape, curves = time.shape, self.pieces.shape[3]
        volts = np.clip(voltage, self.voltages[0], self.voltages[-1])
        out = np.empty((*shape, curves))
        _energies(
            self.voltages,
            self.pieces,
            self.time,
            np.broadcast_to(volts, shape[:-1]).ravel(),
            np.broadcast_to(gain, (*shape[:-1], curves)).reshape(-1, curves),
            np.ascontiguousarray(time).reshape(-1, shape[-1]),
            np.broadcast_to(powers, (*shape, powers.shape[-1])).reshape(
                -1, shape[-1], powers.shape[-1]
            ),
            out.reshape(-1, shape[-1], curves),
        )
        return out
