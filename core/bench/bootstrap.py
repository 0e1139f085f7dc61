"""Redrawn trends: how far the supply at which a limit is reached could lie from the fitted one."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from burstwise.core.arrays import Array
from burstwise.core.bench.instruments import Accuracy
from burstwise.core.bench.law_fit import Turn
from burstwise.core.bench.trend import Trend

DRAWS: Final = 4000
"""Number of redrawn trends; the quantiles of the interval then move by some 2 % of its width."""
TURN_CHANCE: Final = 0.5
"""Part of the draws in which the drain peak turns to a steeper rise above the highest row."""
TURN_REACH: Final = 1.4
"""Highest supply at which it may turn, over the supply of the highest row."""
LARGEST_TURN: Final = 2.0
"""Most that its exponent gains there [-]; engine runs of several stages gain 0.5 to 2 where the
peak of the flyback overtakes that of the oscillation, see docs/theory_bench.md."""
_SEED: Final = 20_240_229
_NUMBERS_AT_ONCE: Final = 1_000_000
"""Random numbers that are held at one time: 8 MB."""


@dataclass(frozen=True, slots=True)
class RowNoise:
    """Random numbers of one meter, shared by every quantity that comes from it.

    Attributes
    ----------
    coefficients : tuple of ndarray, shape (2, DRAWS)
        For each law, what it makes of rows that scatter by one unit of relative error each:
        normal scatter of standard deviation 1, independent from row to row.
    drift : ndarray, shape (DRAWS,)
        Drift about its mean, normal with standard deviation 1.
    size, choice : ndarray, shape (DRAWS,)
        Uniform over 0 to 1: the first draws the size of the scatter, the second the law.
    """

    coefficients: tuple[Array, ...]
    drift: Array
    size: Array
    choice: Array


def row_noise(fitted: Trend, *, stream: int) -> RowNoise:
    """Random numbers for a trend, the same at each call.

    The scatter of the rows is drawn some at a time and only its effect is kept, so that a table of
    thousands of rows needs no more room than a short one.

    Examples
    --------
    >>> from burstwise.core.bench.trend import trend
    >>> noise = row_noise(trend(np.array([1.0, 2.0, 3.0, 4.0]), np.ones(4)), stream=0)
    >>> [one.shape for one in noise.coefficients], noise.size.shape
    ([(2, 4000), (2, 4000)], (4000,))
    """
    random = np.random.default_rng([_SEED, stream])
    effects = np.vstack([fit.solver * fit.sizes for fit in fitted.fits])
    rows = len(fitted.supply)
    some = max(_NUMBERS_AT_ONCE // rows, 1)
    parts = [
        effects @ random.standard_normal((min(some, DRAWS - begin), rows)).T
        for begin in range(0, DRAWS, some)
    ]
    coefficients = np.split(np.hstack(parts), len(fitted.fits))
    return RowNoise(
        coefficients=tuple(coefficients),
        drift=random.standard_normal(DRAWS),
        size=random.random(DRAWS),
        choice=random.random(DRAWS),
    )


def turns(fitted: Trend, *, stream: int) -> Turn:
    """Turns that the highest of several maxima may take above the highest row.

    The drain peak is the highest of several maxima in a carrier cycle, each with a trend of its
    own; one that the rows do not show yet may overtake, so the trend can only turn upwards. Half
    of the draws have such a turn, anywhere from the highest row to 1.4 times its supply.
    """
    random = np.random.default_rng([_SEED, stream])
    has = random.random(DRAWS) < TURN_CHANCE
    highest = float(np.log(fitted.supply.max()))
    return Turn(
        begin=highest + np.log(TURN_REACH) * random.random(DRAWS),
        rise=np.where(has, LARGEST_TURN * random.random(DRAWS), 0.0),
    )


def drawn_crossings(
    fitted: Trend, targets: Array, noise: RowNoise, *, turn: Turn | None = None
) -> Array:
    """Supplies at which redrawn trends reach an amplitude [V], in terms of the readings.

    A parametric bootstrap: each draw takes a size of scatter as likely as the rows make it (which
    turns normal scatter into Student's t: few rows know their scatter badly), a drift that goes
    with it, new rows about the law, a new fit, and one of the two laws.

    Parameters
    ----------
    fitted : Trend
        Both laws with their weights.
    targets : ndarray, shape (DRAWS,)
        Amplitude to reach in each draw, in terms of the readings.
    noise : RowNoise
        Random numbers for this trend.

    Returns
    -------
    ndarray, shape (DRAWS,)
        Infinity where a redrawn trend never reaches its target.
    """
    redrawn = []
    for fit, noisy in zip(fitted.fits, noise.coefficients, strict=True):
        pick = np.minimum(np.searchsorted(fit.belief, noise.size), len(fit.scatters) - 1)
        scatter = fit.scatters[pick]
        drift = fit.drift_means[pick] + fit.drift_spreads[pick] * noise.drift
        plain = fit.solver @ fit.target
        bent = fit.solver @ (fit.sizes * fit.shape.at(np.log(fit.supply)))
        c0, c1 = plain[:, None] + scatter * noisy - bent[:, None] * drift
        redrawn.append(fit.crossing(c0, c1, drift, targets, turn=turn))
    return np.where(noise.choice < fitted.weights[0], redrawn[0], redrawn[1])


@dataclass(frozen=True, slots=True)
class ColumnErrors:
    """Errors that shift a whole column: true value = reading * (1 + relative) + absolute."""

    relative: Array
    absolute: Array

    def true(self, readings: Array) -> Array:
        """True values behind readings, one per draw."""
        return readings * (1.0 + self.relative) + self.absolute

    def readings(self, true: Array | float) -> Array:
        """Readings that true values would give, one per draw."""
        return np.asarray((true - self.absolute) / (1.0 + self.relative), dtype=np.float64)


def column_errors(accuracy: Accuracy, *, stream: int) -> ColumnErrors:
    """Errors of one instrument within its accuracy, rectangular, the same at each call."""
    random = np.random.default_rng([_SEED, stream])
    return ColumnErrors(
        relative=accuracy.relative * random.uniform(-1.0, 1.0, DRAWS),
        absolute=accuracy.absolute * random.uniform(-1.0, 1.0, DRAWS),
    )
