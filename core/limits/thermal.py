"""Transient thermal questions around a pulse: power of any shape, power allowed."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from burstwise.core.arrays import Array
from burstwise.core.burst.foster import Foster, periodic_rise, transient_impedance


def rise_course(network: Foster, time: ArrayLike, power: ArrayLike) -> Array:
    """Temperature rise under a power that is straight between given points.

    Each element follows ``tau dT/dt = R P - T``; over one stretch of length h with slope s the
    exact solution is ``T = R (P - s tau) + (T0 - R (P0 - s tau)) exp(-h/tau)``.

    Parameters
    ----------
    network : Foster
        Thermal network, at rest at the first point.
    time, power : array_like (points,)
        Rising times [s] and power [W].

    Returns
    -------
    array (points,)
        Rise [K].

    Notes
    -----
    Exact for straight stretches; a curved pulse is as good as its sampling.

    Examples
    --------
    >>> network = Foster(np.array([1.0]), np.array([0.01]))
    >>> rise_course(network, [0.0, 0.01, 0.02], [10.0, 10.0, 10.0]).round(4)
    array([0.    , 6.3212, 8.6466])
    """
    t, P = np.asarray(time, dtype=np.float64), np.asarray(power, dtype=np.float64)
    R, tau = network.resistance, network.time_constant
    element = np.zeros_like(R)
    rise = np.zeros_like(t)
    for i in range(1, len(t)):
        length = t[i] - t[i - 1]
        slope = (P[i] - P[i - 1]) / length
        element = R * (P[i] - slope * tau) + (element - R * (P[i - 1] - slope * tau)) * np.exp(
            -length / tau
        )
        rise[i] = element.sum()
    return rise


def single_pulse_power(network: Foster, length: ArrayLike, *, headroom: ArrayLike) -> Array:
    """Power that one rectangular pulse may have.

    ``P = headroom / Z(length)``

    Parameters
    ----------
    network : Foster
        Junction to case.
    length : array_like
        Pulse length [s]; inf for endless.
    headroom : array_like
        Junction limit less case temperature [K]; 0 is allowed if none is left.

    Examples
    --------
    >>> network = Foster(np.array([1.0]), np.array([0.01]))
    >>> float(single_pulse_power(network, np.inf, headroom=100.0))
    100.0
    >>> float(single_pulse_power(network, 1e-3, headroom=100.0).round(1))
    1050.8
    """
    left = np.maximum(np.asarray(headroom, dtype=np.float64), 0.0)
    # A pulse of no length at all is taken as one of a picosecond: it allows any power.
    return np.asarray(left / transient_impedance(network, np.maximum(length, 1e-12)))


def repeated_pulse_power(
    network: Foster, length: ArrayLike, period: ArrayLike, *, headroom: ArrayLike
) -> Array:
    """Power that endless rectangular pulses may have.

    ``P = headroom / z`` with z the peak rise per watt in periodic steady state, case held.

    Parameters
    ----------
    network : Foster
        Junction to case.
    length, period : array_like
        Pulse length and period [s]; a length of at least the period means no pause.
    headroom : array_like
        Junction limit less case temperature [K].

    Examples
    --------
    >>> network = Foster(np.array([1.0]), np.array([0.01]))
    >>> float(repeated_pulse_power(network, 0.005, 0.01, headroom=100.0).round(2))
    160.65
    """
    left = np.maximum(np.asarray(headroom, dtype=np.float64), 0.0)
    on = np.minimum(np.asarray(length, dtype=np.float64), period)
    return np.asarray(left / np.maximum(periodic_rise(network, on, period).peak, 1e-12))
