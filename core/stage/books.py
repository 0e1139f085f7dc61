"""Energy books: what each source gave and each element lost over a stretch of a run."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from core.stage.elements import Monitor
from core.stage.network import Network, Region

Array = NDArray[np.float64]

AT_REST = 1e-5
"""Part of the stored energy below which a turnover counts as none."""

_MONITORS = len(Monitor)
# Rows that every region has: two sources, the charge, squares and means of the monitors.
_FIXED = 3 + 2 * _MONITORS


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

        Where next to nothing is turned over, the hundred-thousandth part of the stored energy
        stands in, since its rounding is all that is left to compare.
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
    """Rows of every read-out of the books, region by region.

    The energy of an element with voltage row v and current row i is ``v W i^T``, W being the
    integral of ``y y^T dt`` over the coordinates y. The squares and means of the monitors and the
    supply's charge are of the same form.

    Parameters
    ----------
    network : Network
        The network that the regions belong to.
    """

    def __init__(self, network: Network) -> None:
        self._network = network
        self._names: list[str] = []
        self._rows: list[tuple[Array, Array, tuple[str, ...]]] = []
        self._tables: tuple[Array, Array, NDArray[np.bool_]] | None = None

    def add(self, region: Region, monitors: Array) -> None:
        """Note the rows of the next region; `monitors` are its monitor rows."""
        constant = np.zeros(self._network.order + 1)
        constant[-1] = 1.0
        delivered = {"main": np.zeros_like(constant), "auxiliary": np.zeros_like(constant)}
        charge = np.zeros_like(constant)
        for power in self._network.supplies(region):
            delivered[power.name] += power.voltage[-1] * power.current
            if power.name == "main":
                charge += power.current
        losses = self._network.losses(region)
        unit = [constant] * _MONITORS
        left = [constant, constant, constant, *monitors, *unit]
        right = [*delivered.values(), charge, *monitors, *monitors]
        names = tuple(power.name for power in losses)
        self._names += [name for name in names if name not in self._names]
        self._rows.append(
            (
                np.array(left + [power.voltage for power in losses]),
                np.array(right + [power.current for power in losses]),
                names,
            )
        )
        self._tables = None

    def books(self, moments: Array, stored: tuple[float, float]) -> Books:
        """Books from the integrals of the regions, shape (regions, n+1, n+1).

        `stored` is the stored energy before and after the stretch [J].
        """
        left, right, present = self._tables or self._stacked()
        values = np.einsum("rkp,rkp->k", left @ moments, right)
        times = moments[:, -1, -1]
        seen = np.count_nonzero(present[times > 0], axis=0).tolist()
        lost = zip(self._names, values[_FIXED:].tolist(), seen, strict=True)
        main, auxiliary, charge = values[:3].tolist()
        return Books(
            duration=float(times.sum()),
            supplied={"main": main, "auxiliary": auxiliary},
            lost={name: energy for name, energy, there in lost if there},
            stored_change=stored[1] - stored[0],
            stored=max(stored),
            charge=charge,
            squares=values[3 : 3 + _MONITORS],
            means=values[3 + _MONITORS : _FIXED],
        )

    def _stacked(self) -> tuple[Array, Array, NDArray[np.bool_]]:
        shape = (len(self._rows), _FIXED + len(self._names), self._network.order + 1)
        left, right = np.zeros(shape), np.zeros(shape)
        present = np.zeros((len(self._rows), len(self._names)), dtype=bool)
        for place, (volts, amps, names) in enumerate(self._rows):
            columns = [self._names.index(name) for name in names]
            kept = [*range(_FIXED), *(_FIXED + column for column in columns)]
            left[place, kept], right[place, kept] = volts, amps
            present[place, columns] = True
        self._tables = left, right, present
        return self._tables
