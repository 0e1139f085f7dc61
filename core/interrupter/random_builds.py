"""Many random builds of one set: what a row of builders will read on their scopes."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from burstwise.core.arrays import Array
from burstwise.core.errors import InputError
from burstwise.core.interrupter.circuits import circuit_named
from burstwise.core.interrupter.sets import Band, TimerSet
from burstwise.core.interrupter.tolerance import spreads_of


def _uniform(rng: np.random.Generator, count: int) -> Array:
    return rng.uniform(-1.0, 1.0, count)


def _bell(rng: np.random.Generator, count: int) -> Array:
    from scipy.stats import truncnorm  # half a second to load, which the page's first show saves

    return np.asarray(truncnorm.rvs(-3, 3, scale=1 / 3, size=count, random_state=rng))


DISTRIBUTIONS: Final[Mapping[str, Callable[[np.random.Generator, int], Array]]] = MappingProxyType(
    {"uniform": _uniform, "normal": _bell}
)
"""Spread of a part inside its limits: even, or a normal one cut at 3 sigma = limit."""


@dataclass(frozen=True, slots=True)
class Builds:
    """Random builds of one set: frequency at half travel [Hz] and duty at the end stops."""

    frequency: Array
    duty_low: Array
    duty_high: Array

    def share_band(self) -> tuple[Band, Band, Band]:
        """Median and central band that holds 95 % of the builds: frequency, both duties."""
        middle, low, high = (
            np.quantile([self.frequency, self.duty_low, self.duty_high], q, axis=1)
            for q in (0.5, 0.025, 0.975)
        )
        bands = [Band(*map(float, triple)) for triple in zip(middle, low, high, strict=True)]
        return bands[0], bands[1], bands[2]


def random_builds(
    chosen: TimerSet, *, count: int = 10_000, distribution: str = "uniform", seed: int = 1
) -> Builds:
    """Frequency and duty of `count` builds with every part drawn inside its limits.

    Raises
    ------
    InputError
        Unknown distribution; count below 1.
    """
    if distribution not in DISTRIBUTIONS:
        raise InputError("distribution", distribution, "one of " + ", ".join(DISTRIBUTIONS))
    if count < 1:
        raise InputError("count", count, "at least 1")
    rng = np.random.default_rng(seed)
    build: dict[str, ArrayLike] = dict(chosen.build())
    for role, limits in spreads_of(chosen).items():
        middle, half = (limits.high + limits.low) / 2, (limits.high - limits.low) / 2
        build[role] = (middle + half * DISTRIBUTIONS[distribution](rng, count))[:, np.newaxis]
    cycle = circuit_named(chosen.circuit).cycle(build, np.array([0.0, 0.5, 1.0]))
    frequency = np.broadcast_to(cycle.frequency, (count, 3))
    return Builds(frequency[:, 1], cycle.duty[:, 0], cycle.duty[:, 2])
