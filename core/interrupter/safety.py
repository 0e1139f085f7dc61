"""Safety limits of the chain: shortest and longest on-time, a stuck timer, brown-out."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import Final

import numpy as np

from burstwise.core.findings import Finding, caution, heaviest_first, note, stop
from burstwise.core.interrupter.build import pulse_time
from burstwise.core.interrupter.circuits import circuit_named
from burstwise.core.interrupter.sets import TimerSet
from burstwise.core.units import shown


@dataclass(frozen=True, slots=True)
class Failure:
    """One failure of the timer circuit and what the stage does then."""

    cause: str
    output: str
    consequence: str


_STUCK_ON: Final = "The stage runs without a pause: mean power and junction as at duty 1."
_ENDS: Final = "The on-time ends at the cap; then the stage stays off."
_OFF: Final = "No bursts."

_ASTABLE_FAILURES: Final = (
    Failure("timing capacitor shorted, or trigger held low", "stays high", _STUCK_ON),
    Failure("wiper lifts in the on-time", "stays high", _STUCK_ON),
    Failure("wiper lifts in the off-time", "stays low", _OFF),
    Failure("timing capacitor open", "runs far too fast", "On-times below the ring-up."),
)
_CAPPED_FAILURES: Final = (
    Failure("astable's capacitor shorted, or its output stuck high", "one pulse", _ENDS),
    Failure("astable's output stuck low", "stays low", _OFF),
    Failure("pulse capacitor shorted", "follows the astable", "The cap is lost, the knob works."),
    Failure("pulse resistor open", "follows the astable", "The cap is lost, the knob works."),
)
_TWO_TIMER_FAILURES: Final = (
    Failure("astable stuck either way", "stays low", _OFF),
    Failure("pulse capacitor shorted, or wiper lifts in a pulse", "stays high", _STUCK_ON),
)
FAILURES: Final[Mapping[str, tuple[Failure, ...]]] = MappingProxyType(
    {
        "astable-classic": _ASTABLE_FAILURES,
        "astable-steered-discharge": _ASTABLE_FAILURES,
        "astable-steered-output": _ASTABLE_FAILURES,
        "astable-capped-discharge": _CAPPED_FAILURES,
        "astable-capped-output": _CAPPED_FAILURES,
        "two-timer": _TWO_TIMER_FAILURES,
    }
)
"""What single failures do, by circuit: reasoned from the circuits, no source."""


@dataclass(frozen=True, slots=True)
class ChainLimits:
    """Limits that the rest of the design sets.

    Parameters
    ----------
    ring_up : float
        Time of the carrier to 90 % of its envelope [s].
    longest_on_time : float
        Longest on-time that the device takes [s]; infinite where it may run without a pause.
    driver_lockout : float
        Supply below which the driver is held off [V].
    gate_full_on : float
        Gate voltage below which the MOSFET conducts only partly [V].
    """

    ring_up: float
    longest_on_time: float
    driver_lockout: float = 8.0
    gate_full_on: float = 7.0


@dataclass(frozen=True, slots=True)
class ChainSafety:
    """On-times against their limits, and what happens when something fails.

    Parameters
    ----------
    shortest_on_time, longest_on_time : float
        Over both end stops and tolerance [s].
    ring_up_ratio : float
        Shortest on-time over ring-up.
    cap : float
        Longest on-time whatever the astable does [s]; infinite without a monostable.
    first_on_time : float
        First on-time after power-up at the high end stop, from an empty capacitor [s].
    failures : tuple of Failure
        Single failures.
    findings : tuple of Finding
        Stops and cautions.
    """

    shortest_on_time: float
    longest_on_time: float
    ring_up_ratio: float
    cap: float
    first_on_time: float
    failures: tuple[Failure, ...]
    findings: tuple[Finding, ...]


def first_on_time(chosen: TimerSet) -> float:
    """First on-time after power-up [s], the knob at its high stop.

    The capacitor starts at 0 V, not at the lower level.
    """
    circuit, build = circuit_named(chosen.circuit), chosen.build()
    resistance = circuit.pulse_resistance(build, 1.0)
    cap = np.inf if resistance is None else float(pulse_time(build, resistance))
    if not circuit.on_while_charging:
        return cap
    charge, _ = circuit.timing_paths(build, 1.0)
    free = charge.time(build["timing_capacitor"], 0.0, build["supply"] * build["upper"])
    return min(float(free), cap)


def chain_safety(
    chosen: TimerSet, limits: ChainLimits, *, on_when_high: bool = True
) -> ChainSafety:
    """On-times of a set against ring-up, device and supply limits.

    `on_when_high` tells whether the stage is on while the timer's output is high.
    """
    circuit, build = circuit_named(chosen.circuit), chosen.build()
    shortest = chosen.duty_low.low / chosen.frequency.high
    longest = chosen.duty_high.high / chosen.frequency.low
    resistance = circuit.pulse_resistance(build, 1.0)
    cap = np.inf if resistance is None else float(pulse_time(build, resistance))
    first = first_on_time(chosen)
    usual = chosen.duty_high.nominal / chosen.frequency.nominal
    findings = [
        *_on_time_findings(shortest, longest, limits, first=first, usual=usual),
        *_brown_out(chosen, limits),
    ]
    if not np.isfinite(cap):
        findings.append(_no_cap(limits))
    return ChainSafety(
        shortest,
        longest,
        shortest / limits.ring_up,
        cap,
        first,
        failures_of(chosen.circuit, on_when_high=on_when_high),
        heaviest_first(findings),
    )


def failures_of(circuit: str, *, on_when_high: bool) -> tuple[Failure, ...]:
    """Single failures of a circuit, with what the chain behind it makes of a stuck output.

    Parameters
    ----------
    circuit : str
        Name of the timer circuit.
    on_when_high : bool
        Whether the stage is on while the timer's output is high.
    """
    found = FAILURES[circuit]
    if on_when_high:
        return found
    other = {_STUCK_ON: _OFF, _OFF: _STUCK_ON}
    return tuple(
        replace(one, consequence=other.get(one.consequence, one.consequence)) for one in found
    )


def _no_cap(limits: ChainLimits) -> Finding:
    """A note where the stage may run without a pause, else a caution."""
    stuck = "A stuck timer keeps the stage on without a pause"
    if np.isinf(limits.longest_on_time):
        text = f"{stuck}; by the computation it survives that."
        return note("no-on-time-cap", "interrupter.parts.circuit", text)
    return caution(
        "no-on-time-cap",
        "interrupter.parts.circuit",
        f"{stuck}, and the junction reaches its limit after "
        f"{shown(limits.longest_on_time, 's', digits=3)}; a circuit with a monostable ends it.",
    )


def _on_time_findings(
    shortest: float, longest: float, limits: ChainLimits, *, first: float, usual: float
) -> list[Finding]:
    findings: list[Finding] = []
    if shortest < limits.ring_up:
        findings.append(
            caution(
                "on-time-below-ring-up",
                "interrupter.duty",
                f"The shortest on-time of {shown(shortest, 's')} is "
                f"{shortest / limits.ring_up:.2g} of the ring-up of {shown(limits.ring_up, 's')}: "
                "full voltage is not reached at the low end of the knob.",
            )
        )
    worst = longest * max(first / usual, 1.0)
    if worst > limits.longest_on_time:
        findings.append(
            caution(
                "on-time-above-limit",
                "interrupter.parts.discharge_resistor",
                f"At the high end of the knob an on-time lasts up to {shown(worst, 's')}; the "
                f"device takes {shown(limits.longest_on_time, 's')}.",
            )
        )
    if first > 1.2 * usual:
        findings.append(
            note(
                "first-on-time",
                "interrupter.duty",
                f"The first burst after power-up lasts {shown(first, 's')}, because the "
                "capacitor starts empty.",
            )
        )
    return findings


def _brown_out(chosen: TimerSet, limits: ChainLimits) -> list[Finding]:
    """Order in which things let go when the supply falls: the driver must be first."""
    if limits.driver_lockout < limits.gate_full_on:
        return [
            stop(
                "brown-out-linear",
                "driver.lockout",
                f"Between {limits.gate_full_on:g} V and {limits.driver_lockout:g} V the driver "
                "still runs but the MOSFET conducts only partly and overheats: take a driver "
                "with a higher lock-out.",
            )
        ]
    if limits.driver_lockout < chosen.timer.supply_low:
        return [
            caution(
                "brown-out-timer",
                "driver.lockout",
                f"The timer stops at {chosen.timer.supply_low:g} V, before the driver locks out "
                f"at {limits.driver_lockout:g} V: its output is undefined in between.",
            )
        ]
    return []
