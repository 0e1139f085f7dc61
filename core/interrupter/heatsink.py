"""Flat vertical plate as the heat sink of a regulator: free convection and radiation."""

from __future__ import annotations

from dataclasses import dataclass

from burstwise.core.constants import STANDARD_GRAVITY, STEFAN_BOLTZMANN
from burstwise.core.errors import InputError


@dataclass(frozen=True, slots=True)
class Air:
    """Air at film temperature: viscosity [m2/s], conductivity [W/(m K)], Prandtl number."""

    viscosity: float = 1.82e-5
    conductivity: float = 0.0279
    prandtl: float = 0.702


@dataclass(frozen=True, slots=True)
class PlateHeatSink:
    """Heat transfer of a plate: Nusselt number, coefficients [W/(m2 K)], resistance [K/W]."""

    nusselt: float
    convection: float
    radiation: float
    resistance: float


def plate_heat_sink(
    height: float,
    width: float,
    *,
    rise: float,
    film: float = 328.15,
    emissivity: float = 0.9,
    air: Air | None = None,
) -> PlateHeatSink:
    """Thermal resistance of an isothermal vertical plate with both faces in free air.

    Nu = (0.825 + 0.387 Ra**(1/6)/[1 + (0.492/Pr)**(9/16)]**(8/27))**2, with
    Ra = g dT H**3 Pr/(T nu**2); radiation to surroundings at ambient temperature.

    Parameters
    ----------
    height, width : float
        [m].
    rise : float
        Plate above ambient [K].
    film : float
        Mean of plate and ambient temperature [K].
    emissivity : float
        0 for polished metal to about 0.9 for paint or anodising.
    air : Air or None
        Properties at film temperature; None takes those at some 50 C.

    Returns
    -------
    PlateHeatSink
        Good to some 15 % for a free plate.

    Raises
    ------
    InputError
        Size or rise not positive.

    References
    ----------
    Churchill and Chu, Int. J. Heat Mass Transfer 18 (1975) 1323.

    Examples
    --------
    >>> round(plate_heat_sink(0.05, 0.05, rise=60.0).resistance, 4)
    13.4553
    """
    for name, value in (("height", height), ("width", width), ("rise", rise)):
        if value <= 0:
            raise InputError(f"heat_sink.{name}", value, "above 0")
    air = air or Air()
    grashof = STANDARD_GRAVITY * rise * height**3 / (film * air.viscosity**2)
    bracket = (1 + (0.492 / air.prandtl) ** (9 / 16)) ** (8 / 27)
    nusselt = (0.825 + 0.387 * (grashof * air.prandtl) ** (1 / 6) / bracket) ** 2
    convection = nusselt * air.conductivity / height
    hot, cold = film + rise / 2, film - rise / 2
    radiation = emissivity * STEFAN_BOLTZMANN * (hot**4 - cold**4) / rise
    resistance = 1 / ((convection + radiation) * 2 * height * width)
    return PlateHeatSink(nusselt, convection, radiation, resistance)
