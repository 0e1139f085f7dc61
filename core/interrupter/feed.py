"""What feeds the chain: low-voltage supply, decoupling at the driver, the main bulk capacitor."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from burstwise.core.design.document import Design
from burstwise.core.design.supply import LowVoltageSupply
from burstwise.core.errors import InputError
from burstwise.core.findings import Finding, caution, stop
from burstwise.core.interrupter.bulk import PulseTrain, decoupling_capacitance, pulse_train
from burstwise.core.interrupter.driver import DriverResult
from burstwise.core.interrupter.resolve import ResolvedInterrupter
from burstwise.core.interrupter.supply import (
    LinearRegulator,
    LowSupply,
    LowSupplyResult,
    SeparateSupply,
    ZenerSupply,
)
from burstwise.core.units import shown

_DECOUPLING_DROOP: Final = 0.02
"""Fall of the driver's supply per gate charge that counts as decoupled, over the supply."""
_LOCKOUT_MARGIN: Final = 1.0
"""Distance of the lowest driver supply to its lock-out that is called thin below [V]."""
_RATED: Final = frozenset({"regulator-input", "low-supply-heat"})
"""Findings on a regulator that `burstwise.core.limits` tells as ratings of their own."""
_SAME_VOLTAGE: Final = 0.03


@dataclass(frozen=True, slots=True)
class StageFigures:
    """What the chain has to know of the stage.

    Parameters
    ----------
    ring_up : float
        Time to 90 % of the envelope [s]; infinite where it does not oscillate.
    carrier : float
        Carrier frequency [Hz]; 0 where it does not oscillate.
    drain_current_peak, supply_current : float
        Peak drain current, and mean current from the bus while on [A].
    bus_low : float
        Lowest bus voltage in a period [V].
    longest_on_time : float
        Single burst after which the junction reaches its limit [s]; infinite where the stage may
        run without a break.
    """

    ring_up: float
    carrier: float
    drain_current_peak: float
    supply_current: float
    bus_low: float
    longest_on_time: float = math.inf


def _supply_of(part: LowVoltageSupply) -> LowSupply:
    if part.kind == "regulator":
        return LinearRegulator(
            output=part.output,
            dropout=part.dropout,
            ground_current=part.own_current,
            input_limit=part.input_limit,
            thermal_resistance=part.thermal_resistance,
            junction_limit=part.junction_limit,
        )
    if part.kind == "zener":
        return ZenerSupply(
            output=part.output,
            tolerance=part.tolerance,
            least_current=part.least_zener_current,
            thermal_resistance=part.thermal_resistance,
            junction_limit=part.junction_limit,
        )
    return SeparateSupply(part.output, part.tolerance, part.current_limit)


def low_voltage_supply(
    design: Design, stage: StageFigures, load: float, burst: float, findings: list[Finding]
) -> LowSupplyResult | None:
    """Low-voltage supply at work, None where there is none; what it has to say joins `findings`."""
    part = design.supply.low_voltage
    if part is None:
        return None
    findings += _voltage_differs(design, part)
    low = min(max(stage.bus_low, 0.1), design.supply.voltage)
    try:
        result = _supply_of(part).at(
            input_low=low,
            input_high=design.supply.voltage,
            load=load if part.kind == "regulator" else burst,
            ambient=design.cooling.ambient,
        )
    except InputError as error:
        findings.append(stop("low-supply-input", "supply.low_voltage.output", f"{error}."))
        return None
    findings += [
        Finding(item.severity, item.code, "supply.low_voltage", item.text)
        for item in result.findings
        if part.kind != "regulator" or item.code not in _RATED
    ]
    return result


def _voltage_differs(design: Design, part: LowVoltageSupply) -> list[Finding]:
    fed = {}
    if design.drive.kind == "gated":
        fed["drive.gated.driver_supply"] = ("gate driver", design.drive.gated.driver_supply)
    if design.interrupter.enabled and design.interrupter.given_by == "parts":
        fed["interrupter.parts.supply"] = ("timer", design.interrupter.parts.supply)
    return [
        caution(
            "low-voltage-differs",
            field,
            f"The low-voltage supply gives {part.output:g} V, but the {name} is computed with "
            f"{volts:g} V.",
        )
        for field, (name, volts) in fed.items()
        if abs(volts - part.output) > _SAME_VOLTAGE * part.output
    ]


def lockout_findings(design: Design, low_supply: LowSupplyResult | None) -> list[Finding]:
    """Stop or caution where the driver's supply comes near its lock-out."""
    part = design.drive.gated
    lowest = part.driver_supply if low_supply is None else low_supply.output_low
    lockout = part.undervoltage_lockout
    if design.drive.kind != "gated" or part.driver_supply <= lockout:
        return []
    if lowest - lockout >= _LOCKOUT_MARGIN:
        return []
    below = lowest <= lockout
    text = (
        f"The driver's supply falls to {lowest:.3g} V; it locks out below {lockout:.3g} V, so "
        + ("bursts are cut." if below else f"only {lowest - lockout:.2g} V are left.")
    )
    make = stop if below else caution
    return [make("lockout-margin", "drive.gated.undervoltage_lockout", text)]


def decoupling_wanted(design: Design, gate: DriverResult | None, findings: list[Finding]) -> float:
    """Decoupling that holds the driver's supply within 2 % per gate charge [F]."""
    if gate is None:
        return 0.0
    supply, fitted = design.drive.gated.driver_supply, design.interrupter.chain.decoupling
    wanted = decoupling_capacitance(design.device.gate_charge, _DECOUPLING_DROOP * supply)
    if fitted < wanted:
        findings.append(
            caution(
                "decoupling-small",
                "interrupter.chain.decoupling",
                f"Each gate charge pulls the driver's supply down by "
                f"{shown(design.device.gate_charge / fitted, 'V', digits=3)}; "
                f"{shown(wanted, 'F', digits=3)} keep it within 2 %.",
            )
        )
    return wanted


def bulk_train(
    design: Design, timer: ResolvedInterrupter, stage: StageFigures
) -> PulseTrain | None:
    """Main bulk capacitor under the bursts, None without one or when the drive never switches."""
    if not 0 < timer.duty < 1 or not design.supply.bulk_fitted:
        return None
    part = design.supply
    return pulse_train(
        stage.supply_current,
        timer.duty / timer.frequency,
        1 / timer.frequency,
        capacitance=part.bulk_capacitance,
        esr=part.bulk_esr,
        ripple_rating=part.bulk_ripple_rating,
        supply_limit=part.current_limit,
    )
