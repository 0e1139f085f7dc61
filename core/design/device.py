"""The switching device: what a datasheet of a power MOSFET says."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, model_validator

from burstwise.core.design.fields import DisagreementError, Section, quantity_field, words
from burstwise.core.units import shown


class ThermalElement(Section):
    """One resistance-capacitance pair of a Foster network."""

    resistance: Annotated[float, *quantity_field("K/W", 1e-4, 1e3, "Thermal resistance")]
    time_constant: Annotated[float, *quantity_field("s", 1e-7, 1e4, "Time constant")]


class ImpedancePoint(Section):
    """One point of a datasheet's curve of single-pulse transient thermal impedance."""

    time: Annotated[float, *quantity_field("s", 1e-7, 1e3, "Pulse length")]
    impedance: Annotated[float, *quantity_field("K/W", 1e-5, 100, "Impedance")]


class CapacitancePoint(Section):
    """One point of a datasheet's curve of a capacitance against voltage."""

    voltage: Annotated[float, *quantity_field("V", 0, 4500, "Drain-source voltage")]
    capacitance: Annotated[float, *quantity_field("F", 1e-13, 1e-6, "Capacitance")]


class SafePoint(Section):
    """One corner of a datasheet's safe operating area: the current allowed for one pulse."""

    pulse_length: Annotated[float, *quantity_field("s", 1e-7, 100, "Pulse length")]
    voltage: Annotated[float, *quantity_field("V", 0.1, 4500, "Drain-source voltage")]
    current: Annotated[float, *quantity_field("A", 1e-4, 5000, "Drain current allowed")]


CapacitanceKind = Literal["constant", "junction", "knee", "curve"]
"""Constant; planar junction; superjunction with a knee; points of the datasheet's curve."""


