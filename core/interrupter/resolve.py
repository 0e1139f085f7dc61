"""Frequency and duty of a design's interrupter: typed numbers, or the chosen parts and the knob.

The only place that reads the typed numbers; everything else asks `resolved_interrupter`, or
`value_in_use` for a field by its path, and edits through `edits_in_use`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any, Final

import numpy as np
from scipy.optimize import brentq

from burstwise.core.design.document import Design, field_info, value_at
from burstwise.core.design.interrupter import Interrupter, TimerParts
from burstwise.core.errors import InputError
from burstwise.core.findings import Finding, caution, heaviest_first, note
from burstwise.core.interrupter.circuits import circuit_named
from burstwise.core.interrupter.dissipation import resistor_findings
from burstwise.core.interrupter.sets import Band, Part, TimerSet, part_from, potentiometer_of
from burstwise.core.interrupter.stock import CAPACITORS, ResistorStock
from burstwise.core.interrupter.tolerance import TravelBands, bands_of, spreads_of, travel_bands
from burstwise.core.interrupter.validity import oscillation_finding, set_findings
from burstwise.core.units import quantity, shown

DUTY: Final = "interrupter.duty"
FREQUENCY: Final = "interrupter.frequency"
_KNOB_POINTS: Final = 201
_SLOWEST, _FASTEST = (field_info(FREQUENCY)[end] for end in ("low", "high"))
"""Frequencies within which the burst scale is meant to be used [Hz]."""


@dataclass(frozen=True, slots=True)
class ResolvedInterrupter:
    """What the stage gets from the interrupter.

    Attributes
    ----------
    frequency, duty : float
        Interrupter frequency [Hz] and duty at the knob's place [1]; duty 1 without interrupter.
    frequency_band, duty_band : Band
        With the worst case over tolerance; no width for typed numbers.
    chosen : TimerSet or None
        Timer parts in use; None for typed numbers or without interrupter.
    findings : tuple of Finding
        What to know about the parts.
    """

    frequency: float
    duty: float
    frequency_band: Band
    duty_band: Band
    chosen: TimerSet | None
    findings: tuple[Finding, ...]


def resolved_interrupter(design: Design) -> ResolvedInterrupter:
    """Frequency and duty that the stage sees, from numbers or from parts and knob.

    A set that does not oscillate leaves its output where it sticks: duty 1 where the capacitor
    never reaches the upper level, 0 where it never comes back; with a stop finding.

    Parameters
    ----------
    design : Design
        The design.
    """
    return _resolved(design.interrupter)


@lru_cache(maxsize=64)
def _resolved(part: Interrupter) -> ResolvedInterrupter:
    if not part.enabled or part.given_by == "numbers":
        duty = part.duty if part.enabled else 1.0
        return ResolvedInterrupter(
            part.frequency, duty, _exactly(part.frequency), _exactly(duty), None, ()
        )
    chosen = timer_set(part.parts)
    travel = part.parts.travel
    cycle = circuit_named(chosen.circuit).cycle(chosen.build(), travel)
    period = float(cycle.period)
    if not np.isfinite(period):
        duty = 0.0 if np.isfinite(float(cycle.on)) else 1.0
        return ResolvedInterrupter(
            part.frequency, duty, _exactly(part.frequency), _exactly(duty), chosen, chosen.findings
        )
    frequency, duty = 1 / period, float(cycle.duty)
    curve = knob_curve(chosen)
    frequency_band = _at(curve, travel, frequency, curve.frequency_low, curve.frequency_high)
    duty_band = _at(curve, travel, duty, curve.duty_low, curve.duty_high)
    findings = [*chosen.findings, _IN_USE]
    if not _SLOWEST <= frequency <= _FASTEST:
        findings.append(
            caution(
                "interrupter-frequency",
                "interrupter.parts.timing_capacitor",
                f"The parts give {shown(frequency, 'Hz')}; the burst computation is meant for "
                f"{shown(_SLOWEST, 'Hz')} to {shown(_FASTEST, 'Hz')}.",
            )
        )
    return ResolvedInterrupter(
        frequency, duty, frequency_band, duty_band, chosen, heaviest_first(findings)
    )


def timer_set(parts: TimerParts) -> TimerSet:
    """Set of timer parts of a design, with bands and findings; the knob's place plays no part.

    Examples
    --------
    >>> one = timer_set(TimerParts())
    >>> one.circuit, round(one.frequency.nominal, 2)
    ('astable-steered-discharge', 15.1)
    """
    return _timer_set(parts.model_copy(update={"travel": 0.5}))


@lru_cache(maxsize=64)
def _timer_set(parts: TimerParts) -> TimerSet:
    circuit = circuit_named(parts.circuit)
    made = TimerSet(
        parts,
        tuple(_part(parts, role) for role in circuit.roles if getattr(parts, role) > 0),
        frequency=(unknown := Band(0.0, 0.0, 0.0)),
        duty_low=unknown,
        duty_high=unknown,
        duty_middle=0.0,
        part_count=0,
    )
    timer = made.timer
    frequency, low, high = bands_of(made, spreads_of(made), free=True)
    made = replace(
        made,
        frequency=frequency,
        duty_low=low,
        duty_high=high,
        duty_middle=float(circuit.cycle(made.build(), 0.5).duty),
        part_count=2 * circuit.timers + circuit.diodes + len(made.parts),
    )
    silent = oscillation_finding(circuit, made.build(), timer=timer)
    findings = timer.supply_findings(parts.supply)
    findings += (*set_findings(made), *resistor_findings(made)) if silent is None else (silent,)
    return replace(made, findings=heaviest_first(findings))


def _part(parts: TimerParts, role: str) -> Part:
    value = float(getattr(parts, role))
    if role.endswith("potentiometer"):
        return part_from(role, value, potentiometer_of(parts))
    if role.endswith("resistor"):
        return part_from(role, value, ResistorStock(tolerance=parts.resistor_tolerance))
    if role not in ("timing_capacitor", "pulse_capacitor"):
        return part_from(role, value, CAPACITORS["c0g"][0])
    kind = CAPACITORS[getattr(parts, f"{role}_kind")][0]
    own = replace(kind, tolerance=getattr(parts, f"{role}_tolerance"))
    return part_from(role, value, own)


@lru_cache(maxsize=16)
def knob_curve(chosen: TimerSet) -> TravelBands:
    """Duty and frequency along the knob, once per set: a drag then only interpolates."""
    return travel_bands(chosen, np.linspace(0.0, 1.0, _KNOB_POINTS))


def travel_for_duty(chosen: TimerSet, duty: float) -> float:
    """Travel of the knob that gives a duty; the end stop where the duty is beyond it.

    Examples
    --------
    >>> one = timer_set(TimerParts())
    >>> round(travel_for_duty(one, one.duty_middle), 9), travel_for_duty(one, 0.0)
    (0.5, 0.0)
    """
    circuit, build = circuit_named(chosen.circuit), chosen.build()

    def above(travel: float) -> float:
        return float(circuit.cycle(build, travel).duty) - duty

    low, high = above(0.0), above(1.0)
    if low >= 0 or high <= 0:
        return 0.0 if low >= 0 else 1.0
    return float(brentq(above, 0.0, 1.0, xtol=1e-12))


def duty_edits(design: Design, duty: float) -> dict[str, object]:
    """Edits that bring the interrupter to a duty: the typed number, or the knob of its parts.

    Where the parts do not reach the duty the knob goes to its end stop.

    Parameters
    ----------
    design : Design
        Design with an interrupter, or one that gets one.
    duty : float
        Wanted duty [1].
    """
    part = design.interrupter
    if part.given_by == "numbers":
        return {"interrupter.enabled": True, "interrupter.duty": duty}
    travel = travel_for_duty(timer_set(part.parts), duty)
    return {"interrupter.enabled": True, "interrupter.parts.travel": travel}


def duty_reach(design: Design) -> tuple[float, float]:
    """Lowest and highest duty that the interrupter can be set to: by the knob's stops, or 0 to 1.

    Parameters
    ----------
    design : Design
        The design.
    """
    part = design.interrupter
    if part.given_by == "numbers":
        return 0.0, 1.0
    chosen = timer_set(part.parts)
    circuit, build = circuit_named(chosen.circuit), chosen.build()
    ends = [float(circuit.cycle(build, travel).duty) for travel in (0.0, 1.0)]
    return min(ends), max(ends)


def value_in_use(design: Design, path: str) -> Any:
    """Value of a field by its path; duty and frequency are those that the stage runs at.

    Parameters
    ----------
    design : Design
        The design.
    path : str
        Dotted path.

    Raises
    ------
    InputError
        There is no such field.
    """
    if path == DUTY:
        return resolved_interrupter(design).duty
    if path == FREQUENCY:
        return resolved_interrupter(design).frequency
    return value_at(design, path)


def edits_in_use(design: Design, wanted: Mapping[str, object]) -> dict[str, object]:
    """Edits that bring fields to wanted values; a duty turns the knob where timer parts rule.

    Parameters
    ----------
    design : Design
        The design.
    wanted : mapping
        Dotted path to value.

    Raises
    ------
    InputError
        A duty beyond the knob's stops, or a frequency that only other parts would give.
    """
    edits = dict(wanted)
    if design.interrupter.given_by == "numbers":
        return edits
    if FREQUENCY in edits:
        raise InputError(FREQUENCY, edits[FREQUENCY], _OTHER_PARTS)
    if DUTY in edits:
        given = edits.pop(DUTY)
        if not isinstance(given, (str, int, float)):
            raise InputError(DUTY, given, "a duty")
        duty = quantity(given, "", field=DUTY)
        low, high = duty_reach(design)
        if not low - _REACHED <= duty <= high + _REACHED:
            ends = " to ".join(shown(end, "%", digits=3) for end in (low, high))
            raise InputError(DUTY, duty, f"{ends}, as far as the timer's knob goes")
        edits |= duty_edits(design, duty)
    return edits


def _exactly(value: float) -> Band:
    return Band(value, value, value)


def _at(curve: TravelBands, travel: float, nominal: float, low: Any, high: Any) -> Band:
    below, above = (float(np.interp(travel, curve.travel, side)) for side in (low, high))
    return Band(nominal, min(below, nominal), max(above, nominal))


_REACHED: Final = 1e-6
"""Duty by which a wish may lie beyond the knob's stop and still be the stop."""
_OTHER_PARTS: Final = (
    "left to the timer parts: change the timing capacitor, its resistors or the "
    "frequency knob, or give the interrupter by numbers"
)
_IN_USE: Final = note(
    "duty-from-parts",
    "interrupter.parts.travel",
    "Frequency and duty follow from the timer's parts and the knob; the typed numbers are not in "
    "use.",
)
