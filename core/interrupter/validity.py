"""Where a timer circuit cannot work at all, and what to know about one that does."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Final

from burstwise.core.findings import Finding, caution, note, stop
from burstwise.core.interrupter.build import Circuit
from burstwise.core.interrupter.candidates import LOWEST_DUTY, Attempt
from burstwise.core.interrupter.sets import TimerSet
from burstwise.core.interrupter.timer import Timer
from burstwise.core.units import shown

_RECOVERY: Final = 5.0
"""Time constants in which the monostable's capacitor counts as discharged: 0.7 % remain."""
WIDEST_PULSE: Final = 0.99
"""Largest worst-case ratio of pulse to period at which a two-timer circuit keeps its triggers."""


def oscillation_finding(
    circuit: Circuit, build: Mapping[str, float], *, timer: Timer
) -> Finding | None:
    """Stop where an output-driven capacitor never reaches a switching level.

    Needs VOH - Vd > upper level and VOL + Vd < lower level.
    """
    if not circuit.output_driven:
        return None
    supply, drop = build["supply"], build["charge_drop"]
    high = supply - build["output_high_drop"]
    low = build["output_low"] + build["discharge_drop"]
    upper, lower = supply * timer.upper, supply * timer.lower
    if high - drop > upper and low < lower:
        return None
    return stop(
        "no-oscillation",
        "interrupter.circuit",
        f"The {timer.label} at {supply:g} V gives an output of {high:.3g} V; behind the diode "
        f"({drop:.2g} V) the capacitor ends at {high - drop:.3g} V and never reaches the upper "
        f"level of {upper:.3g} V (low side: {low:.2g} V against {lower:.3g} V). It does not "
        "oscillate: take the discharge-pin form, a CMOS timer or a higher supply.",
    )


def _refused_supply(attempt: Attempt) -> Finding | None:
    findings = attempt.timer.supply_findings(attempt.wish.supply)
    return findings[0] if findings else None


def _refused_output(attempt: Attempt) -> Finding | None:
    wish, circuit, timer = attempt.wish, attempt.circuit, attempt.timer
    build, diode = attempt.bare(), attempt.stock.diode
    nominal = oscillation_finding(circuit, build, timer=timer)
    if nominal is not None or not circuit.output_driven:
        return nominal
    worst = {
        **build,
        "supply": wish.supply * (1 - wish.supply_tolerance),
        "output_high_drop": timer.output_high_drop * (1 + timer.level_spread),
        "output_low": timer.output_low * (1 + timer.level_spread),
        "charge_drop": diode.drop + diode.spread,
        "discharge_drop": diode.drop + diode.spread,
    }
    corner = oscillation_finding(circuit, worst, timer=timer)
    if corner is None:
        return None
    return stop(corner.code, corner.field, "In the worst build: " + corner.text)


def _refused_duty(attempt: Attempt) -> Finding | None:
    wish = attempt.wish
    if wish.duty_low >= LOWEST_DUTY and wish.duty_high <= 1 - LOWEST_DUTY:
        return None
    return stop(
        "duty-beyond-end-stop",
        "interrupter.duty",
        f"A knob cannot reach a duty below {LOWEST_DUTY:g} or above {1 - LOWEST_DUTY:g}: end "
        "resistances and switching times remain. Switch the burst off or on for that.",
    )


def _refused_half(attempt: Attempt) -> Finding | None:
    wish = attempt.wish
    if attempt.circuit.name != "astable-classic" or wish.duty_low > 0.5:
        return None
    return stop(
        "duty-below-half",
        "interrupter.duty",
        "The classic astable is on for more than half of its period (it charges through both "
        f"resistors), so {shown(wish.duty_low, '%', digits=3)} is out of reach; take a "
        "diode-steered one.",
    )


def _refused_range(attempt: Attempt) -> Finding | None:
    circuit = attempt.circuit
    if attempt.wish.frequency_high is None or "frequency_potentiometer" in circuit.roles:
        return None
    return stop(
        "frequency-fixed",
        "interrupter.frequency",
        f"The {circuit.label} has one knob, for the duty; a frequency range needs the circuit "
        "with two timers.",
    )


_REFUSALS: Final[tuple[Callable[[Attempt], Finding | None], ...]] = (
    _refused_supply,
    _refused_duty,
    _refused_half,
    _refused_range,
    _refused_output,
)


def refusal(attempt: Attempt) -> Finding | None:
    """Reason why the circuit cannot fulfil the wish whatever its parts, else None."""
    return next(filter(None, (reason(attempt) for reason in _REFUSALS)), None)


def set_findings(one: TimerSet) -> tuple[Finding, ...]:
    """What to know about a set: stops where it would not work in the worst build."""
    build = one.build()
    findings: list[Finding] = []
    shortest = one.duty_low.low / max(one.frequency.high, 1e-12)
    longest_ratio = one.duty_high.high
    least = 2 * one.timer.fall_time
    if "pulse_capacitor" in build:
        least = max(least, 2 * 1.1 * build["trigger_resistor"] * build["trigger_capacitor"])
        findings += _pulse_findings(one, build, longest_ratio)
    if shortest < least:
        findings.append(
            stop(
                "pulse-too-short",
                "interrupter.on_time",
                f"The shortest on-time of {shown(shortest, 's')} is below the "
                f"{shown(least, 's')} that the circuit makes reliably.",
            )
        )
    return (*findings, *_track_findings(one, build), *_kind_findings(one))


def _track_findings(one: TimerSet, build: dict[str, float]) -> list[Finding]:
    """Caution where the track could exceed its rating; the bound takes the full swing across it."""
    track = build["potentiometer"]
    heat = (one.supply * one.timer.upper) ** 2 / track if track else 0.0
    if heat <= one.potentiometer.power:
        return []
    return [
        caution(
            "potentiometer-heat",
            "interrupter.parts",
            f"The track of {shown(track, 'Ω')} can take up to {shown(heat, 'W')} and is rated for "
            f"{shown(one.potentiometer.power, 'W')}.",
        )
    ]


def _pulse_findings(one: TimerSet, build: dict[str, float], ratio: float) -> list[Finding]:
    findings: list[Finding] = []
    if one.circuit == "two-timer" and ratio > WIDEST_PULSE:
        findings.append(
            stop(
                "pulse-overlap",
                "interrupter.duty",
                f"In the worst build the on-time is {ratio:.3g} times the period: it swallows "
                "triggers, and the frequency falls to a half or less. Lower the longest on-time.",
            )
        )
    rest = max(1 - ratio, 0.0) / max(one.frequency.high, 1e-12)
    recovery = _RECOVERY * build["discharge_resistance"] * build["pulse_capacitor"]
    if rest < recovery:
        findings.append(
            stop(
                "pulse-recovery",
                "interrupter.duty",
                f"The shortest off-time of {shown(rest, 's')} does not discharge the pulse "
                f"capacitor, which takes {shown(recovery, 's')}.",
            )
        )
    return findings


def _kind_findings(one: TimerSet) -> list[Finding]:
    kinds = {part.kind for part in one.parts}
    findings: list[Finding] = []
    if "electrolytic" in kinds:
        findings.append(
            caution(
                "electrolytic-timing",
                "interrupter.parts",
                "An electrolytic timing capacitor leaks, dries out and sits at its tolerance's "
                "low end in the cold: expect to trim the frequency.",
            )
        )
    if "ceramic X7R" in kinds:
        findings.append(
            note(
                "x7r-timing",
                "interrupter.parts",
                "X7R loses capacitance under direct voltage and moves up to 15 % with "
                "temperature; film or C0G holds its value.",
            )
        )
    return findings
