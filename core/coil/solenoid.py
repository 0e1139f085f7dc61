"""Inductance of a single-layer solenoid: exact current sheet, round-wire correction."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import elliprd, elliprf

from burstwise.core.coil.arrays import Floats
from burstwise.core.constants import MU_0

_ROSA_LIMIT = math.log(2.0 * math.pi) - 1.5
_EXACT_TURNS = 64


def nagaoka_coefficient(diameter_over_length: ArrayLike) -> Floats:
    """Ratio of a current sheet's inductance to that of the same piece of an endless one.

    ``K = (4/(3 pi k')) [ (k'^2/k^2)(F - E) + E - k ]`` with ``k^2 = d^2/(d^2 + l^2)``,
    ``k'^2 = 1 - k^2`` and F, E the complete elliptic integrals of modulus k.

    Parameters
    ----------
    diameter_over_length : float or array
        Diameter over length of the sheet, above 0.

    Notes
    -----
    Exact. Evaluated with Carlson's forms, so that ``F - E`` does not cancel.
    Source: L. Lorenz, Ann. Phys. 243 (1879); H. Nagaoka, J. Coll. Sci. Imp. Univ. Tokyo 27
    (1909) art. 6.

    Examples
    --------
    >>> round(float(nagaoka_coefficient(1.0)), 10)
    0.6884226073
    """
    ratio = np.asarray(diameter_over_length, dtype=np.float64)
    m = ratio**2 / (1.0 + ratio**2)
    m1 = 1.0 / (1.0 + ratio**2)
    third_rd = elliprd(0.0, m1, 1.0) / 3.0
    first = elliprf(0.0, m1, 1.0)
    second = first - m * third_rd
    value = 4.0 / (3.0 * math.pi * np.sqrt(m1)) * (m1 * third_rd + second - np.sqrt(m))
    return np.asarray(value, dtype=np.float64)


def sheet_inductance(diameter: ArrayLike, length: ArrayLike, *, turns: float) -> Floats:
    """Inductance of a cylindrical current sheet [H].

    ``L = mu0 N^2 pi D^2 K(D/l) / (4 l)``

    Parameters
    ----------
    diameter, length : float or array
        Mean diameter and winding length (turns times pitch) [m].
    turns : float
        Number of turns.

    Notes
    -----
    Exact for a sheet; a round wire needs `rosa_correction`. Source: as `nagaoka_coefficient`.

    Examples
    --------
    >>> f"{float(sheet_inductance(0.05, 0.05, turns=50)) * 1e6:.4f} µH"
    '84.9307 µH'
    """
    d = np.asarray(diameter, dtype=np.float64)
    span = np.asarray(length, dtype=np.float64)
    endless = MU_0 * turns**2 * math.pi * d**2 / (4.0 * span)
    return np.asarray(endless * nagaoka_coefficient(d / span), dtype=np.float64)


def rosa_self_correction(mean_distance_over_pitch: float) -> float:
    """Rosa's A: difference of a turn's self-inductance between sheet and conductor.

    ``A = 3/2 + ln(g/p)``, which for a round wire with even current (g = r exp(-1/4)) is
    ``5/4 - ln 2 + ln(d/p)``.

    Parameters
    ----------
    mean_distance_over_pitch : float
        Geometric mean distance of the conductor's section from itself, over the pitch.

    Notes
    -----
    Pitch small against the radius. Source: E. B. Rosa, Bull. Bureau of Standards 2 (1906) 161.

    Examples
    --------
    >>> round(rosa_self_correction(0.4 * math.exp(-0.25)), 7)
    0.3337093
    """
    return 1.5 + math.log(mean_distance_over_pitch)


def rosa_mutual_correction(turns: float) -> float:
    """Rosa's B: difference of the turns' mutual inductance between sheet and filaments.

    ``B = (2/N) sum_{k=1}^{N-1} (N - k) [ln k - ln R_k]``, where ``R_k`` is the geometric mean
    distance of two unit strips in line at distance k.

    Parameters
    ----------
    turns : float
        Number of turns; between whole numbers and above 64 the asymptotic series is taken:
        ``ln 2pi - 3/2 - ln N/(6N) - 0.33084236/N - 1/(120 N^3) + 1/(504 N^5)``.

    Notes
    -----
    The series is 8e-6 off at N = 2 and below 1e-7 off from N = 5. Below one turn B is 0.
    Source: E. B. Rosa, Bull. Bureau of Standards 2 (1906) 161; series after F. W. Grover
    (from memory, checked against the sum).

    Examples
    --------
    >>> round(rosa_mutual_correction(10), 9)
    0.266408106
    """
    if turns <= 1.0:
        return 0.0
    whole = round(turns)
    if whole == turns and whole <= _EXACT_TURNS:
        k = np.arange(1.0, whole)
        return float(2.0 / whole * np.sum((whole - k) * (np.log(k) - _log_strip_distance(k))))
    n = max(turns, 2.0)
    series = (
        _ROSA_LIMIT
        - math.log(n) / (6.0 * n)
        - 0.33084236 / n
        - 1.0 / (120.0 * n**3)
        + 1.0 / (504.0 * n**5)
    )
    return series * (min(turns, 2.0) - 1.0)


def rosa_correction(radius: float, *, turns: float, pitch: float, mean_distance: float) -> float:
    """Inductance to subtract from the sheet for a winding of separate conductors [H].

    ``dL = mu0 a N (A + B)``

    Parameters
    ----------
    radius : float
        Mean radius of the winding [m].
    turns : float
        Number of turns.
    pitch : float
        Distance of neighbouring turns [m].
    mean_distance : float
        Geometric mean distance of the conductor's section from itself [m].

    Notes
    -----
    Pitch small against the radius: 4e-4 of L off for 8 turns at a pitch of 0.12 radius.
    Source: E. B. Rosa, Bull. Bureau of Standards 2 (1906) 161.

    Examples
    --------
    >>> g = 0.0004 * math.exp(-0.25)
    >>> f"{rosa_correction(0.025, turns=50, pitch=1e-3, mean_distance=g) * 1e6:.6f} µH"
    '1.024048 µH'
    """
    total = rosa_self_correction(mean_distance / pitch) + rosa_mutual_correction(turns)
    return MU_0 * radius * turns * total


def solenoid_inductance(
    diameter: float, *, turns: float, pitch: float, mean_distance: float
) -> float:
    """Inductance of a single-layer winding of separate conductors [H].

    Current sheet of length ``N p`` minus `rosa_correction`.

    Parameters
    ----------
    diameter : float
        Mean diameter [m].
    turns, pitch, mean_distance : float
        As in `rosa_correction`.

    Notes
    -----
    Even current over the section unless ``mean_distance`` says otherwise; the slope of the helix
    and the leads are left out. Source: as `nagaoka_coefficient` and `rosa_correction`.

    Examples
    --------
    >>> g = 0.0004 * math.exp(-0.25)
    >>> f"{solenoid_inductance(0.05, turns=50, pitch=1e-3, mean_distance=g) * 1e6:.6f} µH"
    '83.906687 µH'
    """
    sheet = float(sheet_inductance(diameter, turns * pitch, turns=turns))
    return sheet - rosa_correction(
        diameter / 2.0, turns=turns, pitch=pitch, mean_distance=mean_distance
    )


def _log_strip_distance(k: Floats) -> Floats:
    """Log of the mean distance of two unit strips in line, by second difference of x^2 ln x."""
    below = np.where(k > 1.0, (k - 1.0) ** 2 * np.log(np.maximum(k - 1.0, 1.0)), 0.0)
    above = (k + 1.0) ** 2 * np.log(k + 1.0)
    return np.asarray(0.5 * (above + below) - k**2 * np.log(k) - 1.5)
