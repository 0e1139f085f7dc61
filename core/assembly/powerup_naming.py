"""Which common fault the readings of a stage fit best."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

from burstwise.core.assembly.powerup import Expectation, FaultReadings, PowerupPlan, Stage
from burstwise.core.assembly.powerup_faults import METERS
from burstwise.core.bench.diagnose import log_likelihood
from burstwise.core.bench.faults import Fault

Read = Mapping[tuple[str, str], float]
"""Readings by the names of stage and reading."""

WORTH: Final[Mapping[str, float]] = MappingProxyType(
    {
        "supply_current": 0.10,
        "carrier_frequency": 0.02,
        "drain_peak": 0.10,
        "drain_start": 0.10,
        "shunt_peak": 0.10,
        "ring_down": 0.15,
        "heat_sink_rise": 0.30,
        "onset": 0.10,
        "resonance": 0.03,
        "bandwidth": 0.20,
        "feedback_path": 0.10,
    }
)
"""Standard deviation of a reading of a first build from the model with the same fault; common
practice, no source."""
_DIFFERENT: Final = 6.0
"""What the other of two answers counts, and an open circuit, in standard deviations."""
_POOR: Final = 5.0
"""Deviation of a failed reading beyond which a fault does not explain it."""
_NEARLY: Final = 1.0
"""Difference of logarithms of likelihood within which a second fault is named as well."""


@dataclass(frozen=True, slots=True)
class Named:
    """The fault that fits best, and one that fits nearly as well.

    Attributes
    ----------
    best : FaultReadings
        At the stage in question.
    second : FaultReadings or None
        Another one that the readings do not tell from it.
    text : str
        What to do, in sentences.
    """

    best: FaultReadings
    second: FaultReadings | None
    text: str


def named_fault(plan: PowerupPlan, stage: Stage, read: Read) -> Named | None:
    """Fault that the readings of a stage fit best; None where none explains a failed one.

    Parameters
    ----------
    plan : PowerupPlan
        The plan; what was read at its stages without power counts as well.
    stage : Stage
        Stage at which a reading lies outside its band.
    read : mapping
        What was read, by the names of stage and reading.

    Notes
    -----
    Deviations count with Student's t of three degrees of freedom, as in the diagnosis of bench
    readings. Of faults that read alike the one listed first is named, the winding sense before all.
    """
    failed = [
        item for item in stage.expectations if _failed(item, read.get((stage.name, item.name)))
    ]
    if not failed:
        return None
    scores: dict[Fault, tuple[float, FaultReadings]] = {}
    for item in stage.faults:
        score = _score(plan, stage, item, read)
        if item.fault not in scores or score > scores[item.fault][0]:
            scores[item.fault] = (score, item)
    explaining = [
        found for found in scores.values() if _explains(found[1], stage, failed, read)
    ]  # fmt: skip
    if not explaining:
        return None
    # Rounded, so that figures alike but for the solver's rounding stay in the order of the list.
    ranked = sorted(explaining, key=lambda found: -round(found[0], 1))
    best = ranked[0]
    close = [item for score, item in ranked[1:] if best[0] - score < _NEARLY]
    second = close[0] if close else None
    return Named(best[1], second, _words(stage, best[1], second))


def _failed(wanted: Expectation, value: float | None) -> bool:
    return value is not None and not wanted.low <= value <= wanted.high


def _score(plan: PowerupPlan, stage: Stage, item: FaultReadings, read: Read) -> float:
    """Logarithm of the likelihood at the stage and at those without power before it."""
    total = 0.0
    for other in plan.stages:
        if other is not stage and (other.settings or not other.faults):
            continue
        same = [one for one in other.faults if (one.fault, one.size) == (item.fault, item.size)]
        values = same[0].values if same else {}
        for wanted in other.expectations:
            value = read.get((other.name, wanted.name))
            if value is not None and wanted.name in METERS:
                told = values.get(wanted.name, None if other is stage else wanted.expected)
                total += 0.0 if told is None else log_likelihood(off(wanted, value, told))
    return total


def _explains(
    item: FaultReadings, stage: Stage, failed: list[Expectation], read: Read
) -> bool:  # fmt: skip
    offs = [
        abs(off(wanted, read[stage.name, wanted.name], item.values[wanted.name]))
        for wanted in failed
        if wanted.name in item.values
    ]
    return bool(offs) and min(offs) < _POOR and sum(offs) / len(offs) < _POOR


def off(wanted: Expectation, value: float, told: float) -> float:
    """Deviation of a reading from what a fault would show, in standard deviations.

    Parameters
    ----------
    wanted : Expectation
        The reading.
    value, told : float
        As read, and as the fault would show it.
    """
    if wanted.answers or math.isinf(value) or math.isinf(told):
        return 0.0 if value == told else _DIFFERENT
    middle = 0.5 * (abs(value) + abs(told))
    return (value - told) / math.hypot(WORTH[wanted.name] * middle, METERS[wanted.name][1])


def _words(stage: Stage, best: FaultReadings, second: FaultReadings | None) -> str:
    text = f"Fits best: {best.fault.value} ({_would_read(stage, best)}). {best.fault.remedy}"
    if best.heat:
        text += f" Power then: {best.heat}."
    if second is not None:
        text += f" {second.fault.value.capitalize()} reads nearly alike: {second.fault.remedy}"
    return text


def _would_read(stage: Stage, item: FaultReadings) -> str:
    told = [
        wanted.text(item.values[wanted.name], digits=3)
        for wanted in stage.expectations
        if wanted.name in item.values and math.isfinite(item.values[wanted.name])
    ]
    return "would read " + ", ".join(told[:3]) if told else "reads open"
