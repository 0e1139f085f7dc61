"""Formulas that only tests ask: second opinions on capacitors, supplies and heat sinks."""

from __future__ import annotations

import math
from dataclasses import dataclass

from scipy.constants import Stefan_Boltzmann, g
from scipy.optimize import brentq

from burstwise.core.errors import InputError
from burstwise.core.units import shown


def constant_current_droop(
    current: float, time: float, *, capacitance: float, esr: float = 0.0
) -> float:
    """Fall of the voltage under a constant current, with the step in the ESR [V].

    dV = I t/C + I ESR.

    Examples
    --------
    >>> round(constant_current_droop(20.0, 0.5e-3, capacitance=4.7e-3, esr=0.03), 9)
    2.727659574
    """
    return current * time / capacitance + current * esr


def constant_power_end(voltage: float, power: float, time: float, *, capacitance: float) -> float:
    """Voltage after drawing a constant power [V], V = sqrt(V0**2 - 2 P t/C).

    Raises
    ------
    InputError
        The capacitor is empty before `time`.

    Examples
    --------
    >>> round(constant_power_end(325.0, 500.0, 0.01, capacitance=1e-3), 6)
    309.232922
    """
    square = voltage**2 - 2 * power * time / capacitance
    if square < 0:
        empty = capacitance * voltage**2 / (2 * power)
        raise InputError("on_time", time, f"at most {shown(empty, 's')}, when it is empty")
    return math.sqrt(square)


def resistive_end(voltage: float, resistance: float, time: float, *, capacitance: float) -> float:
    """Voltage after a resistive load [V], V = V0 exp(-t/(R C)).

    Examples
    --------
    >>> round(resistive_end(24.0, 2.0, 1e-3, capacitance=1e-3), 8)
    14.55673583
    """
    return voltage * math.exp(-time / (resistance * capacitance))


@dataclass(frozen=True, slots=True)
class LimitedBurst:
    """Lowest voltage with a supply that limits its current, and the time to refill."""

    lowest: float
    refill_time: float
    refills: bool


def limited_burst(
    voltage: float, current: float, *, on_time: float, off_time: float, capacitance: float,
    esr: float = 0.0, supply_limit: float,
) -> LimitedBurst:  # fmt: skip
    """Burst that the supply helps to feed up to its current limit.

    V_min = V - (I - Ilim) ton/C - (I - Ilim) ESR; refill at the limit takes
    (I - Ilim) ton/Ilim.

    Examples
    --------
    >>> limited_burst(24.0, 10.0, on_time=1e-3, off_time=9e-3, capacitance=4.7e-3,
    ...               supply_limit=2.0).refills
    True
    """
    missing = max(current - supply_limit, 0.0)
    lowest = voltage - constant_current_droop(missing, on_time, capacitance=capacitance, esr=esr)
    refill = missing * on_time / supply_limit if supply_limit > 0 else math.inf
    return LimitedBurst(max(lowest, 0.0), refill, refill <= off_time)


@dataclass(frozen=True, slots=True)
class RectifierRipple:
    """Ripple of a full-wave rectifier: peak-to-peak [V], valley [V], discharge time [s]."""

    ripple: float
    valley: float
    discharge_time: float


def full_wave_ripple(
    peak: float, mains: float, *, current: float, capacitance: float
) -> RectifierRipple:
    """Exact ripple of an ideal full-wave rectifier under a constant current.

    The diodes let go where the sine falls faster than I/C, sin(a) = I/(w C Vp) past the peak;
    the voltage falls straight until it meets the next half-wave at b:
    Vp cos(a) - I (b - a)/(w C) = -Vp cos(b).

    Raises
    ------
    InputError
        Values that are not positive, or a capacitor too small to hold any voltage.

    Examples
    --------
    >>> result = full_wave_ripple(325.0, 50.0, current=0.5, capacitance=100e-6)
    >>> round(result.ripple, 6), round(result.valley, 6)
    (41.480997, 283.519003)
    """
    for name, value in (("peak", peak), ("mains", mains), ("capacitance", capacitance)):
        if value <= 0:
            raise InputError(f"rectifier.{name}", value, "above 0")
    omega = 2 * math.pi * mains
    slope = current / (omega * capacitance * peak)
    if not 0 <= slope < 1:
        raise InputError("rectifier.capacitance", capacitance, "large enough to hold the load")
    start = math.asin(slope)

    def above(angle: float) -> float:
        return math.cos(start) - slope * (angle - start) + math.cos(angle)

    end = brentq(above, math.pi / 2, math.pi, xtol=1e-14)
    valley = -peak * math.cos(end)
    return RectifierRipple(peak - valley, valley, (end - start) / omega)


def adjustable_output(
    upper: float, lower: float, *, reference: float = 1.25, adjust_current: float = 50e-6
) -> float:
    """Output of an adjustable three-terminal regulator [V].

    V = Vref (1 + R2/R1) + Iadj R2, R1 = `upper` from output to adjust, R2 = `lower` to ground.

    Examples
    --------
    >>> round(adjustable_output(240.0, 2200.0), 8)
    12.81833333
    """
    return reference * (1 + lower / upper) + adjust_current * lower


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
    grashof = g * rise * height**3 / (film * air.viscosity**2)
    bracket = (1 + (0.492 / air.prandtl) ** (9 / 16)) ** (8 / 27)
    nusselt = (0.825 + 0.387 * (grashof * air.prandtl) ** (1 / 6) / bracket) ** 2
    convection = nusselt * air.conductivity / height
    hot, cold = film + rise / 2, film - rise / 2
    radiation = emissivity * Stefan_Boltzmann * (hot**4 - cold**4) / rise
    resistance = 1 / ((convection + radiation) * 2 * height * width)
    return PlateHeatSink(nusselt, convection, radiation, resistance)
