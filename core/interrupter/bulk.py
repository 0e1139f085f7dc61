"""Bulk and decoupling capacitors: droop in a burst, refill, ripple current, rectifier ripple."""

from __future__ import annotations

import math
from dataclasses import dataclass

from scipy.optimize import brentq

from burstwise.core.errors import InputError
from burstwise.core.findings import Finding, caution, heaviest_first, stop
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
class PulseTrain:
    """Bulk capacitor that feeds bursts and is refilled evenly.

    Parameters
    ----------
    source_current : float
        Mean current that the supply must give [A].
    ripple : float
        Peak-to-peak voltage of the capacitance alone [V].
    esr_step : float
        Further step in the ESR [V].
    ripple_current : float
        RMS current of the capacitor [A].
    esr_power : float
        Heat in the ESR [W].
    findings : tuple of Finding
        Ripple rating, supply limit.
    """

    source_current: float
    ripple: float
    esr_step: float
    ripple_current: float
    esr_power: float
    findings: tuple[Finding, ...]


def pulse_train(
    current: float,
    on_time: float,
    period: float,
    *,
    capacitance: float,
    esr: float = 0.0,
    ripple_rating: float = math.inf,
    supply_limit: float = math.inf,
) -> PulseTrain:
    """Steady state of a bulk capacitor under current bursts.

    The source gives the mean I D all the time, the capacitor the rest: dV = I (1 - D) ton/C,
    I_rms = I sqrt(D (1 - D)). A supply limited below I D cannot refill it.

    Raises
    ------
    InputError
        On-time outside 0 to the period, or a capacitance that is not positive.

    Examples
    --------
    >>> train = pulse_train(15.0, 1e-3, 10e-3, capacitance=2.2e-3)
    >>> train.source_current, round(train.ripple, 9), round(train.ripple_current, 9)
    (1.5, 6.136363636, 4.5)
    """
    if not 0 <= on_time <= period or period <= 0:
        raise InputError("on_time", on_time, f"0 s to the period of {period:g} s")
    if capacitance <= 0:
        raise InputError("capacitance", capacitance, "above 0 F")
    duty = on_time / period
    rms = current * math.sqrt(duty * (1 - duty))
    findings: list[Finding] = []
    if rms > ripple_rating:
        findings.append(
            stop(
                "bulk-ripple-current",
                "supply.bulk",
                f"The capacitor carries {shown(rms, 'A')} RMS and is rated for "
                f"{shown(ripple_rating, 'A')}: take several in parallel.",
            )
        )
    if current * duty > supply_limit:
        findings.append(
            stop(
                "supply-cannot-refill",
                "supply.current_limit",
                f"Bursts need {shown(current * duty, 'A')} on average; the supply is limited to "
                f"{shown(supply_limit, 'A')}, so its voltage collapses.",
            )
        )
    elif current > supply_limit:
        findings.append(
            caution(
                "supply-limits-in-burst",
                "supply.current_limit",
                f"A burst takes {shown(current, 'A')}, above the supply's limit of "
                f"{shown(supply_limit, 'A')}: the capacitor gives the difference of "
                f"{shown(current - supply_limit, 'A')}.",
            )
        )
    return PulseTrain(
        current * duty,
        current * (1 - duty) * on_time / capacitance,
        current * esr,
        rms,
        rms**2 * esr,
        heaviest_first(findings),
    )


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


def decoupling_capacitance(charge: float, droop: float) -> float:
    """Capacitance that gives a charge for a droop [F], C = Q/dV.

    Examples
    --------
    >>> round(decoupling_capacitance(60e-9, 0.1), 12)
    6e-07
    """
    if droop <= 0:
        raise InputError("decoupling.droop", droop, "above 0 V")
    return charge / droop
