"""What the builder wants of the timer and has in stock, from which parts are sized."""

from __future__ import annotations

from typing import Annotated, Any, Final, Literal, get_args

from pydantic import Field, ValidationError, model_validator

from burstwise.core.design.fields import (
    DisagreementError,
    Section,
    input_error,
    quantity_field,
)
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
DiodeName = Literal["silicon", "schottky"]
CIRCUIT_NAMES: Final[tuple[CircuitName, ...]] = get_args(CircuitName)
CAPACITOR_NAMES: Final[tuple[CapacitorName, ...]] = get_args(CapacitorName)
TIMER_NAMES: Final[tuple[TimerName, ...]] = get_args(TimerName)
SupplyTolerance = Annotated[float, *quantity_field("", 0.0, 0.5, "Supply tolerance", percent=True)]
ResistorTolerance = Annotated[
    float, *quantity_field("", 0.0, 0.5, "Resistor tolerance", percent=True)
]
TrackTolerance = Annotated[float, *quantity_field("", 0.0, 0.5, "Track tolerance", percent=True)]
_Track = Annotated[float, *quantity_field("Ω", 10, 1e8, "Potentiometer")]
_CAP: Final = 1e-7, 1e4
"""Limits of an on-time cap [s]."""
_TRACKS: Final = (
    1e3, 2.2e3, 2.5e3, 4.7e3, 5e3, 10e3, 22e3, 25e3, 47e3, 50e3,
    100e3, 220e3, 250e3, 470e3, 500e3, 1e6,
)  # fmt: skip
"""Track resistances [ohm] of both common ranks, 1-2.2-4.7 and 1-2.5-5."""


class RankingWeights(Section):
    """What weighs in the ranking of sets."""

    frequency: Annotated[float, *quantity_field("", 0.0, 10.0, "Frequency")] = 1.0
    duty: Annotated[float, *quantity_field("", 0.0, 10.0, "Duty at the stops")] = 1.0
    middle: Annotated[float, *quantity_field("", 0.0, 10.0, "Duty at half travel")] = 0.2
    spread: Annotated[float, *quantity_field("", 0.0, 10.0, "Spread")] = 0.5
    parts: Annotated[float, *quantity_field("", 0.0, 10.0, "Number of parts")] = 0.3


class TimerWish(Section):
    """Wanted frequency and duty, the stock to choose from, and the weights of the ranking."""

    frequency: Annotated[float, *quantity_field("Hz", 1e-4, 1e7, "Wanted frequency", log=True)] = (
        150.0
    )
    frequency_high: Annotated[
        float | None, *quantity_field("Hz", 1e-4, 1e7, "Adjustable up to", log=True)
    ] = None
    duty_low: Annotated[float, *quantity_field("", 0.0, 1.0, "Duty, low stop", percent=True)] = 0.02
    duty_high: Annotated[float, *quantity_field("", 0.0, 1.0, "Duty, high stop", percent=True)] = (
        0.98
    )
    supply: Annotated[float, *quantity_field("V", 1, 100, "Timer supply")] = 12.0
    supply_tolerance: SupplyTolerance = 0.05
    on_time_cap: Annotated[
        float | None, *quantity_field("s", *_CAP, "On-time cap, if not the usual one")
    ] = None
    resistor_series: Annotated[
        Literal["E6", "E12", "E24", "E48", "E96"], Field(title="Series of the resistors")
    ] = "E24"
    resistor_tolerance: ResistorTolerance = 0.01
    diode: Annotated[DiodeName, Field(title="Diodes")] = "silicon"
    taper: Annotated[
        Literal["linear", "logarithmic", "reverse"], Field(title="Taper of the knob")
    ] = "linear"
    potentiometers: Annotated[
        tuple[_Track, ...], Field(title="Potentiometers in stock", max_length=40)
    ] = _TRACKS
    potentiometer_tolerance: TrackTolerance = 0.20
    capacitors: Annotated[
        tuple[CapacitorName, ...], Field(title="Kinds of capacitor in stock", max_length=4)
    ] = ("film", "c0g", "x7r")
    circuits: Annotated[
        tuple[CircuitName, ...], Field(title="Circuits to choose from", max_length=6)
    ] = CIRCUIT_NAMES
    timers: Annotated[tuple[TimerName, ...], Field(title="Timers to choose from", max_length=2)] = (
        TIMER_NAMES
    )
    weights: RankingWeights = RankingWeights()

    def __init__(self, /, **values: Any) -> None:
        """Wish by its fields: numbers in SI units, or texts with their unit.

        Raises
        ------
        InputError
            A field that is unknown, or out of its limits.

        Examples
        --------
        >>> TimerWish(frequency="15 Hz", duty_high="20 %").top_frequency
        15.0
        """
        try:
            super().__init__(**values)
        except ValidationError as error:
            raise input_error(error) from error

    # Within a design pydantic checks the fields by itself, so that errors name the whole path.
    __init__.__pydantic_base_init__ = True  # type: ignore[attr-defined]

    @property
    def top_frequency(self) -> float:
        """Highest frequency wanted [Hz]."""
        return self.frequency if self.frequency_high is None else self.frequency_high

    @property
    def fixed_duty(self) -> bool:
        """Whether no duty knob is wanted."""
        return self.duty_high - self.duty_low < 1e-9

    @property
    def usual_cap(self) -> float:
        """Cap of the on-time where none is given: 1.5 times the longest on-time wanted [s].

        Examples
        --------
        >>> TimerWish(frequency=15.0, duty_high=0.5).usual_cap
        0.05
        """
        low, high = _CAP
        return min(max(1.5 * self.duty_high / self.frequency, low), high)

    @model_validator(mode="after")
    def _in_order(self) -> TimerWish:
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
