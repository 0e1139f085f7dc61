"""From design document to stage circuit."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Final

from burstwise.core.coil.resolve import ResolvedCoil
from burstwise.core.design.device import Device
from burstwise.core.design.document import Design
from burstwise.core.design.drive import Drive, Protection
from burstwise.core.stage.circuit import (
    ClampValues,
    CoilValues,
    DirectFeed,
    GatedFeed,
    StageCircuit,
    SwitchValues,
)
from burstwise.core.stage.device_charges import device_charges

_COLD_KELVIN = 298.15
_HOT_KELVIN = 423.15
_ROOM: Final = 2
"""Coordinates of the compiled stepping beside windings, device, top and a driver's input."""


def on_resistance_at(device: Device, junction_c: float) -> float:
    """On-resistance at a junction temperature [ohm].

    Power law ``R(T) = R25 (T/298 K)^a`` with a from the datasheet's ratio at 150 °C; common
    practice for power MOSFETs, no source. Validity: -40 to 200 °C, extrapolated beyond.

    Examples
    --------
    >>> round(on_resistance_at(Device(), 150.0) / Device().on_resistance, 6)
    2.4
    """
    exponent = math.log(device.hot_resistance_ratio) / math.log(_HOT_KELVIN / _COLD_KELVIN)
    return float(device.on_resistance * ((junction_c + 273.15) / _COLD_KELVIN) ** exponent)


def coil_values(design: Design, coil: ResolvedCoil) -> CoilValues:
    """Coil of the stage's circuit, the primary's leads with it.

    Parameters
    ----------
    design : Design
        The design.
    coil : ResolvedCoil
        Values of its coil.
    """
    return CoilValues(
        primary_inductance=coil.primary_inductance,
        secondary_inductance=coil.secondary_inductance,
        coupling=coil.coupling,
        primary_resistance=coil.primary_resistance,
        secondary_resistance=coil.secondary_resistance,
        secondary_capacitance=coil.secondary_capacitance,
        breakout_voltage=coil.breakout_voltage,
        breakout_resistance=design.coil.breakout_resistance,
        base_current_ratio=coil.base_current_ratio,
        lead_inductance=design.coil.lead_inductance,
    )


def stage_circuit(
    design: Design,
    coil: ResolvedCoil,
    *,
    supply_voltage: float | None = None,
    junction_c: float = 25.0,
) -> StageCircuit:
    """Stage circuit of a design at a supply voltage and a junction temperature.

    Parameters
    ----------
    design : Design
        The design.
    coil : ResolvedCoil
        Values of its coil.
    supply_voltage : float, optional
        Voltage of the bus [V]; the design's own by default.
    junction_c : float
        Junction temperature that sets the on-resistance [°C].
    """
    return StageCircuit(
        supply_voltage=design.supply.voltage if supply_voltage is None else supply_voltage,
        coil=coil_values(design, coil),
        switch=switch_values(design.device, junction_c),
        feed=_with_room(feed_values(design), design),
        reversed_sense=design.drive.feedback_sense == "reversed",
        shunt_resistance=design.drive.shunt_resistance,
        source_inductance=0.0 if crowded(design) else design.drive.source_inductance,
        clamps=clamp_values(design.protection),
    )


def crowded(design: Design) -> bool:
    """Whether the stage has no room left for a common-source inductance.

    The compiled stepping has room for so many coordinates: beside a driver's input for two of
    snubber, reservoir clamp, current transformer and common-source inductance. That is left out
    first, then the transformer's inductance.
    """
    return design.drive.kind == "gated" and _besides(design) + transformed(design) >= _ROOM


def transformed(design: Design) -> bool:
    """Whether a current transformer feeds the driver."""
    return design.drive.kind == "gated" and design.drive.gated.feedback == "current transformer"


def _besides(design: Design) -> int:
    """How many of snubber and reservoir clamp are fitted."""
    return sum(
        part is not None for part in (design.protection.snubber, design.protection.reservoir_clamp)
    )


