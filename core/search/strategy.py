"""Generations of the covariance matrix adaptation evolution strategy, asked and told.

Hansen, N., 'The CMA evolution strategy: a tutorial', arXiv:1604.00772.
"""

from __future__ import annotations

import math
import warnings
from collections.abc import Sequence

import numpy as np

from burstwise.core.arrays import Array


class Evolution:
    """One run of the strategy.

    Parameters
    ----------
    origin : array (fields)
        Coordinates between 0 and 1 that the first generation surrounds.
    sigma : float
        Its width.
    random : Generator
        Random numbers.
    most : int
        Members of a generation at most.
    """

    def __init__(
        self, origin: Array, sigma: float, *, random: np.random.Generator, most: int
    ) -> None:
        self._fields = len(origin)
        # The strategy wants two coordinates; with one field the second moves nothing.
        dummy = max(2 - self._fields, 0)
        size = 2 * math.ceil((4 + 3 * math.log(self._fields + dummy)) / 2)
        options = {
            "bounds": [0.0, 1.0],
            "popsize": min(size, max(most, 4)),
            "verbose": -9,
            "seed": math.nan,
            "randn": lambda *shape: random.standard_normal(shape),
            "tolfun": 1e-6,
            "tolx": 2e-3,
        }
        with warnings.catch_warnings():  # where matplotlib is not installed it says so
            warnings.simplefilter("ignore")
            import cma  # takes a second to load, which many searches never need

            self._strategy = cma.CMAEvolutionStrategy([*origin, *[0.5] * dummy], sigma, options)
        self._asked: list[Array] = []

    def ask(self) -> Array | None:
        """Coordinates of the next generation; None at its end."""
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            if self._strategy.stop():
                return None
            self._asked = self._strategy.ask()
        return np.asarray(np.clip(np.array(self._asked)[:, : self._fields], 0.0, 1.0))

    def tell(self, costs: Sequence[float]) -> None:
        """Take what the generation costs, lower is better."""
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            self._strategy.tell(self._asked, list(costs))
