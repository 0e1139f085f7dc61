"""Coaxial circular loops: mutual inductance, self-inductance and sums over windings."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import elliprd

from burstwise.core.coil.arrays import Floats
from burstwise.core.constants import MU_0


def loop_mutual_inductance(
    radius_a: ArrayLike, radius_b: ArrayLike, *, distance: ArrayLike
) -> Floats:
    """Mutual inductance of coaxial circular filaments [H], any broadcast shape.

    ``M = 2 mu0 sqrt(a b) [F(k1) - E(k1)] / sqrt(k1)`` with ``k1 = 4 a b/(r1 + r2)^2``,
    ``r1, r2 = sqrt((a +- b)^2 + z^2)``; ``F - E = k1^2 RD(0, 1 - k1^2, 1)/3``.

    Parameters
    ----------
    radius_a, radius_b : array_like
        Radii [m], above 0.
    distance : array_like
        Axial distance of the planes [m]; the two filaments may not coincide.

    Notes
    -----
    Exact; Landen's form with Carlson's RD keeps all digits for far loops too.
    Source: J. C. Maxwell, Treatise (1873) art. 701.

    Examples
    --------
    >>> f"{float(loop_mutual_inductance(0.1, 0.1, distance=0.05)) * 1e9:.4f} nH"
    '111.2611 nH'
    """
    a = np.asarray(radius_a, dtype=np.float64)
    b = np.asarray(radius_b, dtype=np.float64)
    z = np.asarray(distance, dtype=np.float64)
    far = np.hypot(a + b, z)
    near = np.hypot(a - b, z)
    product = a * b
    k1 = 4.0 * product / (far + near) ** 2
    complement = 4.0 * far * near / (far + near) ** 2
    difference = k1**1.5 * elliprd(0.0, complement, 1.0) / 3.0
    return np.asarray(2.0 * MU_0 * np.sqrt(product) * difference, dtype=np.float64)


def loop_self_inductance(radius: ArrayLike, *, mean_distance: float) -> Floats:
    """Inductance of a circular loop of thin conductor [H].

    ``L = mu0 a [ln(8 a/g) - 2]``

    Parameters
    ----------
    radius : array_like
        Radius of the loop [m].
    mean_distance : float
        Geometric mean distance of the section from itself [m]: ``r exp(-1/4)`` for a round wire
        with even current, ``r`` with current on its surface.

    Notes
    -----
    Section small against the radius: the next term is of order ``(g/a)^2 ln(a/g)``.
    Source: E. B. Rosa and F. W. Grover, Bull. Bureau of Standards 8 (1912) 1 (from memory).

    Examples
    --------
    >>> f"{float(loop_self_inductance(0.1, mean_distance=0.001)) * 1e9:.1f} nH"
    '588.7 nH'
    """
    a = np.asarray(radius, dtype=np.float64)
    return np.asarray(MU_0 * a * (np.log(8.0 * a / mean_distance) - 2.0), dtype=np.float64)


def loop_sum_inductance(radii: Floats, heights: Floats, *, mean_distance: float) -> float:
    """Inductance of loops in series [H], the sum over all pairs.

    Parameters
    ----------
    radii, heights : array of shape (N,)
        Radius and height of each loop [m].
    mean_distance : float
        As in `loop_self_inductance`.

    Notes
    -----
    Neighbours are taken as filaments at their centres, which is exact for round sections with
    even current. Source: as `loop_mutual_inductance`.

    Examples
    --------
    >>> radii, heights = np.full(8, 0.085), 0.01 * (np.arange(8) + 0.5)
    >>> g = 0.00125 * math.exp(-0.25)
    >>> f"{loop_sum_inductance(radii, heights, mean_distance=g) * 1e6:.4f} µH"
    '12.1438 µH'
    """
    lower, upper = np.triu_indices(len(radii), 1)
    pairs = loop_mutual_inductance(
        radii[lower], radii[upper], distance=heights[lower] - heights[upper]
    )
    own = loop_self_inductance(radii, mean_distance=mean_distance)
    return float(np.sum(own) + 2.0 * np.sum(pairs))


def loop_sum_mutual(
    radii_a: Floats,
    heights_a: Floats,
    *,
    radii_b: Floats,
    heights_b: Floats,
    weights_a: Floats | None = None,
) -> Floats:
    """Mutual inductance of winding A with each loop of B [H], shape (len(B),).

    Parameters
    ----------
    radii_a, heights_a : array of shape (A,)
        Loops of the first winding [m].
    radii_b, heights_b : array of shape (B,)
        Loops of the second winding [m].
    weights_a : array of shape (A,), optional
        Share of a turn that each loop of A stands for, 1 unless given.

    Notes
    -----
    Circular turns; the slope of a helix or spiral is left out. Source: as
    `loop_mutual_inductance`.

    Examples
    --------
    >>> primary, heights = np.full(6, 0.085), 0.01 * (np.arange(6) + 0.5)
    >>> turns, z = np.full(1000, 0.055), 0.00036 * (np.arange(1000) + 0.5)
    >>> linked = loop_sum_mutual(primary, heights, radii_b=turns, heights_b=z)
    >>> f"{linked.sum() * 1e6:.5f} µH"
    '131.96738 µH'
    """
    each = loop_mutual_inductance(
        radii_a[:, None], radii_b[None, :], distance=heights_a[:, None] - heights_b[None, :]
    )
    weights = np.ones(len(radii_a)) if weights_a is None else weights_a
    return np.asarray(weights @ each, dtype=np.float64)


def coupling_coefficient(mutual: float, inductance_a: float, inductance_b: float) -> float:
    """Coupling of two windings, ``k = M / sqrt(L1 L2)``.

    Examples
    --------
    >>> coupling_coefficient(1e-6, 1e-6, 4e-6)
    0.5
    """
    return mutual / math.sqrt(inductance_a * inductance_b)
