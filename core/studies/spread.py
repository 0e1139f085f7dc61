"""How far the inputs of a design scatter, and random builds of it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np

from burstwise.core.arrays import Array

FURTHEST: Final = 3.0
"""Normal distributions are cut off at this many standard deviations."""


@dataclass(frozen=True, slots=True)
class Spread:
    """Scatter of one input.

    Parameters
    ----------
    name, title : str
        Stable name and words.
    deviation : float
        Standard deviation: relative for all but the ambient, which is in kelvin.
    stage : bool
        Whether it changes the stage at carrier scale.
    """

    name: str
    title: str
    deviation: float
    stage: bool


SPREADS: Final[tuple[Spread, ...]] = (
    Spread("coupling", "Coupling", 0.06, True),
    Spread("quality", "Quality factor of the secondary", 0.15, True),
    Spread("breakout", "Breakout voltage", 0.10, True),
    Spread("capacitance", "Secondary capacitance", 0.04, True),
    Spread("output_capacitance", "Output capacitance of the device", 0.10, True),
    Spread("threshold", "Gate threshold", 0.06, True),
    Spread("on_resistance", "On-resistance", 0.08, False),
    Spread("supply", "Supply voltage", 0.02, False),
    Spread("duty", "Duty", 0.04, False),
    Spread("junction_resistance", "Thermal resistance junction to case", 0.12, False),
    Spread("interface_resistance", "Thermal resistance case to heat sink", 0.25, False),
    Spread("sink_resistance", "Thermal resistance of the heat sink", 0.15, False),
    Spread("ambient", "Ambient temperature", 4.0, False),
)
"""Scatter of hand-wound coils and bought parts; common practice, no source."""


def draws(count: int, *, seed: int, spreads: tuple[Spread, ...] = SPREADS) -> Mapping[str, Array]:
    """Standard normal numbers per input, cut off at `FURTHEST`.

    Parameters
    ----------
    count : int
        Builds.
    seed : int
        Start of the random numbers; the same seed gives the same builds.

    Examples
    --------
    >>> numbers = draws(1000, seed=1)
    >>> bool(abs(numbers["coupling"].mean()) < 0.1 and abs(numbers["coupling"]).max() <= 3.0)
    True
    """
    random = np.random.default_rng(seed)
    return {
        spread.name: np.clip(random.standard_normal(count), -FURTHEST, FURTHEST)
        for spread in spreads
    }


def ratio(spread: Spread, number: Array) -> Array:
    """Value over its nominal one; log-normal, so that it stays positive.

    Examples
    --------
    >>> ratio(SPREADS[0], np.array([0.0, 1.0])).round(4)
    array([1.    , 1.0618])
    """
    return np.asarray(np.exp(spread.deviation * number))
