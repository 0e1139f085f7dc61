"""The corner in which the drive is enabled and nothing oscillates: what then counts."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from burstwise.core.burst.foster import transient_impedance
from burstwise.core.burst.lost_loop import Discharge, HardOn, discharge
from burstwise.core.burst.operation import thermal_path
from burstwise.core.coil.resolve import ResolvedCoil
from burstwise.core.design.document import Design
from burstwise.core.design.drive import Trip
from burstwise.core.findings import Finding, caution, note
from burstwise.core.limits.avalanche import avalanche_energy
from burstwise.core.limits.load import Load
from burstwise.core.limits.rating import LOST_LOOP
from burstwise.core.limits.ratings import CornerLoad
from burstwise.core.limits.thermal import rise_course
from burstwise.core.stage.build import coil_values, on_resistance_at
from burstwise.core.units import percent, shown

REACTION: Final = 1.0
"""Time after which somebody has switched off [s]; common practice, no source."""
TRIP_ROOM: Final = 1.25
"""Trip current over the highest running peak, so that a trip does not act on its own; common
practice, no source."""


@dataclass(frozen=True, slots=True)
class LostLoop:
    """A lost loop and what it does to the transistor.

    Attributes
    ----------
    circuit : HardOn
        The loop through the transistor.
    course : Discharge
        Until burst, trip or `REACTION` end it.
    stored : float
        Energy in the bulk capacitor before [J].
    junction : float
        Highest junction temperature [C].
    tripped : bool
        Whether a trip ends it.
    """

    circuit: HardOn
    course: Discharge
    stored: float
    junction: float
    tripped: bool


def lost_loop(design: Design, coil: ResolvedCoil, load: Load) -> LostLoop | None:
    """What a gate that stays on does at the upper end of the supply's tolerance.

    The transistor is cold for the current, and as warm as it runs for its temperature. Where there
    are bursts and nothing latches, every burst does the same again for `REACTION`: the mean heat of
    that time is laid over the single rise.

    Parameters
    ----------
    design, coil
        The design, with an active calibration laid over it, and its coil.
    load : Load
        What the running stage asks: on-time, period and mean junction temperature.

    Returns
    -------
    LostLoop or None
        None where the drive is never on.
    """
    if not load.on_time > 0.0:
        return None
    circuit, trip = _hard_on(design, coil), design.protection.trip
    on = min(load.on_time, REACTION)
    course = discharge(circuit, float(on))
    ended = course if trip is None else course.until(trip_time(course, trip))
    network = thermal_path(design.device, design.cooling).network
    rise = float(np.max(rise_course(network, *_apart(ended))))
    tripped = ended.end < course.end
    if not tripped and math.isfinite(load.on_time):
        mean = ended.energy / max(float(load.period), ended.end)
        rise += mean * float(transient_impedance(network, REACTION))
    warm = load.junction_mean if math.isfinite(load.junction_mean) else design.cooling.ambient
    stored = 0.5 * circuit.capacitance * circuit.voltage**2
    return LostLoop(circuit, ended, stored, float(warm) + rise, tripped)


def trip_time(course: Discharge, trip: Trip) -> float:
    """When a trip has turned the gate off [s]; inf if it never does."""
    if trip.kind == "time-out":
        return trip.delay
    return course.reaches(trip.current) + trip.delay


def lost_loop_load(design: Design, coil: ResolvedCoil, load: Load, found: LostLoop) -> CornerLoad:
    """Load of the corner: that of the running stage with the figures of a lost loop in it."""
    dumped = avalanche_energy(
        found.circuit.inductance,
        found.course.last,
        breakdown=design.device.avalanche_voltage,
        supply=min(found.circuit.voltage, 0.99 * design.device.avalanche_voltage),
    )
    asked = replace(
        load,
        lost_loop_current=found.course.peak,
        lost_loop_junction=found.junction,
        turn_off_energy=float(dumped),
    )
    return CornerLoad(LOST_LOOP, "enabled without oscillation", asked)


def lost_loop_findings(
    design: Design, found: LostLoop, *, running_peak: float
) -> Iterator[Finding]:
    """What to do about a lost loop, and whether a trip is sized for it.

    Parameters
    ----------
    design : Design
        The design.
    found : LostLoop
        What a lost loop does in it.
    running_peak : float
        Highest drain current in all corners in which the stage runs [A]; 0 if it does not run.
    """
    trip = design.protection.trip
    device = design.device
    harm = found.course.peak > device.pulsed_current or found.junction > device.highest_junction
    if harm:
        yield caution("lost-loop", "protection.trip", _harm_words(design, found, running_peak))
    if trip is None:
        return
    if found.tripped and not harm:
        yield note("lost-loop-tripped", "protection.trip", _tripped_words(found))
    if trip.kind == "current":
        yield from _trip_sized(design, trip, running_peak)


def _harm_words(design: Design, found: LostLoop, running_peak: float) -> str:
    course = found.course
    said = (
        "If the loop is lost while the drive is enabled (reversed winding, loose base wire), the "
        f"gate stays on and the bus discharges through primary and transistor: "
        f"{shown(course.peak, 'A', digits=3)} of {shown(design.device.pulsed_current, 'A')} "
        f"pulsed, {shown(found.stored, 'J', digits=2)} stored; the supply's limit and a fuse "
        "before the capacitor do not help. Run the first stages with the bulk capacitor "
        "disconnected or small, put a fast fuse between capacitor and stage, and fit an "
        "over-current trip or a time-out"
    )
    return f"{said}{_wanted_words(design, found, running_peak)}."


def _wanted_words(design: Design, found: LostLoop, running_peak: float) -> str:
    """Trip that would hold the pulsed current, in words; nothing where there is none."""
    least = TRIP_ROOM * running_peak
    room = design.device.pulsed_current - least
    slope = found.circuit.voltage / found.circuit.inductance
    if room <= 0.0:
        return ""
    return (
        f": at {shown(least, 'A', digits=2)} or somewhat more, with the gate off within "
        f"{shown(0.8 * room / slope, 's', digits=2)}"
    )


def _tripped_words(found: LostLoop) -> str:
    course = found.course
    return (
        f"A lost loop ends after {shown(course.end, 's', digits=2)}: the trip lets "
        f"{shown(course.peak, 'A', digits=3)}, {course.let_through:.2g} A²s and "
        f"{shown(course.energy, 'J', digits=2)} into the transistor through."
    )


def _trip_sized(design: Design, trip: Trip, running_peak: float) -> Iterator[Finding]:
    if design.drive.shunt_resistance <= 0.0:
        yield caution(
            "trip-without-shunt",
            "drive.shunt_resistance",
            "The over-current trip has no shunt to read the current at.",
        )
    if trip.current < TRIP_ROOM * running_peak:
        yield caution(
            "trip-too-low",
            "protection.trip.current",
            f"The stage itself reaches {shown(running_peak, 'A', digits=3)}: a trip at "
            f"{shown(trip.current, 'A', digits=3)} acts while nothing is wrong. Leave "
            f"{percent(TRIP_ROOM - 1.0)} of room.",
        )


def lost_loop_object(found: LostLoop) -> dict[str, float | bool]:
    """What `burstwise evaluate --json` prints as ``lost_loop``."""
    return {
        "drain_current_peak_A": found.course.peak,
        "junction_peak_C": found.junction,
        "ends_after_s": found.course.end,
        "let_through_A2s": found.course.let_through,
        "device_energy_J": found.course.energy,
        "stored_energy_J": found.stored,
        "tripped": found.tripped,
    }


def _hard_on(design: Design, coil: ResolvedCoil) -> HardOn:
    supply = design.supply
    volts = supply.voltage * (1.0 + supply.tolerance)
    cold = on_resistance_at(design.device, 25.0)
    rest = coil.primary_resistance + design.drive.shunt_resistance
    return HardOn(
        voltage=volts,
        capacitance=supply.bus_capacitance,
        inductance=coil_values(design, coil).loop_inductance,
        capacitor_resistance=supply.bus_esr,
        on_resistance=cold,
        resistance=rest,
        saturation=_saturation(design),
        fed=min(supply.current_limit, volts / (supply.source_resistance + rest + cold)),
    )


def _saturation(design: Design) -> float:
    """Channel current at the gate voltage that an enabled drive rests at [A]."""
    device = design.device
    return max(device.transconductance * (_gate_at_rest(design) - device.threshold_voltage), 1e-6)


def _gate_at_rest(design: Design) -> float:
    """Gate voltage of an enabled drive without base current [V]."""
    if design.drive.kind == "direct":
        part = design.drive.direct
        return min(part.bias_voltage, part.clamp_high) if part.clamp_fitted else part.bias_voltage
    driver = design.drive.gated
    rest = min(driver.input_bias, driver.input_clamp_high)
    high = (rest > driver.input_threshold_high) is not driver.inverting
    powered = driver.driver_supply >= driver.undervoltage_lockout
    return driver.driver_supply if high and powered else 0.0


def _apart(course: Discharge) -> tuple[np.ndarray, np.ndarray]:
    """Times that really rise, and the heat there."""
    kept = np.append(True, np.diff(course.time) > 0.0)
    return course.time[kept], course.heat[kept]
