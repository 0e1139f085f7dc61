"""Candidates for a wish: the full grid of stock values, cut down to those that can win.

Duty and frequency separate: with C = 1 F the grid of resistors and potentiometers gives the duty
and the period per farad, then the two neighbours of the ideal capacitor in each kind follow by
bisection. What is dropped on the way has a duty error alone that is larger than the whole
duty error of everything kept. Series finer than E24 go in two steps: every fourth value or so
first, then all values around what was kept; neighbours differ by a few per cent in duty, the
thousands kept by far more.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from burstwise.core.arrays import Array
from burstwise.core.design.timer_wish import TimerWish
from burstwise.core.interrupter.build import Build, Circuit, Cycle
from burstwise.core.interrupter.sets import bare_build
from burstwise.core.interrupter.stock import CapacitorKind, Stock
from burstwise.core.interrupter.timer import Timer

TRAVEL: Final = np.array([0.0, 0.5, 1.0])
_KEPT: Final = 2000
"""Grid points kept for the choice of capacitor."""
_COARSE: Final = 120
"""Most resistor values per axis of the first grid; finer series are refined around its best."""
PER_KIND: Final = 2
"""Candidates kept for each potentiometer and kind of capacitor."""
BIAS_MARGIN: Final = 20.0
"""Smallest ratio of timing current to input bias and leakage at the switching levels."""
FREQUENCY_TOLERANCE: Final = 0.05
"""Largest nominal error of the frequency that counts as fulfilled, as a fraction."""
DUTY_TOLERANCE: Final = 0.25
"""Largest nominal error of duty/(1 - duty) at an end stop that does, as a fraction."""
LOWEST_DUTY: Final = 1e-3
"""Duty below which, or within which of 1, no end stop is looked for."""


@dataclass(frozen=True, slots=True)
class Attempt:
    """What one search tries: a circuit with a timer for a wish, out of a stock."""

    wish: TimerWish
    stock: Stock
    circuit: Circuit
    timer: Timer

    def bare(self) -> dict[str, float]:
        """Build without its parts."""
        return bare_build(self.timer, self.wish.supply, self.stock.diode, self.stock.potentiometers)

    @property
    def levels(self) -> tuple[float, float]:
        """Lower and upper switching level [V]."""
        return self.wish.supply * self.timer.lower, self.wish.supply * self.timer.upper


@dataclass(frozen=True, slots=True)
class Candidates:
    """Columns of equal length: values by role, and the kind of each capacitor by role."""

    values: dict[str, Array]
    kinds: dict[str, list[CapacitorKind]]

    def __len__(self) -> int:
        return len(next(iter(self.values.values())))


def odds(duty: ArrayLike) -> Array:
    """Logarithm of duty/(1 - duty), the same scale near 0 and near 1.

    Examples
    --------
    >>> float(odds(0.5)), bool(np.isclose(odds(0.98), -odds(0.02)))
    (0.0, True)
    """
    held = np.clip(duty, 1e-12, 1 - 1e-12)
    return np.asarray(np.log(held / (1 - held)))[()]


def duty_targets(wish: TimerWish) -> tuple[float, float, float]:
    """Duty wanted at the low stop, at half travel of a linear knob, and at the high stop."""
    low, high = (
        float(np.clip(duty, LOWEST_DUTY, 1 - LOWEST_DUTY))
        for duty in (wish.duty_low, wish.duty_high)
    )
    return low, (low + high) / 2, high


@lru_cache(maxsize=8)
def astable_candidates(attempt: Attempt) -> Candidates | None:
    """Best grid points of an astable with each potentiometer and each kind of capacitor."""
    base, stock = attempt.bare(), attempt.stock
    resistors = stock.resistors.values()
    pots = np.array([0.0] if attempt.wish.fixed_duty else stock.potentiometers.values)
    stride = -(-len(resistors) // _COARSE)
    coarse = resistors[stride // 2 :: stride]
    error = _duty_error(
        attempt,
        {
            **base,
            "charge_resistor": coarse[:, np.newaxis, np.newaxis],
            "discharge_resistor": coarse[np.newaxis, :, np.newaxis],
            "potentiometer": pots[np.newaxis, np.newaxis, :],
        },
    )
    i, j, k = np.unravel_index(_smallest(error.ravel()), error.shape)
    rows: dict[str, Array] = {
        "charge_resistor": coarse[i],
        "discharge_resistor": coarse[j],
        "potentiometer": pots[k],
    }
    kept = error[i, j, k]
    if stride > 1 and kept.size:
        rows = _refined(rows, resistors, stride)
        error = _duty_error(attempt, {**base, **rows})
        best = _smallest(error)
        rows, kept = {role: values[best] for role, values in rows.items()}, error[best]
    if kept.size == 0:
        return None
    return _with_capacitor(attempt, {**base, **rows}, kept)


def _duty_error(attempt: Attempt, grid: Build) -> Array:
    """Sum of the errors at both end stops; infinite where currents do not hold."""
    unit = {**grid, "timing_capacitor": 1.0}
    low, _, high = duty_targets(attempt.wish)
    at_low, at_high = (attempt.circuit.cycle(unit, travel) for travel in (0.0, 1.0))
    error = np.abs(_cycle_odds(at_low) - odds(low)) + np.abs(_cycle_odds(at_high) - odds(high))
    return np.asarray(np.where(_currents_hold(attempt, grid), error, np.inf))


def _smallest(error: Array) -> NDArray[np.intp]:
    """Indices of the smallest finite errors, at most `_KEPT` of them."""
    finite = np.flatnonzero(np.isfinite(error))
    if finite.size > _KEPT:
        finite = finite[np.argpartition(error[finite], _KEPT)[:_KEPT]]
    return finite


def _refined(rows: dict[str, Array], resistors: Array, stride: int) -> dict[str, Array]:
    """All values of the fine series around each coarse point."""
    offsets = np.arange(stride) - stride // 2
    first, second = (grid.ravel() for grid in np.meshgrid(offsets, offsets, indexing="ij"))
    last = len(resistors) - 1
    at_charge, at_discharge = (
        np.searchsorted(resistors, rows[role]) for role in ("charge_resistor", "discharge_resistor")
    )
    return {
        "charge_resistor": resistors[np.clip(np.add.outer(at_charge, first), 0, last).ravel()],
        "discharge_resistor": resistors[
            np.clip(np.add.outer(at_discharge, second), 0, last).ravel()
        ],
        "potentiometer": np.repeat(rows["potentiometer"], first.size),
    }


def _cycle_odds(cycle: Cycle) -> Array:
    with np.errstate(invalid="ignore"):
        return np.asarray(np.nan_to_num(np.log(cycle.on / cycle.off), nan=np.inf))


def _currents_hold(attempt: Attempt, grid: Build) -> Array:
    """Whether pin currents stay in the level models and timing currents far above the bias."""
    circuit, timer = attempt.circuit, attempt.timer
    lower, upper = attempt.levels
    least = BIAS_MARGIN * timer.bias_current
    charge_slow, discharge_fast = circuit.timing_paths(grid, 1.0)
    charge_fast, discharge_slow = circuit.timing_paths(grid, 0.0)
    holds = (charge_slow.current(upper) >= least) & (discharge_slow.current(lower) >= least)
    if circuit.output_driven:
        limit = timer.output_limit
        sunk = discharge_fast.current(upper)
        return np.asarray(holds & (charge_fast.current(lower) <= limit) & (sunk <= limit))
    sunk = discharge_fast.current(upper) + attempt.wish.supply / np.asarray(grid["charge_resistor"])
    return np.asarray(holds & (sunk <= timer.discharge_limit))


def _with_capacitor(attempt: Attempt, rows: Build, duty_error: Array) -> Candidates | None:
    """Neighbours of the ideal capacitor in each kind, then the best per potentiometer and kind."""
    wish = attempt.wish
    per_farad = _periods(attempt.circuit.cycle(_columns({**rows, "timing_capacitor": 1.0}), TRAVEL))
    ideal = 1 / (wish.frequency * per_farad[:, 1])
    least_current = _least_current(attempt, rows)
    chosen_rows: list[NDArray[np.int_]] = []
    chosen_values: list[Array] = []
    kinds: list[CapacitorKind] = []
    pots = np.asarray(rows["potentiometer"], float)
    for kind in attempt.stock.capacitors:
        stock = kind.values()
        above = np.clip(np.searchsorted(stock, ideal), 1, len(stock) - 1)
        row = np.tile(np.arange(len(ideal)), 2)
        C = np.concatenate([stock[above - 1], stock[above]])
        periods = per_farad[row] * C[:, np.newaxis]
        frequency_error = np.abs(np.log(wish.frequency * periods)).max(axis=1)
        score = (
            wish.weights.frequency * frequency_error / FREQUENCY_TOLERANCE
            + wish.weights.duty * duty_error[row] / 2 / DUTY_TOLERANCE
        )
        leak = BIAS_MARGIN * kind.leakage * C * attempt.levels[1]
        score = np.where(leak <= least_current[row], score, np.inf)
        for pot in np.unique(pots):
            member = np.flatnonzero((pots[row] == pot) & np.isfinite(score))
            best = member[np.argsort(score[member], kind="stable")[:PER_KIND]]
            chosen_rows.append(row[best])
            chosen_values.append(C[best])
            kinds += [kind] * len(best)
    picked = np.concatenate(chosen_rows)
    if picked.size == 0:
        return None
    roles = ("charge_resistor", "discharge_resistor", "potentiometer")
    values = {role: np.asarray(rows[role], float)[picked] for role in roles}
    return Candidates(
        values | {"timing_capacitor": np.concatenate(chosen_values)}, {"timing_capacitor": kinds}
    )


def _least_current(attempt: Attempt, rows: Build) -> Array:
    charge, _ = attempt.circuit.timing_paths(rows, 1.0)
    _, discharge = attempt.circuit.timing_paths(rows, 0.0)
    lower, upper = attempt.levels
    return np.asarray(np.minimum(charge.current(upper), discharge.current(lower)))


def _columns(rows: Build) -> dict[str, ArrayLike]:
    return {
        role: np.asarray(v)[:, np.newaxis] if np.ndim(v) == 1 else v for role, v in rows.items()
    }


def _periods(cycle: Cycle) -> Array:
    return np.asarray(np.broadcast_to(cycle.period, np.broadcast(cycle.period, TRAVEL).shape))
