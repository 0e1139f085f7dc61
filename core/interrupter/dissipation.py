"""Heat in the resistors around the timer: moving the capacitors, and pulling up the switches."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from burstwise.core.arrays import Array
from burstwise.core.findings import Finding, caution
from burstwise.core.interrupter.build import Circuit, Cycle, discharge_switch, tracks
from burstwise.core.interrupter.circuits import circuit_named
from burstwise.core.interrupter.halfcycle import Path
from burstwise.core.interrupter.sets import TimerSet
from burstwise.core.units import shown

RESISTOR_RATING: Final = 0.25
"""Rating of an ordinary leaded resistor [W]; common practice, no source."""
_DERATED: Final = 0.5
"""Share of the rating above which a resistor is called hot; common practice, no source."""
_TRAVEL: Final = np.linspace(0.0, 1.0, 21)


@dataclass(frozen=True, slots=True)
class PartHeat:
    """Mean heat in one resistor or track at one travel of the knob [W], and its rating [W]."""

    role: str
    power: float
    rating: float


def charge_heat(capacitance: float, start: ArrayLike, end: ArrayLike) -> Array:
    """Heat in a resistance that moves a capacitor, per half-cycle [J].

    With u the voltage across the resistance, E = C (u_start**2 - u_end**2)/2, whatever the
    resistance.

    Examples
    --------
    >>> round(float(charge_heat(1e-6, 8.0, 4.0)), 9)
    2.4e-05
    """
    return np.asarray(capacitance * (np.square(start) - np.square(end)) / 2)


def pull_up_heat(
    steady: ArrayLike,
    drawn: ArrayLike,
    *,
    resistance: ArrayLike,
    tau: ArrayLike,
    time: ArrayLike,
) -> Array:
    """Heat in a pull-up whose voltage is a - b exp(-t/tau), over a time [J].

    E = [a**2 t - 2 a b tau (1 - q) + b**2 tau (1 - q**2)/2]/R, q = exp(-t/tau).

    Parameters
    ----------
    steady, drawn : array_like
        Voltage a without, and its reduction b at the start by, the decaying current [V].
    resistance : array_like
        Pull-up R [ohm].
    tau, time : array_like
        [s].

    Examples
    --------
    >>> float(pull_up_heat(12.0, 0.0, resistance=1200.0, tau=1.0, time=0.5))
    0.06
    """
    q = np.exp(-np.divide(time, tau))
    square = np.square(steady) * time - 2 * np.multiply(steady, drawn) * tau * (1 - q)
    return np.asarray((square + np.square(drawn) * tau * (1 - q**2) / 2) / resistance)


def part_heats(chosen: TimerSet, *, travel: float = 0.5) -> tuple[PartHeat, ...]:
    """Mean heat in each resistor and track of the nominal build at a travel.

    Validity: constant diode drops; the trigger's network and leakage are left out (microwatts).

    Returns
    -------
    tuple of PartHeat
        In the order of the circuit's roles; empty for a set that does not oscillate.
    """
    return _heats(chosen, np.array([travel]))


def hottest_heats(chosen: TimerSet) -> tuple[PartHeat, ...]:
    """Largest mean heat of each part over the whole travel."""
    return _heats(chosen, _TRAVEL)


def resistor_findings(chosen: TimerSet) -> tuple[Finding, ...]:
    """Caution for each resistor that takes more than half of an ordinary one's rating."""
    return tuple(
        caution(
            "resistor-heat",
            f"interrupter.parts.{heat.role}",
            f"The {heat.role.replace('_', ' ')} takes up to {shown(heat.power, 'W', digits=3)}; "
            f"an ordinary one of {shown(heat.rating, 'W')} gets hot: take a larger one, or a set "
            "with higher resistances.",
        )
        for heat in hottest_heats(chosen)
        if not heat.role.endswith("potentiometer") and heat.power > _DERATED * heat.rating
    )


