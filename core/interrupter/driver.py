"""Gate driver and gate resistor: peak current, edges, and where the gate's power goes."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from burstwise.core.errors import InputError
from burstwise.core.findings import Finding, caution, heaviest_first, stop
from burstwise.core.interrupter.buffer import edge_time, positive
from burstwise.core.series import value_above
from burstwise.core.units import shown

_LARGE_OVERSHOOT: Final = 0.05
"""Overshoot of the gate, over the driver's supply, from which on its loop is said to ring."""


@dataclass(frozen=True, slots=True)
class Driver:
    """Gate driver.

    Parameters
    ----------
    supply : float
        Driver supply [V].
    resistance : float
        Output resistance, mean of both directions [ohm].
    peak_current : float
        Largest output current [A].
    quiescent : float
        Own current [A].
    lockout : float
        Supply below which the output is held off [V].
    inverts : bool
        Whether output is high for input low.
    """

    supply: float = 12.0
    resistance: float = 1.5
    peak_current: float = 4.0
    quiescent: float = 1e-3
    lockout: float = 8.0
    inverts: bool = False


@dataclass(frozen=True, slots=True)
class DriverResult:
    """Driver with its gate: currents [A], times [s], powers [W].

    `least_resistor` is the gate resistor that damps the gate loop critically [ohm], `overshoot`
    what the gate swings beyond the driver's supply with the fitted one, over the supply [1].
    """

    gate_resistor: float
    least_resistor: float
    overshoot: float
    peak_current: float
    mean_current: float
    rise_time: float
    gate_power: float
    driver_power: float
    resistor_power: float
    findings: tuple[Finding, ...]


def smallest_gate_resistance(
    loop_inductance: float, gate_capacitance: float, *, others: float
) -> float:
    """Gate resistance that damps the gate loop critically [ohm], less what is there already.

    R = 2 sqrt(L/C) - others, not below 0.

    Examples
    --------
    >>> round(smallest_gate_resistance(20e-9, 2e-9, others=2.5), 3)
    3.825
    """
    return max(2 * math.sqrt(loop_inductance / gate_capacitance) - others, 0.0)


def step_overshoot(resistance: float, inductance: float, capacitance: float) -> float:
    """Overshoot of the capacitor's voltage in a series RLC after a step, over the step [1].

    ``exp(-pi z/sqrt(1 - z^2))`` with the damping ``z = (R/2) sqrt(C/L)``; 0 from z = 1 on.
    Closed form of the second-order step response.

    Parameters
    ----------
    resistance, inductance, capacitance : float
        [ohm], [H], [F]; the latter two above zero.

    Examples
    --------
    >>> round(step_overshoot(1.0, 1.0, 1.0), 4), step_overshoot(2.0, 1.0, 1.0)
    (0.163, 0.0)
    """
    damping = 0.5 * resistance * math.sqrt(capacitance / inductance)
    if damping >= 1.0:
        return 0.0
    return math.exp(-math.pi * damping / math.sqrt(1.0 - damping**2))


def driven_gate(
    driver: Driver,
    *,
    gate_charge: float,
    carrier: float,
    duty: float,
    loop_inductance: float = 20e-9,
    gate_internal: float = 1.0,
    gate_resistor: float | None = None,
) -> DriverResult:
    """Gate resistor, peak current, rise time and where the gate's power goes.

    P = Qg V f duty is lost in the resistances, shared in their proportion; the driver adds its
    quiescent power. Rise time is ln 9 R C of the charge-equivalent capacitance Qg/V.

    Parameters
    ----------
    driver : Driver
        Gate driver.
    gate_charge : float
        Total gate charge at the driver's supply [C].
    carrier : float
        Switching frequency within a burst [Hz].
    duty : float
        Share of time that bursts run, 0 to 1.
    loop_inductance, gate_internal : float
        Gate loop [H], and resistance inside the MOSFET [ohm].
    gate_resistor : float or None
        Fitted resistor [ohm]; None takes the next of E12 that damps the loop and keeps
        the peak current.

    Raises
    ------
    InputError
        Gate charge, carrier or supply not positive; duty outside 0 to 1.

    Examples
    --------
    >>> result = driven_gate(Driver(), gate_charge=60e-9, carrier=500e3, duty=0.5)
    >>> result.gate_resistor, round(result.gate_power, 3)
    (1.5, 0.18)
    """
    positive("driver.gate_charge", gate_charge, "C")
    positive("driver.carrier", carrier, "Hz")
    positive("driver.supply", driver.supply, "V")
    if not 0 <= duty <= 1:
        raise InputError("driver.duty", duty, "0 to 1")
    capacitance = gate_charge / driver.supply
    others = driver.resistance + gate_internal
    damped = smallest_gate_resistance(loop_inductance, capacitance, others=others)
    if gate_resistor is None:
        limited = driver.supply / driver.peak_current - others
        wanted = max(damped, limited)
        gate_resistor = value_above(wanted, series="E12") if wanted > 0 else 0.0
    total = others + gate_resistor
    power = gate_charge * driver.supply * carrier * duty
    rise = edge_time(total, capacitance)
    peak = driver.supply / total
    overshoot = step_overshoot(total, loop_inductance, capacitance)
    return DriverResult(
        gate_resistor,
        damped,
        overshoot,
        peak,
        gate_charge * carrier * duty,
        rise,
        power,
        power * driver.resistance / total + driver.supply * driver.quiescent,
        power * gate_resistor / total,
        (
            *_driver_findings(driver, peak, rise, carrier),
            *_ringing(driver, damped, overshoot, loop_inductance),
        ),
    )


def _ringing(
    driver: Driver, damped: float, overshoot: float, loop_inductance: float
) -> tuple[Finding, ...]:
    if overshoot <= _LARGE_OVERSHOOT:
        return ()
    return (
        caution(
            "gate-loop-rings",
            "driver.gate_resistor",
            f"With {shown(loop_inductance, 'H')} in the gate loop the gate swings to "
            f"{shown(driver.supply * (1 + overshoot), 'V', digits=3)} at each edge; a gate "
            f"resistor of {shown(damped, 'Ω', digits=2)} damps it, a shorter loop helps.",
        ),
    )


def _driver_findings(
    driver: Driver, peak: float, rise: float, carrier: float
) -> tuple[Finding, ...]:
    findings: list[Finding] = []
    if peak > driver.peak_current * 1.001:
        findings.append(
            caution(
                "driver-peak-current",
                "driver.gate_resistor",
                f"The gate would take {shown(peak, 'A')}; the driver limits at "
                f"{shown(driver.peak_current, 'A')}, so edges are slower than computed.",
            )
        )
    if rise > 0.1 / carrier:
        findings.append(
            caution(
                "gate-edge-slow",
                "driver.gate_resistor",
                f"A gate edge of {shown(rise, 's')} is more than a tenth of the carrier period "
                f"of {shown(1 / carrier, 's')}.",
            )
        )
    if driver.supply <= driver.lockout:
        findings.append(
            stop(
                "driver-lockout",
                "driver.supply",
                f"The driver locks out below {driver.lockout:g} V and has {driver.supply:g} V.",
            )
        )
    return heaviest_first(findings)
