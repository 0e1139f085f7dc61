"""Ac resistance of a close single-layer winding: skin and proximity effect together.

A long winding is unrolled into an endless row of equal round conductors with field ``I/p`` on one
side and none on the other. Each conductor's field is expanded in multipoles, the row's sums over
all neighbours are values of the zeta function, and the interior is solved by Bessel functions.
"""

from __future__ import annotations

import math
from functools import lru_cache

import numpy as np
from scipy.special import comb, ive, zeta

from burstwise.core.coil.arrays import Complexes
from burstwise.core.coil.skin import skin_resistance_ratio

_ORDERS = 48
_SMALL = 1e-2
"""Below this radius in depths the ratio is 1 to better than 1e-8."""


@lru_cache(maxsize=256)
def winding_resistance_ratio(radius_in_depths: float, diameter_over_pitch: float) -> float:
    """Ratio of ac to dc resistance of a long single-layer winding of round wire.

    ``Rac/Rdc = F(q) + (r/delta)^2 sum_m m |D_m|^2 |Im R_m|`` with ``F`` the skin ratio,
    ``R_m = -I_{m+1}(q)/I_{m-1}(q)``, ``q = (1 + j) r/delta`` and ``D_m`` the multipoles of the
    field of all other conductors at the wire, in units of ``mu0 I/(2 pi)``.

    Parameters
    ----------
    radius_in_depths : float
        Wire radius over skin depth, at least 0.
    diameter_over_pitch : float
        Bare diameter over pitch, at least 0 and below 1.

    Notes
    -----
    Exact for a pitch small against the diameter and a winding long against it. Short windings of
    few turns lie between this and the skin ratio (R. G. Medhurst's table, held in the tests).
    Converged to 1e-8 up to d/p = 0.95. Source: multipole method after Rayleigh, Phil. Mag. 34
    (1892) 481, and S. Butterworth, Phil. Trans. R. Soc. A 222 (1922) 57 (from memory);
    derivation in docs/theory_coil.md.

    Examples
    --------
    >>> round(winding_resistance_ratio(1.0, 0.8), 6)
    1.355758
    """
    skin = skin_resistance_ratio(radius_in_depths)
    if radius_in_depths < _SMALL or diameter_over_pitch <= 0.0:
        return skin
    q = (1.0 + 1.0j) * radius_in_depths
    orders = np.arange(1, _ORDERS + 1)
    reflection = -ive(orders + 1, q) / ive(orders - 1, q)
    near = _field_multipoles(0.5 * diameter_over_pitch, np.asarray(reflection, dtype=complex))
    loss = np.sum(orders * np.abs(near) ** 2 * np.abs(reflection.imag))
    return float(skin + radius_in_depths**2 * loss)


@lru_cache(maxsize=256)
def thin_skin_proximity_factor(diameter_over_pitch: float) -> float:
    """Rac of a long winding over that of its straight wire when the skin is very thin.

    ``phi = 1 + 2 sum_m m^2 |D_m|^2`` with ``R_m = -1``.

    Parameters
    ----------
    diameter_over_pitch : float
        Bare diameter over pitch, at least 0 and below 1.

    Notes
    -----
    Limit r >> delta of `winding_resistance_ratio`; it holds for tubes too.

    Examples
    --------
    >>> round(thin_skin_proximity_factor(0.8), 6)
    2.811789
    """
    orders = np.arange(1, _ORDERS + 1)
    near = _field_multipoles(0.5 * diameter_over_pitch, np.full(_ORDERS, -1.0 + 0.0j))
    return float(1.0 + 2.0 * np.sum(orders**2 * np.abs(near) ** 2))


def _field_multipoles(radius_over_pitch: float, reflection: Complexes) -> Complexes:
    """Multipoles of the outer field at one wire of the row, orders 1 to len(reflection).

    Even orders are driven by the neighbours' currents, the first order by the uniform field
    I/(2p) that makes the outside field-free; by symmetry even and odd orders do not mix.
    """
    orders = np.arange(1, len(reflection) + 1)
    total = orders[:, None] + orders[None, :]
    same_parity = total % 2 == 0
    sums = np.where(same_parity, 2.0 * zeta(np.maximum(total, 2)), 0.0)
    transfer = sums * comb(total - 1, orders[:, None]) * radius_over_pitch**total
    even = orders % 2 == 0
    drive = np.where(
        even, 2.0 * zeta(np.maximum(orders, 2)) / orders * radius_over_pitch**orders, 0.0
    )
    drive[0] = math.pi * radius_over_pitch
    system = np.eye(len(orders)) - transfer * reflection[None, :]
    return np.asarray(np.linalg.solve(system, drive), dtype=np.complex128)
