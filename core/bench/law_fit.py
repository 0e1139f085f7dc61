"""One law fitted to one quantity: two coefficients, and a drift that says how far to trust it.

No stage follows a power law or a straight line exactly: breakout sets in, the device warms, the
carrier pulls. So each law carries a third term, the drift of its local exponent d(ln y)/d(ln V)
per e-fold of supply, which is expected near zero and only moves as far as the rows say. Left out,
intervals of an extrapolated supply would be several times too narrow.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Final

import numpy as np

from burstwise.core.arrays import Array

EXPECTED_DRIFTS: Final = (0.2, 0.8)
"""Standard deviations of the drift of the exponent per e-fold of supply, before any reading [-].

The small one stands for a stage in one regime, the large one for a stage that changes its regime,
as at the onset of breakout. Chosen so that intervals hold, see docs/theory_bench.md."""
DRIFT_ODDS: Final = (0.7, 0.3)
"""Belief in each of them, before any reading [-]."""
SMALLEST_SCATTER: Final = 0.001
"""Scatter below which rows are not believed, whatever they say [-]: the last digit of a
3.5-digit meter is 0.05 to 0.5 % of its reading."""
_LARGEST_SCATTER: Final = 0.3
_DRIFT_HOLDS_TO: Final = 1.5
_REACH: Final = 12.0
_BISECTIONS: Final = 40


class Law(StrEnum):
    """Shape of a trend against supply."""

    POWER = "power law"
    LINEAR = "straight line"


@dataclass(frozen=True, slots=True)
class DriftShape:
    """Effect of a unit drift on ln y: half the squared distance of ln V from the rows' middle.

    Beyond 1.5 times the highest supply of the rows the exponent drifts no further, so that a
    small drift does not bend a far extrapolation over.
    """

    middle: float
    edge: float

    def at(self, log_supply: Array) -> Array:
        """Change of ln y per unit drift at ln V."""
        distance = log_supply - self.middle
        inside = np.clip(distance, -self.edge, self.edge)
        return inside * (distance - 0.5 * inside)


@dataclass(frozen=True, slots=True)
class Turn:
    """Supplies from which on y rises more steeply, and by how much, one per draw.

    Attributes
    ----------
    begin : ndarray, shape (draws,)
        ln V at which the steeper rise begins.
    rise : ndarray, shape (draws,)
        What the exponent gains there, 0 or more [-].
    """

    begin: Array
    rise: Array

    @classmethod
    def none(cls, draws: int) -> Turn:
        """No turn in any draw."""
        return cls(np.zeros(draws), np.zeros(draws))

    def at(self, log_supply: Array) -> Array:
        """What it adds to ln y at ln V."""
        return self.rise * np.maximum(log_supply - self.begin, 0.0)


@dataclass(frozen=True, slots=True)
class LawFit:
    """One law fitted to n rows.

    Attributes
    ----------
    law : Law
        Power law, ln y = c0 + c1 ln V, or straight line, y = c0 + c1 V; either times
        exp(drift * shape).
    supply : ndarray, shape (n,)
        Supplies of the rows [V].
    target : ndarray, shape (n,)
        ln y or y of the rows.
    sizes : ndarray, shape (n,)
        What one unit of relative error means at each row, in the scale of `target`.
    solver : ndarray, shape (2, n)
        Matrix that maps targets to c0 and c1.
    shape : DriftShape
        Effect of the drift.
    left_out_error : float
        Root mean square of the relative leave-one-out prediction errors without drift [-].
    scatters, belief : ndarray, shape (k,)
        Possible sizes of the rows' relative scatter, and the cumulative belief in them.
    drift_means, drift_spreads : ndarray, shape (k,)
        Mean and standard deviation of the drift for each size of scatter [-].
    drift : float
        Best value of the drift [-], drawn towards zero unless the rows speak for one.
    """

    law: Law
    supply: Array
    target: Array
    sizes: Array
    solver: Array
    shape: DriftShape
    left_out_error: float
    scatters: Array
    belief: Array
    drift_means: Array
    drift_spreads: Array
    drift: float

    @property
    def coefficients(self) -> Array:
        """c0 and c1 at the best drift."""
        bend = self.drift * self.shape.at(np.log(self.supply)) * self.sizes
        return np.asarray(self.solver @ (self.target - bend), dtype=np.float64)

    def log_amplitude(self, log_supply: Array, c0: Array, c1: Array, drift: Array) -> Array:
        """Logarithm of y at ln V for coefficients and drifts of the same shape."""
        if self.law is Law.POWER:
            straight = c0 + c1 * log_supply
        else:
            straight = np.log(np.maximum(c0 + c1 * np.exp(log_supply), 1e-300))
        return np.asarray(straight + drift * self.shape.at(log_supply), dtype=np.float64)

    def crossing(
        self, c0: Array, c1: Array, drift: Array, amplitude: Array, *, turn: Turn | None = None
    ) -> Array:
        """Supply at which y reaches an amplitude, by bisection over ln V [V].

        Infinity where it is not reached within twelve times the highest supply of the rows.
        """
        wanted = np.log(np.maximum(amplitude, 1e-300))
        low = np.full(wanted.shape, np.log(self.supply.min() / _REACH))
        high = np.full(wanted.shape, np.log(self.supply.max() * _REACH))
        rise = Turn.none(len(wanted)) if turn is None else turn
        never = self.log_amplitude(high, c0, c1, drift) + rise.at(high) < wanted
        for _ in range(_BISECTIONS):
            middle = 0.5 * (low + high)
            below = self.log_amplitude(middle, c0, c1, drift) + rise.at(middle) < wanted
            low = np.where(below, middle, low)
            high = np.where(below, high, middle)
        return np.where(never, np.inf, np.exp(0.5 * (low + high)))


def law_fit(law: Law, supply: Array, amplitude: Array) -> LawFit:
    """Fit of one law to an amplitude, by least squares of relative errors.

    Parameters
    ----------
    law : Law
        Which one.
    supply, amplitude : ndarray, shape (n,)
        Supply voltage [V] and amplitude, both above zero, n at least 4.

    Examples
    --------
    >>> fit = law_fit(Law.LINEAR, np.array([1.0, 2.0, 3.0, 4.0]), np.array([3.0, 5.0, 7.0, 9.0]))
    >>> fit.coefficients.round(6).tolist(), abs(fit.drift) < 1e-9
    ([1.0, 2.0], True)
    """
    if law is Law.POWER:
        return _fitted(law, supply, np.log(amplitude), np.ones_like(supply))
    straight = np.column_stack([np.ones_like(supply), supply])
    first = straight @ (np.linalg.pinv(straight / amplitude[:, None]) @ np.ones_like(supply))
    # Weighing by the fitted amplitude instead of the measured one keeps a row that reads low by
    # chance from pulling harder than one that reads high.
    sizes = np.maximum(first, 0.1 * float(amplitude.max()))
    return _fitted(law, supply, amplitude, sizes)


def _fitted(law: Law, supply: Array, target: Array, sizes: Array) -> LawFit:
    position = np.log(supply) if law is Law.POWER else supply
    design = np.column_stack([np.ones_like(position), position]) / sizes[:, None]
    inverse = np.linalg.pinv(design)
    solver = inverse / sizes
    errors = target / sizes - design @ (solver @ target)
    leverage = np.einsum("ij,ji->i", design, inverse)
    left_out = errors / np.maximum(1.0 - leverage, 1e-6)
    middle = float(np.log(supply).mean())
    shape = DriftShape(middle, float(np.log(_DRIFT_HOLDS_TO * supply.max())) - middle)
    bend = shape.at(np.log(supply))
    bend = bend - design @ (inverse @ bend)
    scatters, belief, means, spreads, drift = _drift_belief(errors, bend)
    return LawFit(
        law=law,
        supply=supply,
        target=target,
        sizes=sizes,
        solver=solver,
        shape=shape,
        left_out_error=float(np.sqrt(np.mean(left_out**2))),
        scatters=scatters,
        belief=np.cumsum(belief),
        drift_means=means,
        drift_spreads=spreads,
        drift=drift,
    )


def _drift_belief(errors: Array, bend: Array) -> tuple[Array, Array, Array, Array, float]:
    """Belief in each size of scatter, mean and spread of the drift with it, and its best value.

    The n - 2 free directions of the errors hold normal scatter of size s plus drift times bend.
    With a normal prior of the drift and one that is flat in ln s, the likelihood of the errors
    and the mean and spread of the drift have closed forms for each s. The best value is the mean
    times the chance that there is a drift at all, even odds before any reading: where a law
    without drift explains the rows as well, the trend stays with it, and only the interval pays.
    """
    sizes = np.geomspace(SMALLEST_SCATTER, _LARGEST_SCATTER, 200)
    scatters = np.tile(sizes, len(EXPECTED_DRIFTS))
    prior = np.repeat(np.square(EXPECTED_DRIFTS), len(sizes))
    odds = np.repeat(DRIFT_ODDS, len(sizes))
    variance = scatters**2
    along, length, square = float(bend @ errors), float(bend @ bend), float(errors @ errors)
    total = variance + prior * length
    without = -0.5 * ((len(errors) - 2) * np.log(variance) + square / variance)
    with_drift = without + 0.5 * (np.log(variance / total) + prior * along**2 / (variance * total))
    top = max(float(without.max()), float(with_drift.max()))
    belief = odds * np.exp(with_drift - top)
    chance = belief.sum() / (belief.sum() + (odds * np.exp(without - top)).sum())
    belief = belief / belief.sum()
    means = prior * along / total
    spreads = np.sqrt(prior * variance / total)
    return scatters, belief, means, spreads, float(chance * (belief @ means))
