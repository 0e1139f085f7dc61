"""Formulas that only tests ask: second opinions on heat and avalanche."""

from __future__ import annotations

import itertools
from collections.abc import Callable

import numpy as np
from scipy.optimize import brentq


def settled_junction(
    heat: Callable[[float], float], *, resistance: float, ambient: float, hottest: float = 500.0
) -> float:
    """Lowest junction temperature that its own heat holds [C]; inf on runaway.

    Root of ``T = ambient + resistance heat(T)``.

    Parameters
    ----------
    heat : callable
        Heat in the device [W] at a junction temperature [C].
    resistance : float
        Junction to ambient [K/W].
    ambient : float
        [C].
    hottest : float
        Temperature up to which a root is looked for [C].

    Notes
    -----
    A ladder of 200 rungs brackets the lowest root; two roots within one rung are missed.

    Examples
    --------
    >>> settled_junction(lambda T: 2.0, resistance=5.0, ambient=25.0)
    35.0
    >>> settled_junction(lambda T: 0.3 * (T - 20.0), resistance=5.0, ambient=25.0)
    inf
    """

    def excess(temperature: float) -> float:
        return ambient + resistance * heat(temperature) - temperature

    rungs = np.linspace(ambient, hottest, 201)
    for low, high in itertools.pairwise(rungs):
        if excess(float(high)) <= 0.0:
            return float(brentq(excess, float(low), float(high), xtol=1e-12, rtol=1e-14))
    return float("inf")


def runaway_current(*, resistance: float, on_resistance: float, coefficient: float) -> float:
    """RMS current at which a device with linear on-resistance has no stable temperature [A].

    ``I = 1/sqrt(Rth R25 alpha)``, where the loop gain of heat and resistance reaches 1.

    Parameters
    ----------
    resistance : float
        Junction to ambient [K/W].
    on_resistance : float
        At 25 °C [ohm].
    coefficient : float
        Relative rise per kelvin [1/K].

    Examples
    --------
    >>> round(runaway_current(resistance=8.0, on_resistance=0.077, coefficient=0.008), 4)
    14.2451
    """
    return float(1.0 / np.sqrt(resistance * on_resistance * coefficient))


def avalanche_time(inductance: float, current: float, *, breakdown: float, supply: float) -> float:
    """Duration of one unclamped inductive turn-off [s], ``L I/(BV - Vdd)``.

    Examples
    --------
    >>> round(avalanche_time(1e-4, 20.0, breakdown=100.0, supply=24.0), 9)
    2.6316e-05
    """
    return inductance * current / (breakdown - supply)
