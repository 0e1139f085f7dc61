"""Bulk and decoupling capacitors: ripple, refill and heat under bursts; charge for an edge."""

from __future__ import annotations

import math
from dataclasses import dataclass

from burstwise.core.errors import InputError
from burstwise.core.findings import Finding, caution, heaviest_first, stop
from burstwise.core.units import shown


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
