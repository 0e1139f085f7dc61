"""Capacitance of conductors that stand alone: sphere, torus, disc."""

from __future__ import annotations

import math

import numpy as np
from scipy.special import ellipkm1, elliprg

from burstwise.core.coil.arrays import Floats
from burstwise.core.coil.geometry import TopLoad, TopLoadKind
from burstwise.core.constants import EPSILON_0


def sphere_capacitance(radius: float) -> float:
    """Capacitance of an isolated sphere, ``4 pi eps0 r`` [F].

    Examples
    --------
    >>> f"{sphere_capacitance(0.01) * 1e12:.6f} pF"
    '1.112650 pF'
    """
    return 4.0 * math.pi * EPSILON_0 * radius


def disc_capacitance(radius: float) -> float:
    """Capacitance of an isolated thin disc, ``8 eps0 r`` [F].

    Notes
    -----
    Exact for no thickness. Source: W. Thomson (from memory), Smythe, Static and Dynamic
    Electricity.

    Examples
    --------
    >>> f"{disc_capacitance(0.1) * 1e12:.4f} pF"
    '7.0834 pF'
    """
    return 8.0 * EPSILON_0 * radius


def torus_capacitance(ring_radius: float, tube_radius: float) -> float:
    """Capacitance of an isolated torus [F].

    ``C = 8 eps0 sqrt(R^2 - a^2) [Q_{-1/2}/P_{-1/2} + 2 sum_{n>=1} Q_{n-1/2}/P_{n-1/2}]``
    with Legendre functions of ``cosh eta = R/a``.

    Parameters
    ----------
    ring_radius : float
        Radius of the tube's middle line [m].
    tube_radius : float
        Radius of the tube [m], below the ring's.

    Notes
    -----
    Exact. P by upward recurrence, Q by downward recurrence scaled to its elliptic start.
    Source: W. R. Smythe, Static and Dynamic Electricity; C. Snow, NBS AMS 19 (from memory).

    Examples
    --------
    >>> f"{torus_capacitance(0.1, 0.025) * 1e12:.6f} pF"
    '10.369019 pF'
    """
    z = ring_radius / tube_radius
    eta = math.acosh(z)
    count = max(8, math.ceil(19.0 / eta) + 2)
    ratios = _toroidal_q(z, eta, count) / _toroidal_p(z, eta, count)
    focus = math.sqrt(ring_radius**2 - tube_radius**2)
    return float(8.0 * EPSILON_0 * focus * (ratios[0] + 2.0 * np.sum(ratios[1:])))


def top_load_capacitance(top_load: TopLoad) -> float:
    """Capacitance of a top load standing alone [F], 0 for none.

    Examples
    --------
    >>> f"{top_load_capacitance(TopLoad(TopLoadKind.TOROID, 0.25, 0.05)) * 1e12:.3f} pF"
    '10.369 pF'
    """
    if top_load.kind is TopLoadKind.NONE:
        return 0.0
    if top_load.kind is TopLoadKind.SPHERE:
        return sphere_capacitance(0.5 * top_load.diameter)
    if top_load.kind is TopLoadKind.DISC:
        return disc_capacitance(0.5 * top_load.diameter)
    return torus_capacitance(top_load.ring_radius, top_load.tube_radius)


def _toroidal_p(z: float, eta: float, count: int) -> Floats:
    """P_{n-1/2}(z) for n below count: both starts from elliptic integrals, then upwards."""
    shrink = math.exp(-2.0 * eta)
    values = np.empty(count)
    values[0] = 2.0 / math.pi * math.exp(-0.5 * eta) * float(ellipkm1(shrink))
    values[1] = 2.0 / math.pi * math.exp(0.5 * eta) * 2.0 * float(elliprg(0.0, shrink, 1.0))
    for n in range(1, count - 1):
        values[n + 1] = (2.0 * n * z * values[n] - (n - 0.5) * values[n - 1]) / (n + 0.5)
    return values


def _toroidal_q(z: float, eta: float, count: int) -> Floats:
    """Q_{n-1/2}(z) for n below count: downwards from far above, then scaled to Q_{-1/2}."""
    values = np.zeros(count + 40)
    values[-2] = 1e-250
    for n in range(len(values) - 2, 0, -1):
        values[n - 1] = (2.0 * n * z * values[n] - (n + 0.5) * values[n + 1]) / (n - 0.5)
    shrink = math.exp(-2.0 * eta)
    start = 2.0 * math.exp(-0.5 * eta) * float(ellipkm1(1.0 - shrink))
    return np.asarray(values[:count] * (start / values[0]), dtype=np.float64)
