"""Turns, spacing and length of a winding from one another."""

from __future__ import annotations

from core.coil.checks import checked_number
from core.coil.geometry import SECONDARY
from core.errors import InputError


def turns_in_length(length: float, overall_diameter: float, *, spacing: float = 0.0) -> float:
    """Turns that fill a length, ``N = l/(d + s)``, not rounded.

    Parameters
    ----------
    length : float
        Winding length [m].
    overall_diameter : float
        Diameter over the insulation [m].
    spacing : float
        Gap between neighbouring turns [m].

    Raises
    ------
    InputError
        Length, diameter or spacing out of range.

    Examples
    --------
    >>> round(turns_in_length(0.36, 0.00036), 6)
    1000.0
    """
    checked_number(f"{SECONDARY}.length", length, 1e-4, 20.0, "m")
    checked_number(f"{SECONDARY}.overall_diameter", overall_diameter, 1e-5, 0.05, "m")
    checked_number(f"{SECONDARY}.spacing", spacing, 0.0, 0.1, "m")
    return length / (overall_diameter + spacing)


def spacing_for_length(length: float, overall_diameter: float, *, turns: float) -> float:
    """Gap between turns that spreads them over a length, ``s = l/N - d`` [m].

    Parameters
    ----------
    length : float
        Winding length [m].
    overall_diameter : float
        Diameter over the insulation [m].
    turns : float
        Number of turns.

    Raises
    ------
    InputError
        The turns do not fit into the length; names ``coil.secondary.length``.

    Examples
    --------
    >>> f"{spacing_for_length(0.4, 0.00036, turns=1000) * 1e3:.3f} mm"
    '0.040 mm'
    """
    checked_number(f"{SECONDARY}.length", length, 1e-4, 20.0, "m")
    checked_number(f"{SECONDARY}.turns", turns, 2.0, 2e4, "turns")
    spacing = length / turns - overall_diameter
    if spacing < -1e-12:
        need = turns * overall_diameter
        raise InputError(f"{SECONDARY}.length", length, f"at least {need:.4g} m for these turns")
    return max(spacing, 0.0)