def _heats(chosen: TimerSet, travel: Array) -> tuple[PartHeat, ...]:
    """Largest heat of each fitted part over some travels."""
    circuit, build = circuit_named(chosen.circuit), chosen.build()
    cycle = circuit.cycle(build, travel)
    if not np.isfinite(cycle.period).all():
        return ()
    free = circuit.free_cycle(build, travel).period
    powers = {
        role: np.asarray(energy / free)
        for role, energy in _timing_energies(circuit, build, travel).items()
    }
    resistance = circuit.pulse_resistance(build, travel)
    if resistance is not None:
        power = _pulse_energy(build, resistance, cycle) / cycle.period
        rising = tracks(build, travel)[0] if circuit.name == "two-timer" else np.zeros_like(travel)
        powers["pulse_resistor"] = power * (1 - rising / resistance)
        if circuit.name == "two-timer":
            powers["potentiometer"] = power * rising / resistance
    fitted = {part.role for part in chosen.parts}
    return tuple(
        PartHeat(role, float(np.max(powers[role])), _rating(chosen, role))
        for role in circuit.roles
        if role in powers and role in fitted
    )


def _rating(chosen: TimerSet, role: str) -> float:
    return chosen.potentiometer.power if role.endswith("potentiometer") else RESISTOR_RATING


def _timing_energies(circuit: Circuit, build: dict[str, float], travel: Array) -> dict[str, Array]:
    """Heat per period of the timing capacitor in each resistor on its way [J]."""
    lower, upper = (build["supply"] * build[level] for level in ("lower", "upper"))
    C, RA, RB = (build[k] for k in ("timing_capacitor", "charge_resistor", "discharge_resistor"))
    charge, discharge = circuit.timing_paths(build, travel)
    charging, discharging = (np.asarray(path.resistance) for path in (charge, discharge))
    up = charge_heat(C, *_across(charge, lower, upper))
    down_start, down_end = _across(discharge, upper, lower)
    down = charge_heat(C, down_start, down_end)
    rising, falling = tracks(build, travel)
    track_role = "potentiometer"
    if circuit.name == "two-timer":
        track_role = "frequency_potentiometer"
        rising = charging - RA - RB
    energies = {
        "charge_resistor": up * RA / charging,
        "discharge_resistor": down * RB / discharging,
        track_role: up * rising / charging,
    }
    if circuit.steered:
        energies[track_role] = energies[track_role] + down * falling / discharging
    else:
        energies["discharge_resistor"] = energies["discharge_resistor"] + up * RB / charging
    if circuit.output_driven:
        return energies
    pull_up = np.asarray(RA if circuit.steered else RA + rising)
    switch = discharge_switch(build, pull_up)
    held = pull_up_heat(
        build["supply"] - switch.source,
        switch.resistance * down_start / discharging,
        resistance=pull_up,
        tau=discharging * C,
        time=discharge.time(C, upper, lower),
    )
    energies["charge_resistor"] = energies["charge_resistor"] + held * RA / pull_up
    if not circuit.steered:
        energies[track_role] = energies[track_role] + held * rising / pull_up
    return energies


def _pulse_energy(build: dict[str, float], resistance: Array, cycle: Cycle) -> Array:
    """Heat per period in the resistance of the monostable [J]: charging, then held by the switch.

    The capacitor's discharge through the closed switch takes microseconds and is left out.
    """
    C = build["pulse_capacitor"]
    start = build["supply"] - np.asarray(discharge_switch(build, resistance).source)
    end = start * np.exp(-cycle.on / (resistance * C))
    return np.asarray(charge_heat(C, start, end) + start**2 / resistance * cycle.off)


def _across(path: Path, start: float, end: float) -> tuple[Array, Array]:
    """Voltage across the path's resistance at both ends of a half-cycle [V]."""
    ohms = np.asarray(path.resistance)
    return np.asarray(path.current(start) * ohms), np.asarray(path.current(end) * ohms)