class Device(Section):
    """A power MOSFET by its datasheet figures; a class of device or the user's own part."""

    name: Annotated[str, words(), Field(title="Device class")] = "600 V, 4 A planar, full-pack"
    drain_voltage_rating: Annotated[
        float, *quantity_field("V", 10, 3300, "Drain-source voltage rating")
    ] = 600.0
    voltage_use: Annotated[
        float,
        *quantity_field("", 0.3, 1.0, "Share of the drain voltage rating to be used", percent=True),
    ] = 1.0
    avalanche_voltage: Annotated[
        float, *quantity_field("V", 10, 4500, "Breakdown voltage in avalanche")
    ] = 690.0
    avalanche_resistance: Annotated[
        float, *quantity_field("Ω", 0.05, 100, "Slope resistance in avalanche")
    ] = 2.0
    avalanche_energy: Annotated[
        float, *quantity_field("J", 0, 10, "Single-pulse avalanche energy rating")
    ] = 0.2
    repetitive_avalanche_energy: Annotated[
        float, *quantity_field("J", 0, 1, "Repetitive avalanche energy rating")
    ] = 5e-3
    avalanche_current: Annotated[
        float | None, *quantity_field("A", 0.1, 500, "Avalanche current rating, where printed")
    ] = None
    gate_voltage_rating: Annotated[
        float, *quantity_field("V", 5, 40, "Gate-source voltage rating, positive")
    ] = 30.0
    negative_gate_rating: Annotated[
        float | None,
        *quantity_field("V", 1, 40, "Gate-source voltage rating, negative, if it is another"),
    ] = None
    recommended_gate_low: Annotated[
        float | None, *quantity_field("V", 1, 40, "Recommended gate drive, lowest on-level")
    ] = None
    recommended_gate_high: Annotated[
        float | None, *quantity_field("V", 1, 40, "Recommended gate drive, highest on-level")
    ] = None
    continuous_current: Annotated[
        float, *quantity_field("A", 0.1, 500, "Continuous drain current at 25 °C case")
    ] = 4.0
    pulsed_current: Annotated[float, *quantity_field("A", 0.1, 2000, "Pulsed drain current")] = 16.0
    power_rating: Annotated[
        float, *quantity_field("W", 0.5, 1500, "Power dissipation at 25 °C case")
    ] = 35.0
    junction_limit: Annotated[
        float, *quantity_field("°C", 80, 250, "Maximum junction temperature")
    ] = 150.0
    kept_junction: Annotated[
        float | None, *quantity_field("°C", 40, 250, "Junction temperature to stay below, if lower")
    ] = None
    on_resistance: Annotated[float, *quantity_field("Ω", 1e-4, 100, "On-resistance at 25 °C")] = 1.8
    hot_resistance_ratio: Annotated[
        float, *quantity_field("", 1.0, 4.0, "On-resistance at 150 °C over that at 25 °C")
    ] = 2.4
    threshold_voltage: Annotated[float, *quantity_field("V", 0.5, 8, "Gate threshold voltage")] = (
        3.5
    )
    transconductance: Annotated[
        float, *quantity_field("S", 0.05, 500, "Forward transconductance")
    ] = 2.5
    input_capacitance: Annotated[
        float, *quantity_field("F", 5e-12, 1e-7, "Input capacitance Ciss")
    ] = 640e-12
    output_capacitance: Annotated[
        float, *quantity_field("F", 2e-12, 1e-7, "Output capacitance Coss")
    ] = 80e-12
    capacitance_law: Annotated[
        CapacitanceKind, Field(title="How the capacitances fall with voltage")
    ] = "junction"
    output_capacitance_is: Annotated[
        Literal["at test voltage", "energy related"],
        Field(title="What the figure of Coss is"),
    ] = "at test voltage"
    time_related_capacitance: Annotated[
        float, *quantity_field("F", 0, 1e-6, "Output capacitance, time related; 0: not given")
    ] = 0.0
    stored_energy: Annotated[
        float, *quantity_field("J", 0, 1e-2, "Energy stored in Coss; 0: not given")
    ] = 0.0
    stored_charge: Annotated[
        float, *quantity_field("C", 0, 1e-4, "Charge stored in Coss; 0: not given")
    ] = 0.0
    capacitance_voltage: Annotated[
        float, *quantity_field("V", 0.5, 3300, "Test voltage of the capacitances")
    ] = 25.0
    effective_voltage: Annotated[
        float,
        *quantity_field("V", 0, 3300, "Voltage of the effective ones; 0: 80 % of the rating"),
    ] = 0.0
    reverse_capacitance: Annotated[
        float, *quantity_field("F", 1e-13, 5e-8, "Reverse transfer capacitance Crss")
    ] = 8e-12
    gate_charge: Annotated[float, *quantity_field("C", 1e-10, 1e-5, "Total gate charge")] = 22e-9
    internal_gate_resistance: Annotated[
        float, *quantity_field("Ω", 0.0, 50, "Internal gate resistance")
    ] = 2.0
    body_diode_voltage: Annotated[
        float, *quantity_field("V", 0.2, 5, "Body-diode forward voltage")
    ] = 0.9
    body_diode_resistance: Annotated[
        float, *quantity_field("Ω", 1e-3, 10, "Body-diode slope resistance")
    ] = 0.1
    body_diode_dv_dt: Annotated[
        float, *quantity_field("V/s", 1e6, 1e12, "Peak diode recovery dv/dt rating")
    ] = 4.5e9
    thermal_network: Annotated[
        tuple[ThermalElement, ...],
        Field(title="Junction-to-case Foster network", min_length=1, max_length=12),
    ] = (
        ThermalElement(resistance=0.10, time_constant=1e-4),
        ThermalElement(resistance=0.45, time_constant=2e-3),
        ThermalElement(resistance=0.95, time_constant=3e-2),
        ThermalElement(resistance=2.07, time_constant=0.8),
    )

    impedance_curve: Annotated[
        tuple[ImpedancePoint, ...],
        Field(title="Transient thermal impedance, single pulse", max_length=60),
    ] = ()
    capacitance_curve: Annotated[
        tuple[CapacitancePoint, ...],
        Field(title="Output capacitance against voltage", max_length=60),
    ] = ()
    reverse_curve: Annotated[
        tuple[CapacitancePoint, ...],
        Field(title="Reverse transfer capacitance against voltage", max_length=60),
    ] = ()
    safe_area: Annotated[
        tuple[SafePoint, ...], Field(title="Safe operating area, 25 °C case", max_length=120)
    ] = ()

    @property
    def junction_to_case(self) -> float:
        """Steady thermal resistance junction to case [K/W]."""
        return sum(element.resistance for element in self.thermal_network)

    def network_with(self, junction_to_case: float) -> tuple[ThermalElement, ...]:
        """Thermal network of another steady resistance: a die of the same build, larger or smaller.

        Each element keeps its time constant, as resistance falls and capacity grows with the area.

        Parameters
        ----------
        junction_to_case : float
            Wanted [K/W].

        Examples
        --------
        >>> device = Device()
        >>> made = device.network_with(2 * device.junction_to_case)
        >>> made[0].resistance == 2 * device.thermal_network[0].resistance
        True
        >>> made[0].time_constant == device.thermal_network[0].time_constant
        True
        """
        factor = junction_to_case / self.junction_to_case
        return tuple(
            ThermalElement(
                resistance=float(f"{factor * element.resistance:.6g}"),
                time_constant=element.time_constant,
            )
            for element in self.thermal_network
        )

    @model_validator(mode="after")
    def _figures_agree(self) -> Device:
        if self.avalanche_voltage < self.drain_voltage_rating:
            raise DisagreementError(
                "avalanche_voltage",
                shown(self.avalanche_voltage, "V"),
                f"at least the drain voltage rating of {shown(self.drain_voltage_rating, 'V')}",
            )
        for name in ("input_capacitance", "output_capacitance"):
            value = getattr(self, name)
            if value <= self.reverse_capacitance:
                raise DisagreementError(
                    name,
                    shown(value, "F"),
                    f"above the reverse capacitance of {shown(self.reverse_capacitance, 'F')}",
                )
        if self.stored_charge and self.time_related_capacitance:
            raise DisagreementError(
                "stored_charge",
                shown(self.stored_charge, "C"),
                "0 while the time-related capacitance is given, which says the same",
            )
        if self.pulsed_current < self.continuous_current:
            raise DisagreementError(
                "pulsed_current",
                shown(self.pulsed_current, "A"),
                f"at least the continuous current of {shown(self.continuous_current, 'A')}",
            )
        low, high = self.recommended_gate_low, self.recommended_gate_high
        if low is not None and high is not None and low > high:
            raise DisagreementError(
                "recommended_gate_low",
                shown(low, "V"),
                f"at most the highest level of {shown(high, 'V')}",
            )
        return self

    @property
    def negative_gate_limit(self) -> float:
        """Largest negative gate-source voltage, as a positive number [V]."""
        negative = self.negative_gate_rating
        return self.gate_voltage_rating if negative is None else negative

    @property
    def highest_junction(self) -> float:
        """Junction temperature to stay below [C]: the printed maximum, or a lower one kept."""
        kept = self.kept_junction
        return self.junction_limit if kept is None else min(kept, self.junction_limit)