def _with_room(feed: DirectFeed | GatedFeed, design: Design) -> DirectFeed | GatedFeed:
    """Feed without the transformer's inductance where the stage has no room for it."""
    if isinstance(feed, GatedFeed) and _besides(design) >= _ROOM:
        return replace(feed, inductance=math.inf)
    return feed


def switch_values(device: Device, junction_c: float) -> SwitchValues:
    """Piecewise-linear device of a datasheet at a junction temperature."""
    charges = device_charges(device)
    return SwitchValues(
        on_resistance=on_resistance_at(device, junction_c),
        threshold=device.threshold_voltage,
        transconductance=device.transconductance,
        gate_source_capacitance=device.input_capacitance - device.reverse_capacitance,
        gate_drain_capacitance=charges.gate_drain,
        drain_source_capacitance=charges.drain_source,
        diode_voltage=device.body_diode_voltage,
        diode_resistance=device.body_diode_resistance,
        avalanche_voltage=device.avalanche_voltage,
        avalanche_resistance=device.avalanche_resistance,
        internal_gate_resistance=device.internal_gate_resistance,
    )


def feed_values(design: Design) -> DirectFeed | GatedFeed:
    """Direct or gated feed of the design."""
    drive = design.drive
    return _direct(drive) if drive.kind == "direct" else _gated(drive)


def _direct(drive: Drive) -> DirectFeed:
    part = drive.direct
    return DirectFeed(
        bias_voltage=part.bias_voltage,
        bias_resistance=part.bias_resistance,
        clamp_high=part.clamp_high if part.clamp_fitted else math.inf,
        clamp_low=part.clamp_low if part.clamp_fitted else math.inf,
        clamp_resistance=part.clamp_resistance,
        pull_down_resistance=part.pull_down_resistance,
    )


def _gated(drive: Drive) -> GatedFeed:
    part = drive.gated
    transformer = part.feedback == "current transformer"
    return GatedFeed(
        supply=part.driver_supply,
        pull_up_resistance=part.pull_up_resistance + part.gate_resistor,
        pull_down_resistance=part.pull_down_resistance + part.gate_resistor,
        delay=part.propagation_delay,
        inverting=part.inverting,
        threshold_high=part.input_threshold_high,
        threshold_low=part.input_threshold_low,
        input_capacitance=part.input_capacitance,
        clamp_high=part.input_clamp_high,
        clamp_low=part.input_clamp_low,
        clamp_resistance=part.input_clamp_resistance,
        bias_voltage=part.input_bias,
        bias_resistance=part.burden if transformer else part.input_bias_resistance,
        fast_slew=part.fast_slew,
        slow_slew=part.slow_slew,
        slow_delay=part.slow_delay,
        hold_resistance=part.gate_source_resistor or math.inf,
        locked_out=part.driver_supply < part.undervoltage_lockout,
        turns=part.transformer_turns if transformer else 0.0,
        inductance=part.transformer_inductance if transformer else math.inf,
        antenna=part.antenna_capacitance if part.feedback == "antenna" else 0.0,
    )


def clamp_values(protection: Protection) -> ClampValues:
    """Protection at the drain, with what is not fitted left out."""
    fitted: dict[str, float] = {}
    if protection.drain_clamp is not None:
        fitted["drain_voltage"] = protection.drain_clamp.voltage
        fitted["drain_resistance"] = protection.drain_clamp.resistance
    if protection.snubber is not None:
        fitted["snubber_resistance"] = protection.snubber.resistance
        fitted["snubber_capacitance"] = protection.snubber.capacitance
    if protection.reservoir_clamp is not None:
        part = protection.reservoir_clamp
        fitted["reservoir_capacitance"] = part.capacitance
        fitted["reservoir_resistance"] = part.resistance
        fitted["reservoir_diode_voltage"] = part.diode_voltage
        fitted["reservoir_diode_resistance"] = part.diode_resistance
    return ClampValues(**fitted)
