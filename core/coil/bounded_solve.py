"""Bounded solve of one unknown: nearest root in a range, or a message with the reach."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from scipy.optimize import brentq

from burstwise.core.errors import InputError
from burstwise.core.units import shown

STEPS = 24
"""Even steps that a range is searched in."""


@dataclass(frozen=True, slots=True)
class Solution:
    """Value of the sought geometry field and what it reaches.

    Parameters
    ----------
    value : float
        Sought value in SI.
    reached : float
        Quantity that the solve aimed at, at that value.
    """

    value: float
    reached: float


def nearest_solution(
    function: Callable[[float], float],
    target: float,
    *,
    low: float,
    high: float,
    start: float,
    field: str,
    unit: str,
    resolution: float = 1e-12,
    steps: int = STEPS,
) -> Solution:
    """Solution of ``function(x) = target`` in a range that lies nearest to a start.

    Parameters
    ----------
    function : callable
        Continuous; values of x that it refuses with `InputError` are left out of the range.
    target : float
        Wanted value.
    low, high : float
        Range of x, low below high.
    start : float
        Where x is now.
    field : str
        Name of the wanted quantity for the error.
    unit : str
        Its unit.
    resolution : float
        How closely x is wanted.
    steps : int
        Even steps that the range is searched in first.

    Notes
    -----
    Even steps in the range, then Brent's method where the sign changes: a pair of solutions that
    lies within one step is not seen.

    Raises
    ------
    InputError
        No solution; the message holds what the range can reach.

    Examples
    --------
    >>> root = nearest_solution(
    ...     lambda x: x * x, 2.0, low=0, high=9, start=1, field="y", unit=""
    ... )
    >>> f"{root.value:.9f}"
    '1.414213562'
    """
    points = np.linspace(low, high, steps + 1)
    values = [_value_or_none(function, float(x)) for x in points]
    known = [value for value in values if value is not None]
    if not known:
        raise InputError(field, shown(target, unit), "reachable by a geometry whose parts clear")
    roots = [
        float(brentq(lambda x: function(x) - target, a, b, xtol=resolution, rtol=1e-9))
        for (a, left), (b, right) in pairwise(zip(points, values, strict=True))
        if left is not None and right is not None and (left - target) * (right - target) <= 0.0
    ]
    if not roots:
        reach = f"between {shown(min(known), unit)} and {shown(max(known), unit)}"
        raise InputError(
            field, shown(target, unit), f"{reach}, which {low:.4g} to {high:.4g} can reach"
        )
    value = min(roots, key=lambda root: abs(root - start))
    return Solution(value, function(value))


def _value_or_none(function: Callable[[float], float], x: float) -> float | None:
    try:
        return function(x)
    except InputError:
        return None
