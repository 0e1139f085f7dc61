"""What the builder wants of the timer and has in stock, from which parts are sized."""

from __future__ import annotations

from typing import Annotated, Final, Literal, get_args

from pydantic import Field, model_validator

from burstwise.core.design.fields import DisagreementError, Section, quantity_field
from burstwise.core.units import shown

CircuitName = Literal[
    "astable-classic",
    "astable-steered-discharge",
    "astable-steered-output",
    "astable-capped-discharge",
    "astable-capped-output",
    "two-timer",
]
CapacitorName = Literal["film", "c0g", "x7r", "electrolytic"]
TimerName = Literal["bipolar", "cmos"]
CIRCUIT_NAMES: Final[tuple[CircuitName, ...]] = get_args(CircuitName)
_Track = Annotated[float, *quantity_field("Ω", 10, 1e8, "Potentiometer")]
_TRACKS: Final = (
    1e3, 2.2e3, 4.7e3, 5e3, 10e3, 22e3, 25e3, 47e3, 50e3, 100e3, 220e3, 250e3, 470e3, 500e3, 1e6,
)  # fmt: skip
"""Track resistances commonly sold [ohm]."""


class RankingWeights(Section):
    """What weighs in the ranking of sets."""

    frequency: Annotated[float, *quantity_field("", 0.0, 10.0, "Frequency")] = 1.0
    duty: Annotated[float, *quantity_field("", 0.0, 10.0, "Duty at the stops")] = 1.0
    middle: Annotated[float, *quantity_field("", 0.0, 10.0, "Duty at half travel")] = 0.2
    spread: Annotated[float, *quantity_field("", 0.0, 10.0, "Spread")] = 0.5
    parts: Annotated[float, *quantity_field("", 0.0, 10.0, "Number of parts")] = 0.3


class SizingWish(Section):
    """Wanted frequency and duty, the stock to choose from, and the weights of the ranking."""

    frequency: Annotated[float, *quantity_field("Hz", 0.05, 1e5, "Wanted frequency", log=True)] = (
        150.0
    )
    frequency_high: Annotated[
        float | None, *quantity_field("Hz", 0.05, 1e5, "Adjustable up to", log=True)
    ] = None
    duty_low: Annotated[float, *quantity_field("", 0.0, 1.0, "Duty, low stop", percent=True)] = 0.02
    duty_high: Annotated[float, *quantity_field("", 0.0, 1.0, "Duty, high stop", percent=True)] = (
        0.98
    )
    supply: Annotated[float, *quantity_field("V", 1, 30, "Timer supply")] = 12.0
    supply_tolerance: Annotated[
        float, *quantity_field("", 0.0, 0.5, "Supply tolerance", percent=True)
    ] = 0.05
    on_time_cap: Annotated[
        float | None, *quantity_field("s", 1e-6, 100, "On-time cap, if not the usual one")
    ] = None
    resistor_series: Annotated[
        Literal["E6", "E12", "E24", "E48", "E96"], Field(title="Series of the resistors")
    ] = "E24"
    resistor_tolerance: Annotated[
        float, *quantity_field("", 0.0, 0.5, "Resistor tolerance", percent=True)
    ] = 0.01
    diode: Annotated[Literal["silicon", "schottky"], Field(title="Diodes")] = "silicon"
    taper: Annotated[
        Literal["linear", "logarithmic", "reverse"], Field(title="Taper of the knob")
    ] = "linear"
    potentiometers: Annotated[
        tuple[_Track, ...], Field(title="Potentiometers in stock", max_length=40)
    ] = _TRACKS
    potentiometer_tolerance: Annotated[
        float, *quantity_field("", 0.0, 0.5, "Track tolerance", percent=True)
    ] = 0.20
    capacitors: Annotated[
        tuple[CapacitorName, ...], Field(title="Kinds of capacitor in stock", max_length=4)
    ] = ("film", "c0g", "x7r")
    circuits: Annotated[
        tuple[CircuitName, ...], Field(title="Circuits to choose from", max_length=6)
    ] = CIRCUIT_NAMES
    timers: Annotated[tuple[TimerName, ...], Field(title="Timers to choose from", max_length=2)] = (
        "bipolar",
        "cmos",
    )
    weights: RankingWeights = RankingWeights()

    @model_validator(mode="after")
    def _in_order(self) -> SizingWish:
        if self.duty_high < self.duty_low:
            raise DisagreementError(
                "duty_high",
                shown(self.duty_high, "%"),
                f"at least the low stop of {shown(self.duty_low, '%')}",
            )
        if self.frequency_high is not None and self.frequency_high < self.frequency:
            raise DisagreementError(
                "frequency_high",
                shown(self.frequency_high, "Hz"),
                f"at least the lowest frequency of {shown(self.frequency, 'Hz')}",
            )
        for name in ("potentiometers", "capacitors", "circuits", "timers"):
            if not getattr(self, name):
                raise DisagreementError(name, "none", "one or more")
        return self
