"""Trend of one measured quantity against the supply voltage, and the choice between two laws.

Two laws are compared: a power law, y = a V^b, and a straight line, y = a + b V. Powers follow the
square of an amplitude, so the straight line of a power is one of its square root. Both fits weigh
relative errors, as meters and part tolerances are relative. Leave-one-out prediction errors decide
how much each law is believed.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from burstwise.core.arrays import Array
from burstwise.core.bench.law_fit import Law, LawFit, law_fit
from burstwise.core.errors import InputError

MINIMUM_ROWS: Final = 4
"""Fewest rows for a trend: two parameters, and two rows left to show the scatter."""
_MINIMUM_SUPPLIES: Final = 3
_SMALLEST_ERROR: Final = 1e-6


@dataclass(frozen=True, slots=True)
class Trend:
    """Both laws fitted to one quantity.

    Attributes
    ----------
    supply, amplitude : ndarray, shape (n,)
        Supply voltage [V], and the quantity or, for a power, its square root.
    fits : tuple of LawFit
        Power law, then straight line.
    weights : tuple of float
        How much each is believed; they add up to 1.
    """

    supply: Array
    amplitude: Array
    fits: tuple[LawFit, LawFit]
    weights: tuple[float, float]

    @property
    def best(self) -> LawFit:
        """Law with the smaller leave-one-out error."""
        return self.fits[int(np.argmax(self.weights))]

    def at(self, supply: Array) -> Array:
        """Amplitude that the best law gives at supply voltages [V]."""
        c0, c1, drift = (np.asarray(value) for value in (*self.best.coefficients, self.best.drift))
        return np.exp(self.best.log_amplitude(np.log(supply), c0, c1, drift))

    def supply_at(self, amplitude: float) -> float:
        """Supply at which the best law reaches an amplitude [V], infinity where it never does."""
        c0, c1, drift, wanted = np.array([*self.best.coefficients, self.best.drift, amplitude])
        reached = self.best.crossing(
            np.atleast_1d(c0), np.atleast_1d(c1), np.atleast_1d(drift), np.atleast_1d(wanted)
        )
        return float(reached[0])


def trend(supply: Array, amplitude: Array, *, name: str = "readings") -> Trend:
    """Both laws fitted to an amplitude against supply.

    Parameters
    ----------
    supply : ndarray, shape (n,)
        Supply voltages above zero [V].
    amplitude : ndarray, shape (n,)
        Current, voltage or square root of a power, above zero.
    name : str
        What to call the quantity in an error.

    Returns
    -------
    Trend
        The belief in each law goes as its leave-one-out error to the power of -n, the ratio of
        likelihoods that errors of normal distribution and unknown size would give.

    Raises
    ------
    InputError
        Fewer than four rows, fewer than three different supplies, or a value not above zero.

    Examples
    --------
    >>> fitted = trend(np.array([20.0, 30.0, 40.0, 50.0]), np.array([1.0, 1.5, 2.0, 2.5]))
    >>> round(fitted.supply_at(4.0), 6)
    80.0
    """
    if len(supply) < MINIMUM_ROWS:
        limit = f"at least {MINIMUM_ROWS} usable rows, two for the trend and two for its scatter"
        raise InputError(name, f"{len(supply)} usable rows", limit)
    different = len(np.unique(supply))
    if different < _MINIMUM_SUPPLIES:
        limit = f"rows at {_MINIMUM_SUPPLIES} or more different supply voltages"
        raise InputError(name, f"{different} different supplies", limit)
    if np.any(supply <= 0.0) or np.any(amplitude <= 0.0):
        raise InputError(name, float(min(supply.min(), amplitude.min())), "above zero in every row")
    fits = (law_fit(Law.POWER, supply, amplitude), law_fit(Law.LINEAR, supply, amplitude))
    errors = np.maximum([fit.left_out_error for fit in fits], _SMALLEST_ERROR)
    odds = np.exp(-len(supply) * (np.log(errors) - np.log(errors.min())))
    weights = odds / odds.sum()
    return Trend(supply, amplitude, fits, (float(weights[0]), float(weights[1])))
