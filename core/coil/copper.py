"""Copper as a conductor: resistivity at temperature and depth of penetration."""

from __future__ import annotations

import math

from burstwise.core.constants import (
    COPPER_RESISTIVITY_20C,
    COPPER_TEMPERATURE_COEFFICIENT,
    MU_0,
)


def copper_resistivity(temperature: float) -> float:
    """Resistivity of annealed copper at a temperature [ohm m].

    ``rho = rho20 (1 + alpha (T - 20))``

    Parameters
    ----------
    temperature : float
        Conductor temperature [°C].

    Notes
    -----
    Valid from about -50 °C to 200 °C, where the law is straight to 1 %.
    Source: IEC 60028:1925 (100 % IACS, 0.00393 per kelvin at 20 °C).

    Examples
    --------
    >>> round(copper_resistivity(60.0) * 1e8, 8)
    1.99512852
    """
    return COPPER_RESISTIVITY_20C * (1.0 + COPPER_TEMPERATURE_COEFFICIENT * (temperature - 20.0))


def skin_depth(frequency: float, resistivity: float = COPPER_RESISTIVITY_20C) -> float:
    """Depth at which the current density has fallen to 1/e in a flat conductor [m].

    ``delta = sqrt(rho / (pi f mu0))``

    Parameters
    ----------
    frequency : float
        Frequency [Hz], above zero.
    resistivity : float
        Resistivity [ohm m]; annealed copper at 20 °C unless given.

    Notes
    -----
    Non-magnetic conductor. Source: W. R. Smythe, Static and Dynamic Electricity (from memory).

    Examples
    --------
    >>> f"{skin_depth(100e3):.4g}"
    '0.000209'
    """
    return math.sqrt(resistivity / (math.pi * frequency * MU_0))
