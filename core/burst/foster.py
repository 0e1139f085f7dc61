"""Foster thermal networks under rectangular power pulses, in closed form.

All functions take the network as arrays of resistances [K/W] and time constants [s] on the last
axis and broadcast over the pulse's own arrays.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from burstwise.core.arrays import Array


@dataclass(frozen=True, slots=True)
class Foster:
    """Foster network: resistances [K/W] and time constants [s], elements on the last axis."""

    resistance: Array
    time_constant: Array

    @property
    def total(self) -> float:
        """Steady thermal resistance [K/W]."""
        return float(self.resistance.sum())


def transient_impedance(network: Foster, time: ArrayLike) -> Array:
    """Transient thermal impedance for a step of power.

    ``Z(t) = sum R_i (1 - exp(-t/tau_i))``

    Parameters
    ----------
    network : Foster
        Thermal network.
    time : array_like
        Time since the step [s], any shape.

    Returns
    -------
    array
        Temperature rise per watt [K/W], shape of `time`.

    Examples
    --------
    >>> network = Foster(np.array([0.6, 0.4]), np.array([0.01, 0.1]))
    >>> float(transient_impedance(network, 0.05).round(6))
    0.753345
    """
    t = np.asarray(time, dtype=np.float64)[..., None]
    return np.asarray(np.sum(network.resistance * -np.expm1(-t / network.time_constant), axis=-1))


@dataclass(frozen=True, slots=True)
class PulseRise:
    """Temperature rise per watt of on-power in periodic steady state [K/W].

    `peak` stands at the end of the on-time, `valley` at the end of the off-time, `mean` is over
    the whole period and `on_mean` over the on-time alone.
    """

    peak: Array
    valley: Array
    mean: Array
    on_mean: Array


def periodic_rise(network: Foster, on_time: ArrayLike, period: ArrayLike) -> PulseRise:
    """Rise of a Foster network under endless rectangular pulses, per watt of on-power.

    Per element, with ``a = exp(-t_on/tau)`` and ``q = exp(-T/tau)``:
    ``peak = R (1 - a)/(1 - q)``, ``valley = peak exp(-(T - t_on)/tau)``, ``mean = R t_on/T`` and
    ``on_mean = R - (R - valley)(1 - a) tau/t_on``.

    Parameters
    ----------
    network : Foster
        Thermal network.
    on_time, period : array_like
        On-time and period [s], broadcast together; an on-time of a whole period means steady.

    Returns
    -------
    PulseRise
        Arrays of the broadcast shape.

    Notes
    -----
    Exact for a linear network. Peaks of all elements fall together at the end of the pulse.

    Examples
    --------
    >>> network = Foster(np.array([1.0]), np.array([0.01]))
    >>> rise = periodic_rise(network, 0.005, 0.01)
    >>> float(rise.peak.round(6)), float(rise.valley.round(6)), float(rise.mean)
    (0.622459, 0.377541, 0.5)
    """
    on, whole = np.broadcast_arrays(
        np.asarray(on_time, dtype=np.float64), np.asarray(period, dtype=np.float64)
    )
    t, total = on[..., None], whole[..., None]
    R, tau = network.resistance, network.time_constant
    steady = on >= whole
    fill = -np.expm1(-t / tau)
    peak = R * fill / -np.expm1(-total / tau)
    valley = peak * np.exp(-(total - t) / tau)
    share = np.divide(tau, t, out=np.zeros(np.broadcast_shapes(t.shape, tau.shape)), where=t > 0)
    on_mean = np.where(t > 0, R - (R - valley) * fill * share, 0.0)
    duty = np.divide(on, whole, out=np.zeros_like(on), where=whole > 0)
    return PulseRise(
        peak=np.where(steady, R.sum(axis=-1), peak.sum(axis=-1)),
        valley=np.where(steady, R.sum(axis=-1), valley.sum(axis=-1)),
        mean=R.sum(axis=-1) * np.where(steady, 1.0, duty),
        on_mean=np.where(steady, R.sum(axis=-1), on_mean.sum(axis=-1)),
    )
