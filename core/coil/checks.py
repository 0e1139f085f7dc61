"""Check of one number that was given: finite and within closed limits."""

from __future__ import annotations

import math

from burstwise.core.errors import InputError
from burstwise.core.units import limits_text


def checked_number(field: str, value: float, low: float, high: float, unit: str) -> float:
    """Return the value if it is a finite number within limits.

    Parameters
    ----------
    field : str
        Dotted path used in the error.
    value : float
        Value to check.
    low, high : float
        Closed limits.
    unit : str
        Unit shown in the error.

    Raises
    ------
    InputError
        Not a number, not finite or outside the limits.

    Examples
    --------
    >>> checked_number("coil.primary.pitch", -0.01, 0.0, 1.0, "m")
    Traceback (most recent call last):
    burstwise.core.errors.InputError: coil.primary.pitch must be between 0 m and 1 m; instead
    received -0.01
    """
    if not math.isfinite(value):
        raise InputError(field, value, "a finite number")
    if not low <= value <= high:
        raise InputError(field, value, limits_text(low, high, unit))
    return value
