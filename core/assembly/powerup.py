"""First power-up: stages with the readings to expect, when to go on, when to stop, and why."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from enum import StrEnum
from types import MappingProxyType
from typing import Any, Final

from burstwise.core.assembly.hookup import Hookup
from burstwise.core.bench.faults import Fault
from burstwise.core.bench.readings import Column, Reading
from burstwise.core.errors import InputError
from burstwise.core.units import quantity, shown


class Outcome(StrEnum):
    """What a reading says about its stage."""

    PASS = "pass"
    LOW = "too low"
    HIGH = "too high"


@dataclass(frozen=True, slots=True)
class Expectation:
    """One reading of a stage.

    Attributes
    ----------
    name : str
        Stable name within the stage.
    title : str
        What to measure and where.
    expected, low, high : float
        From the model, with the band in which it passes [unit].
    unit : str
        SI unit, ``"%"`` for a ratio that is shown in percent.
    if_low, if_high : str
        What a reading outside the band means.
    hookup : Hookup
        Where the leads go.
    column : Column or None
        Column of the bench table that it goes to.
    answers : tuple of str
        Words for 0 and 1 where the reading is one of two; empty for a quantity.
    """

    name: str
    title: str
    expected: float
    low: float
    high: float
    unit: str
    if_low: str
    if_high: str
    hookup: Hookup
    column: Column | None = None
    answers: tuple[str, ...] = ()

    def text(self, value: float, *, digits: int = 4) -> str:
        """A value of this reading in words."""
        if self.answers:
            return self.answers[int(value > 0.5)]
        if self.unit == "Hz" and value == 0.0:
            return "none"
        if self.unit == "Ω" and math.isinf(value):
            return "open"
        return shown(value, self.unit, digits=digits)

    @property
    def band_text(self) -> str:
        """Band in words."""
        if self.answers:
            return self.text(self.expected)
        if self.low <= 0.0 <= self.expected:
            return f"up to {shown(self.high, self.unit, digits=3)}"
        return f"{shown(self.low, self.unit, digits=3)} to {shown(self.high, self.unit, digits=3)}"

    def value_of(self, reading: str | float) -> float:
        """Number of a reading as it was written.

        Raises
        ------
        InputError
            Not a quantity in the unit, or neither of the answers.
        """
        written = reading.strip().lower() if isinstance(reading, str) else reading
        if written in self.answers:
            return float(self.answers.index(str(written)))
        if self.unit == "Hz" and written in ("none", "no", "0"):
            return 0.0
        if self.unit == "Ω" and written in ("open", "ol", math.inf):
            return math.inf
        if self.answers and written in (0.0, 1.0):
            return float(written)
        if self.answers:
            raise InputError(self.name, reading, " or ".join(self.answers))
        return quantity(reading, "" if self.unit == "%" else self.unit, field=self.name)


@dataclass(frozen=True, slots=True)
class Judgement:
    """Outcome of a reading, with the sentence to show."""

    outcome: Outcome
    value: float
    text: str

    @property
    def passed(self) -> bool:
        """Whether the stage may go on as far as this reading goes."""
        return self.outcome is Outcome.PASS


@dataclass(frozen=True, slots=True)
class FaultReadings:
    """What a build with one common fault would show at a stage.

    Attributes
    ----------
    fault : Fault
        Which one.
    size : float
        Its size, as in `Fault.sizes`.
    values : mapping
        Readings by name; what cannot be said is left out.
    heat : str
        Where its power goes, in words.
    """

    fault: Fault
    size: float
    values: Mapping[str, float]
    heat: str = ""


@dataclass(frozen=True, slots=True)
class Stage:
    """One stage of the plan.

    Attributes
    ----------
    name, title : str
        Stable name, and words.
    actions : tuple of str
        What to do, in order.
    expectations : tuple of Expectation
        Readings to take.
    go_on, stop : str
        Rules for going on and for stopping.
    settings : mapping
        Design fields of this stage, e.g. ``{"supply.voltage": 12.0}``.
    faults : tuple of FaultReadings
        What common faults would show here; those that change nothing here are left out.
    """

    name: str
    title: str
    actions: tuple[str, ...]
    expectations: tuple[Expectation, ...]
    go_on: str
    stop: str
    settings: Mapping[str, float] = field(default_factory=lambda: MappingProxyType({}))
    faults: tuple[FaultReadings, ...] = ()


@dataclass(frozen=True, slots=True)
class PowerupPlan:
    """All stages in order."""

    stages: tuple[Stage, ...]


BAND: Final[Mapping[str, float]] = MappingProxyType(
    {"V": 0.25, "A": 0.35, "Hz": 0.10, "Ω": 0.10, "": 0.15, "s": 0.35}
)
"""Half width of a band over the expected value, by unit: how far a first build is usually from the
model; common practice, no source."""


def expectation(
    name: str,
    title: str,
    expected: float,
    unit: str,
    *,
    hookup: Hookup,
    if_low: str,
    if_high: str,
    band: float | None = None,
    column: Column | None = None,
    least: float = 0.0,
) -> Expectation:
    """Expectation with a band around the model's value.

    Parameters
    ----------
    band : float, optional
        Half width over the expected value; by the unit if not given.
    least : float
        Least half width [unit].
    """
    half = max((BAND[unit] if band is None else band) * abs(expected), least)
    return Expectation(
        name, title, expected, expected - half, expected + half, unit, if_low, if_high, hookup,
        column,
    )  # fmt: skip


def judge(wanted: Expectation, reading: str | float) -> Judgement:
    """Judge a reading as it was written.

    Raises
    ------
    InputError
        Not a quantity in the expectation's unit.

    Examples
    --------
    >>> rail = expectation("rail", "Rail", 12.0, "V", band=0.05, if_low="It is loaded.",
    ...                    if_high="It does not regulate.",
    ...                    hookup=Hookup("LOW +", "0 V", "d.c. voltmeter"))
    >>> judge(rail, "11.9 V").text
    '11.9 V is within 11.4 V to 12.6 V: pass.'
    >>> judge(rail, 9.0).text
    '9 V is below 11.4 V: stop. It is loaded.'
    """
    value = wanted.value_of(reading)
    said = wanted.text(value)
    outcome = Outcome.PASS
    if not wanted.low <= value <= wanted.high:
        outcome = Outcome.LOW if value < wanted.low else Outcome.HIGH
    return Judgement(outcome, value, _words(wanted, said, outcome))


def _words(wanted: Expectation, said: str, outcome: Outcome) -> str:
    means = {Outcome.LOW: wanted.if_low, Outcome.HIGH: wanted.if_high}.get(outcome, "")
    if wanted.answers:
        if outcome is Outcome.PASS:
            return f"{said}, as expected: pass."
        return f"{said} instead of {wanted.text(wanted.expected)}: stop. {means}"
    if outcome is Outcome.PASS:
        return f"{said} is within {_within(wanted)}: pass."
    end = shown(wanted.low if outcome is Outcome.LOW else wanted.high, wanted.unit, digits=3)
    side = "below" if outcome is Outcome.LOW else "above"
    return f"{said} is {side} {end}: stop. {means}"


def _within(wanted: Expectation) -> str:
    low, high = (shown(end, wanted.unit, digits=3) for end in (wanted.low, wanted.high))
    return f"{low} to {high}"


def bench_reading(stage: Stage, values: Mapping[str, float]) -> Reading | None:
    """Row of the bench table from a stage's readings by name; None where none belongs there.

    Raises
    ------
    InputError
        A name that the stage does not have.
    """
    known = {item.name: item for item in stage.expectations}
    row: dict[str, Any] = {}
    for name, value in values.items():
        if name not in known:
            raise InputError(name, value, f"a reading of the stage '{stage.name}'")
        column = known[name].column
        if column is not None:
            row[column.value] = value
    if not row:
        return None
    start = Reading(
        supply=stage.settings.get("supply.voltage"),
        duty=stage.settings.get("interrupter.duty"),
        note=f"first power-up: {stage.title}",
    )
    return replace(start, **row)
