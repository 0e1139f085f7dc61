"""The interrupter: typed numbers or a chosen set of timer parts, and the chain to the driver."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, model_validator

from burstwise.core.design.fields import DisagreementError, Section, quantity_field
from burstwise.core.design.timer_wish import (
    CapacitorName,
    CircuitName,
    DiodeName,
    ResistorTolerance,
    SupplyTolerance,
    TimerName,
    TimerWish,
    TrackTolerance,
)
from burstwise.core.units import limits_text, shown


class TimerParts(Section):
    """A chosen set of timer parts; a circuit takes those that it has a place for."""

    circuit: Annotated[CircuitName, Field(title="Circuit")] = "astable-steered-discharge"
    timer: Annotated[TimerName, Field(title="Timer")] = "cmos"
    supply: Annotated[float, *quantity_field("V", 1, 30, "Timer supply")] = 12.0
    supply_tolerance: SupplyTolerance = 0.05
    control_voltage: Annotated[
        float | None, *quantity_field("V", 0.1, 30, "Control pin held at")
    ] = None
    travel: Annotated[
        float, *quantity_field("", 0.0, 1.0, "Travel of the duty knob", percent=True)
    ] = 0.5
    frequency_travel: Annotated[
        float, *quantity_field("", 0.0, 1.0, "Travel of the frequency knob", percent=True)
    ] = 1.0
    charge_resistor: Annotated[float, *quantity_field("Ω", 1, 1e8, "Charge resistor", log=True)] = (
        3900.0
    )
    discharge_resistor: Annotated[
        float, *quantity_field("Ω", 1, 1e8, "Discharge resistor", log=True)
    ] = 3900.0
    potentiometer: Annotated[float, *quantity_field("Ω", 0, 1e8, "Duty potentiometer")] = 250e3
    frequency_potentiometer: Annotated[
        float, *quantity_field("Ω", 0, 1e8, "Frequency potentiometer")
    ] = 0.0
    timing_capacitor: Annotated[
        float, *quantity_field("F", 1e-11, 0.1, "Timing capacitor", log=True)
    ] = 330e-9
    timing_capacitor_kind: Annotated[CapacitorName, Field(title="Timing capacitor kind")] = "film"
    timing_capacitor_tolerance: Annotated[
        float, *quantity_field("", 0.0, 0.5, "Timing capacitor tolerance", percent=True)
    ] = 0.05
    pulse_resistor: Annotated[float, *quantity_field("Ω", 1, 1e8, "Pulse resistor", log=True)] = (
        91e3
    )
    pulse_capacitor: Annotated[
        float, *quantity_field("F", 1e-11, 0.1, "Pulse capacitor", log=True)
    ] = 470e-9
    pulse_capacitor_kind: Annotated[CapacitorName, Field(title="Pulse capacitor kind")] = "film"
    pulse_capacitor_tolerance: Annotated[
        float, *quantity_field("", 0.0, 0.5, "Pulse capacitor tolerance", percent=True)
    ] = 0.05
    trigger_resistor: Annotated[
        float, *quantity_field("Ω", 1, 1e8, "Trigger resistor", log=True)
    ] = 10e3
    trigger_capacitor: Annotated[
        float, *quantity_field("F", 1e-12, 1e-3, "Trigger capacitor", log=True)
    ] = 1e-9
    resistor_tolerance: ResistorTolerance = 0.01
    potentiometer_tolerance: TrackTolerance = 0.20
    potentiometer_end: Annotated[
        float, *quantity_field("", 0.0, 0.2, "End resistance, at most", percent=True)
    ] = 0.01
    potentiometer_middle: Annotated[
        float, *quantity_field("", 0.01, 0.99, "Track at half travel", percent=True)
    ] = 0.5
    diode: Annotated[DiodeName, Field(title="Steering diodes")] = "silicon"

    @model_validator(mode="after")
    def _control_within_supply(self) -> TimerParts:
        held = self.control_voltage
        if held is not None and not 0.1 * self.supply <= held <= 0.95 * self.supply:
            raise DisagreementError(
                "control_voltage",
                shown(held, "V"),
                f"{limits_text(0.1 * self.supply, 0.95 * self.supply, 'V')} at this supply",
            )
        return self


class BufferStage(Section):
    """Inverting transistor between the timer's output and the driver."""

    collector_resistor: Annotated[
        float, *quantity_field("Ω", 10, 1e6, "Collector resistor", log=True)
    ] = 1000.0
    smallest_gain: Annotated[float, *quantity_field("", 5, 1e5, "Smallest current gain")] = 100.0
    usual_gain: Annotated[float, *quantity_field("", 5, 1e5, "Usual current gain")] = 200.0
    overdrive: Annotated[float, *quantity_field("", 1, 20, "Overdrive of the base")] = 4.0

    @model_validator(mode="after")
    def _gains_in_order(self) -> BufferStage:
        if self.usual_gain < self.smallest_gain:
            raise DisagreementError(
                "usual_gain",
                f"{self.usual_gain:g}",
                f"at least the smallest gain of {self.smallest_gain:g}",
            )
        return self


class IndicatorLamp(Section):
    """LED that follows the timer's output."""

    forward_voltage: Annotated[float, *quantity_field("V", 0.5, 5, "Forward voltage")] = 2.0
    current: Annotated[float, *quantity_field("A", 1e-4, 0.05, "Current wanted")] = 5e-3


class DriveChain(Section):
    """What stands between the timer's output and the drive."""

    buffer: Annotated[BufferStage | None, Field(title="Buffer transistor")] = None
    indicator: Annotated[IndicatorLamp | None, Field(title="Indicator LED")] = None
    gating: Annotated[
        Literal["enable", "supply"],
        Field(
            title="Timer acts on",
            description="The driver's enable input, or a switch in the driver's supply.",
        ),
    ] = "enable"
    active_level: Annotated[Literal["high", "low"], Field(title="Driver enabled by")] = "high"
    decoupling: Annotated[
        float, *quantity_field("F", 1e-9, 1e-2, "Decoupling at the driver", log=True)
    ] = 10e-6
    loop_inductance: Annotated[float, *quantity_field("H", 1e-9, 1e-6, "Gate loop inductance")] = (
        20e-9
    )


class Interrupter(Section):
    """The timer that chops the drive."""

    enabled: Annotated[bool, Field(title="Interrupter fitted")] = True
    given_by: Annotated[Literal["numbers", "parts"], Field(title="Interrupter given by")] = (
        "numbers"
    )
    frequency: Annotated[
        float, *quantity_field("Hz", 0.2, 20e3, "Interrupter frequency", log=True)
    ] = 150.0
    duty: Annotated[float, *quantity_field("", 0.0, 1.0, "Duty", percent=True)] = 0.3
    parts: TimerParts = TimerParts()
    chain: DriveChain = DriveChain()
    wish: Annotated[TimerWish | None, Field(title="Wish for sizing")] = None

    @property
    def wish_in_use(self) -> TimerWish:
        """The wish, or the usual one for this frequency and supply where none was made."""
        if self.wish is not None:
            return self.wish
        return TimerWish(frequency=self.frequency, supply=self.parts.supply)
