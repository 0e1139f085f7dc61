"""Skin effect in straight round conductors, solid and tubular, by Bessel functions."""

from __future__ import annotations

import numpy as np
from scipy.special import ive, kve

_SMALL = 1e-3
"""Below this radius in skin depths both ratios are 1 to 1e-13."""


def skin_resistance_ratio(radius_in_depths: float) -> float:
    """Ratio of ac to dc resistance of an isolated solid round wire.

    ``Rac/Rdc = Re[(q/2) I0(q)/I1(q)]`` with ``q = (1 + j) r/delta``

    Parameters
    ----------
    radius_in_depths : float
        Wire radius over skin depth, at least 0.

    Notes
    -----
    Exact for a straight wire far from other conductors. Source: Kelvin's solution, as in
    NBS Circular 74 (table with x = sqrt(2) r/delta).

    Examples
    --------
    >>> round(skin_resistance_ratio(3.0 / 2**0.5), 6)
    1.318095
    """
    if radius_in_depths < _SMALL:
        return 1.0
    return float(_impedance_ratio(radius_in_depths).real)


def internal_inductance_ratio(radius_in_depths: float) -> float:
    """Ratio of ac to dc internal inductance of an isolated solid round wire.

    ``Li/Li0 = 4 Im[(q/2) I0(q)/I1(q)] / (r/delta)^2`` with ``q = (1 + j) r/delta``,
    where ``Li0 = mu0/(8 pi)`` per metre.

    Parameters
    ----------
    radius_in_depths : float
        Wire radius over skin depth, at least 0.

    Notes
    -----
    Same source and validity as `skin_resistance_ratio`.

    Examples
    --------
    >>> round(internal_inductance_ratio(3.0 / 2**0.5), 6)
    0.845167
    """
    if radius_in_depths < _SMALL:
        return 1.0
    return float(4.0 * _impedance_ratio(radius_in_depths).imag / radius_in_depths**2)


def tube_resistance_ratio(radius_in_depths: float, wall_over_radius: float) -> float:
    """Ratio of the ac resistance of a round tube to its own dc resistance.

    ``Z = (gamma rho / (2 pi b)) [I0(gb) K1(ga) + K0(gb) I1(ga)] / [I1(gb) K1(ga) - K1(gb) I1(ga)]``
    with outer radius b, inner radius a and ``g = gamma = (1 + j)/delta``.

    Parameters
    ----------
    radius_in_depths : float
        Outer radius over skin depth, above 0.
    wall_over_radius : float
        Wall thickness over outer radius, above 0 and at most 1 (1 is a solid rod).

    Notes
    -----
    Current returns outside the tube; straight and isolated. Source: diffusion equation in a
    cylinder, as in S. A. Schelkunoff, Bell System Tech. J. 13 (1934) 532 (from memory).

    Examples
    --------
    A tube three depths thick carries the current of a solid rod in its skin:

    >>> rod = skin_resistance_ratio(20.0)
    >>> tube = tube_resistance_ratio(20.0, 0.15)
    >>> area = 1 - 0.85**2
    >>> abs(tube / area / rod - 1) < 0.01
    True
    """
    if radius_in_depths < _SMALL:
        return 1.0
    if wall_over_radius >= 1.0:
        return skin_resistance_ratio(radius_in_depths)
    outer = np.asarray((1.0 + 1.0j) * radius_in_depths)
    inner = outer * (1.0 - wall_over_radius)
    # ive carries exp(-Re x) and kve carries exp(x): the second product relative to the first one.
    back = np.exp(inner.real + inner - outer.real - outer)
    top = ive(0, outer) * kve(1, inner) + kve(0, outer) * ive(1, inner) * back
    bottom = ive(1, outer) * kve(1, inner) - kve(1, outer) * ive(1, inner) * back
    area_ratio = 1.0 - (1.0 - wall_over_radius) ** 2
    return float((0.5 * outer * top / bottom).real * area_ratio)


def _impedance_ratio(radius_in_depths: float) -> complex:
    q = np.asarray((1.0 + 1.0j) * radius_in_depths)
    return complex(0.5 * q * ive(0, q) / ive(1, q))
