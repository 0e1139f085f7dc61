"""Energy books: what each source gave and each element lost over a stretch of a run."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from burstwise.core.arrays import Array
from burstwise.core.stage.elements import Monitor
from burstwise.core.stage.network import Network
from burstwise.core.stage.stamps import AUXILIARY, CHARGE, CONSTANT, FIRST_LOSS, FIRST_MONITOR

AT_REST = 5e-2
"""Part of the stored energy below which a turnover counts as none."""

_MONITORS = len(Monitor)
_SOURCES = 2
# Before the losses: charge, auxiliary energy, squares and means of the monitors.
_FIXED = _SOURCES + 2 * _MONITORS


@dataclass(frozen=True, slots=True)
class Books:
    """Energies over one stretch of a run.

    Attributes
    ----------
    duration : float
        Time booked [s].
    supplied : dict of str to float
        Energy delivered by each source [J].
    lost : dict of str to float
        Energy turned to heat (or light) in each element [J].
    stored_change, stored : float
        Change of stored energy, and the larger of those at start and end [J].
    charge : float
        Integral of the supply current [C].
    squares : Array
        Integral of the square of every monitor, shape (monitors,) [unit^2 s].
    means : Array
        Integral of every monitor, shape (monitors,) [unit s].
    """

    duration: float
    supplied: dict[str, float]
    lost: dict[str, float]
    stored_change: float
    stored: float
    charge: float
    squares: Array
    means: Array

    @property
    def residual(self) -> float:
        """Open balance over energy turned over: |supplied - stored - lost| / throughput [1].

        Where next to nothing is turned over, the twentieth part of the stored energy stands in,
        since its rounding, which grows with the time at rest, is all that is left to compare.
        """
        supplied, lost = sum(self.supplied.values()), sum(self.lost.values())
        throughput = max(abs(supplied), lost, abs(self.stored_change), AT_REST * self.stored)
        if throughput == 0:
            return 0.0
        return abs(supplied - lost - self.stored_change) / throughput

    def __add__(self, other: Books) -> Books:
        return Books(
            self.duration + other.duration,
            _summed(self.supplied, other.supplied),
            _summed(self.lost, other.lost),
            self.stored_change + other.stored_change,
            max(self.stored, other.stored),
            self.charge + other.charge,
            self.squares + other.squares,
            self.means + other.means,
        )


def _summed(one: dict[str, float], other: dict[str, float]) -> dict[str, float]:
    return {key: one.get(key, 0.0) + other.get(key, 0.0) for key in dict.fromkeys((*one, *other))}


class Ledger:
    """Pairs of read-outs whose integrated products make the books.

    The energy of an element with voltage row v and current row i is ``v W i^T``, W being the
    integral of ``y y^T dt`` over the coordinates y. The squares and means of the monitors and the
    supply's charge are of the same form.

    Attributes
    ----------
    left, right : array of int (pairs,)
        Places of the factors among the read-outs of `burstwise.core.stage.stamps.Stamps`.
    """

    def __init__(self, network: Network) -> None:
        self._supply = network.circuit.supply_voltage
        self._losses = network.stamps.losses
        constant = [CONSTANT] * _MONITORS
        monitors = range(FIRST_MONITOR, FIRST_LOSS)
        currents = FIRST_LOSS + len(self._losses)
        self.left = np.array(
            [CONSTANT, CONSTANT, *monitors, *constant, *range(FIRST_LOSS, currents)]
        )
        self.right = np.array(
            [CHARGE, AUXILIARY, *monitors, *monitors]
            + [currents + place for place in range(len(self._losses))]
        )

    def books(
        self, values: Array, duration: float, seen: NDArray[np.bool_], stored: tuple[float, float]
    ) -> Books:
        """Books from the integrated products of all pairs.

        `seen` tells which losses the visited regions have; `stored` is the stored energy before
        and after the stretch [J].
        """
        charge, auxiliary = values[:_SOURCES].tolist()
        lost = zip(self._losses, values[_FIXED:].tolist(), seen.tolist(), strict=True)
        return Books(
            duration=duration,
            supplied={"main": self._supply * charge, "auxiliary": auxiliary},
            lost={name: energy for name, energy, there in lost if there},
            stored_change=stored[1] - stored[0],
            stored=max(stored),
            charge=charge,
            squares=values[_SOURCES : _SOURCES + _MONITORS],
            means=values[_SOURCES + _MONITORS : _FIXED],
        )
