"""How far the supply may go at each duty before a rating breaks: the edge of the limit map."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from burstwise.core.arrays import Array
from burstwise.core.design.document import Design
from burstwise.core.studies.limit_map import Ask, axis_over, rough_map

LOWEST: Final = 0.15
"""Lowest supply looked at, over the design's own."""
HIGHEST: Final = 2.5
"""Highest supply looked at, over the design's own."""


@dataclass(frozen=True, slots=True)
class Frontier:
    """Highest supply that holds, by duty.

    Attributes
    ----------
    duty : Array (duties,)
        Duty cycle [1].
    supply : Array (duties,)
        Supply voltage at which the first rating breaks [V]; the end of the range where none does,
        and its start where one does everywhere.
    """

    duty: Array
    supply: Array


def frontier(design: Design, *, ask: Ask | None = None) -> Frontier:
    """Highest supply that holds at each duty, by straight lines between the points of a rough map.

    The map starts at the low end: a supply counts only while every lower one holds too. Margins of
    the rough map may be off by some 10 %; the Limits screen has the fine one.

    Parameters
    ----------
    design : Design
        The design; its interrupter counts as fitted.
    ask : callable, optional
        Told the part done; returning False stops the work (StoppedError).
    """
    volts = design.supply.voltage
    high = min(HIGHEST * volts, 400.0)
    across = axis_over(design, "supply.voltage", low=max(LOWEST * volts, 1.0), high=high)
    up = axis_over(design, "interrupter.duty")
    found = rough_map(design, across, up, ask=ask)
    return Frontier(found.y.values, edge(found.x.values, found.smallest))


def edge(values: Array, margins: Array) -> Array:
    """Value at which each row's margin first falls below zero.

    Parameters
    ----------
    values : array (n,)
        Ascending.
    margins : array (rows, n)
        Margins.

    Examples
    --------
    >>> edge(np.array([10.0, 20.0, 30.0]), np.array([[0.5, 0.1, -0.1], [0.3, 0.2, 0.1]])).tolist()
    [25.0, 30.0]
    """
    below = margins < 0
    crossed = below.any(axis=1)
    place = np.argmax(below, axis=1)
    right = np.clip(place, 1, len(values) - 1)
    rows = np.arange(len(margins))
    one, two = margins[rows, right - 1], margins[rows, right]
    share = np.clip(one / np.where(one == two, 1.0, one - two), 0.0, 1.0)
    inside = values[right - 1] + share * (values[right] - values[right - 1])
    return np.asarray(np.where(crossed, np.where(place == 0, values[0], inside), values[-1]))
