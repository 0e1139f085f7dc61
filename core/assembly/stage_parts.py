"""Parts of main supply, stage and protection."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace
from functools import partial
from typing import Final

from burstwise.core.assembly.fuse_words import fuse_words
from burstwise.core.assembly.part import Fitted, Requirement, Wanted, exactly, heated, requirement
from burstwise.core.assembly.worst import burst_loss, loss, stage_runs, worst_load
from burstwise.core.design.device import Device
from burstwise.core.design.document import Design
from burstwise.core.design.drive import DrainClamp, ReservoirClamp, Snubber, Trip
from burstwise.core.errors import one_line
from burstwise.core.evaluate.results import Results
from burstwise.core.interrupter.bulk import decoupling_capacitance
from burstwise.core.limits.sold_kinds import (
    SUPPRESSOR_STAND_OFF,
    Made,
    suppressor_capacitance,
)
from burstwise.core.series import value_above, value_below
from burstwise.core.units import shown

_LOCAL_RIPPLE: Final = 0.01
"""Carrier ripple allowed on the bus beside the stage, over the supply voltage."""
_BLEED_TIME: Final = 5.0
"""Time constant in which the bleed resistor empties the bulk capacitor [s]."""
_LARGEST_BLEED: Final = 100e3
"""Largest bleed resistor [ohm]: a film capacitor alone would allow so high a value that the leakage
of boards and fingers compares with it; common practice, no source."""


def fitted_stage(design: Design) -> Iterator[Fitted[Results]]:
    """Parts of supply, stage and protection that a design has."""
    protection, shunt = design.protection, design.drive.shunt_resistance
    yield Fitted("G", "supply", _supply)
    if protection.fuse_rating is not None:
        yield Fitted("F", "fuse", partial(_fuse, protection.fuse_rating))
    if design.supply.bulk_fitted:
        yield Fitted("C", "bulk", _bulk)
    yield Fitted("R", "bleed", _bleed)
    yield Fitted("C", "bus_film", _bus_film)
    yield Fitted("L", "primary", _primary)
    yield Fitted("L", "secondary", _secondary)
    yield Fitted("E", "top_load", _top_load)
    if design.coil.given_by == "geometry" and design.coil.geometry.top_load.point_fitted:
        yield Fitted("E", "breakout_point", _breakout_point)
    yield Fitted("Q", "switch", _switch)
    if shunt > 0:
        yield Fitted("R", "shunt", partial(_shunt, shunt))
    if protection.drain_clamp is not None:
        yield Fitted("D", "drain_clamp", partial(_drain_clamp, protection.drain_clamp))
    if protection.snubber is not None:
        yield Fitted("R", "snubber_resistor", partial(_snubber_resistor, protection.snubber))
        yield Fitted("C", "snubber_capacitor", partial(_snubber_capacitor, protection.snubber))
    if protection.reservoir_clamp is not None:
        part = protection.reservoir_clamp
        yield Fitted("D", "reservoir_diode", partial(_reservoir_diode, part))
        yield Fitted("C", "reservoir_capacitor", partial(_reservoir_capacitor, part))
        yield Fitted("R", "reservoir_resistor", partial(_reservoir_resistor, part))
    if protection.trip is not None:
        yield Fitted("U", "trip", partial(_trip, protection.trip))


def _supply(results: Results) -> Wanted:
    supply, load = results.design.supply, worst_load(results)
    return Wanted(
        "Main supply", supply.voltage, "V",
        family="main supply",
        needs=[requirement("current", load.source_current_peak, "A")],
        why=f"Source resistance with leads {shown(supply.source_resistance, 'Ω')}; "
        f"current limit {shown(supply.current_limit, 'A')}.",
    )  # fmt: skip


def _fuse(rating: float, results: Results) -> Wanted:
    load = worst_load(results)
    return Wanted(
        "Fuse in the main supply", rating, "A",
        family="fuse",
        needs=[exactly("d.c. voltage", load.supply_voltage, "V")],
        why=f"Carries {shown(float(load.fuse_current), 'A')} RMS. {fuse_words(results)}",
    )  # fmt: skip


def _bulk(results: Results) -> Wanted:
    supply, load = results.design.supply, worst_load(results)
    return Wanted(
        "Bulk capacitor", supply.bulk_capacitance, "F",
        family="electrolytic capacitor", tolerance=0.20,
        needs=[
            requirement("voltage", load.supply_voltage, "V"),
            requirement("ripple current", load.bulk_ripple, "A"),
            requirement(
                "stored energy", 0.5 * supply.bulk_capacitance * load.supply_voltage**2, "J"
            ),
        ],
        why=f"Holds the bus up in the burst: it droops by {shown(results.droop, 'V')} until "
        f"its end. Series resistance at most {shown(supply.bulk_esr, 'Ω')}.",
    )  # fmt: skip


def _bleed(results: Results) -> Wanted:
    supply, volts = results.design.supply, worst_load(results).supply_voltage
    held = "bulk" if supply.bulk_fitted else "film"
    bleed = value_below(min(_BLEED_TIME / supply.bus_capacitance, _LARGEST_BLEED), series="E12")
    return Wanted(
        f"Bleed resistor across the {held} capacitor", bleed, "Ω",
        family="resistor", wound_does_no_harm=True, tolerance=0.05,
        needs=[heated(volts**2 / bleed), requirement("voltage", volts, "V")],
        why=f"Empties the {held} capacitor with a time constant of "
        f"{'' if supply.bulk_fitted else 'at most '}"
        f"{shown(bleed * supply.bus_capacitance, 's', digits=3)} after switching off; common "
        "practice, no source. Not part of the evaluation.",
    )  # fmt: skip


def _bus_film(results: Results) -> Wanted:
    supply = results.design.supply
    run = max(
        stage_runs(results),
        key=lambda one: one.supply_current_rms**2 - one.supply_current_mean**2,
    )
    frequency = run.frequency if run.oscillates else results.coil.resonance
    ripple = math.sqrt(max(run.supply_current_rms**2 - run.supply_current_mean**2, 0.0))
    charge = ripple / (2 * math.pi * frequency)
    droop = _LOCAL_RIPPLE * supply.voltage
    needed = max(decoupling_capacitance(max(charge, 1e-9), droop), 100e-9)
    return Wanted(
        "Film capacitor across the bus at the stage",
        value_above(needed, series="E6"), "F",
        family="film capacitor", tolerance=0.10,
        needs=[
            requirement("voltage", worst_load(results).supply_voltage, "V"),
            requirement("RMS current", ripple, "A"),
        ],
        why=f"Carries the carrier's ripple of {shown(ripple, 'A')} RMS within "
        f"{shown(droop, 'V', digits=3)}; the model takes the bus as stiff over one carrier cycle.",
    )  # fmt: skip


def _primary(results: Results) -> Wanted:
    coil, primary = results.coil, results.design.coil.geometry.primary
    current = max(run.supply_current_rms for run in stage_runs(results)) * math.sqrt(results.duty)
    return Wanted(
        "Primary winding", coil.primary_inductance, "H",
        kind=f"{primary.turns:g} turns of {_conductor_words(primary.conductor.kind)}, wound by hand"
        if coil.constants is not None
        else "as measured",
        needs=[requirement("RMS current", current, "A")],
        why=f"Resistance {shown(coil.primary_resistance, 'Ω')} at the carrier, coupling "
        f"{shown(coil.coupling, '', digits=3)} to the secondary.",
    )  # fmt: skip


def _secondary(results: Results) -> Wanted:
    coil, wire = results.coil, results.design.coil.geometry.secondary.wire_diameter
    top = max(results.top_part * run.top_voltage_peak for run in stage_runs(results))
    return Wanted(
        "Secondary winding", coil.secondary_inductance, "H",
        kind=f"{_turns(results):.0f} turns of {shown(wire, 'm')} enamelled wire, wound by hand"
        if coil.constants is not None
        else "as measured",
        needs=[requirement("end-to-end peak voltage", top, "V")],
        why=f"Resonates at {shown(coil.resonance, 'Hz')} with its own capacitance and the top "
        f"load; quality factor {shown(coil.quality_factor, '', digits=3)}.",
    )  # fmt: skip


def _top_load(results: Results) -> Wanted:
    coil, shape = results.coil, results.design.coil.geometry.top_load
    known = coil.constants is not None
    return Wanted(
        "Top load and winding, capacitance to earth", coil.secondary_capacitance, "F",
        kind=(
            f"{shape.kind} of {shown(shape.diameter, 'm')} diameter, smooth"
            if known and shape.kind != "none"
            else "as measured" if not known else "none, bare end of the winding"
        ),
        why=f"Breakout at {shown(coil.breakout_voltage, 'V')}"
        f"{', at the point' if known and shape.point_fitted else ''}; reaches "
        f"{shown(results.top_voltage_reached, 'V')} at the end of the on-time.",
    )  # fmt: skip


def _breakout_point(results: Results) -> Wanted:
    shape, constants = results.design.coil.geometry.top_load, results.coil.constants
    return Wanted(
        "Breakout point on the top load",
        kind=f"metal rod, {shown(shape.point_height, 'm')} out of the surface, tip rounded to "
        f"{shown(shape.point_tip_radius, 'm')} radius, joined to the top load",
        why="The discharge starts here; without it the top load breaks out at "
        f"{shown(constants.smooth_breakout_voltage, 'V') if constants else ''} and "
        "the drain sees more than with a discharge.",
    )  # fmt: skip


def _turns(results: Results) -> float:
    from burstwise.core.coil.resolve import secondary_geometry

    return secondary_geometry(results.design.coil.geometry).turns


def _conductor_words(kind: str) -> str:
    return {"wire": "solid wire", "tube": "copper tube", "strip": "copper strip"}[kind]


def _drain_voltage(device: Device, peak: float) -> Requirement:
    """The usual headroom, at most up to the rating that the design has; the limits judge it."""
    usual = requirement("drain voltage", peak, "V")
    return replace(usual, least=min(usual.least, max(device.drain_voltage_rating, peak)))


def _switch(results: Results) -> Wanted:
    design, load = results.design, worst_load(results)
    return Wanted(
        "Power MOSFET, n-channel",
        kind=one_line(design.device.name),
        needs=[
            _drain_voltage(design.device, float(load.drain_voltage_peak)),
            requirement("gate voltage", max(float(load.gate_peak), -float(load.gate_valley)), "V"),
            requirement("pulsed current", load.drain_current_peak, "A"),
            requirement("RMS drain current at case temperature", load.drain_current_rms, "A"),
            requirement("heat at case temperature", load.heat, "W"),
        ],
        why=f"On-resistance {shown(design.device.on_resistance, 'Ω')} at 25 °C, "
        f"{shown(results.operation.on_resistance, 'Ω')} when hot; on a heat sink.",
    )  # fmt: skip


def _shunt(ohms: float, results: Results) -> Wanted:
    load = worst_load(results)
    return Wanted(
        "Shunt in the source lead", ohms, "Ω",
        family="shunt", tolerance=0.01,
        needs=[
            heated(load.shunt_power),
            requirement("burst power", burst_loss(results, "shunt"), "W"),
        ],
        why=f"Peak of {shown(ohms * float(load.drain_current_peak), 'V')} across it; its "
        "inductance adds a false spike to the reading.",
    )  # fmt: skip


def _drain_clamp(clamp: DrainClamp, results: Results) -> Wanted:
    peak = float(worst_load(results).drain_voltage_peak)
    pulse = max(peak - clamp.voltage, 0.0) / clamp.resistance
    what = (
        f"Catches the drain's spikes from drain to source, {shown(pulse, 'A')} at their peak; "
        f"slope resistance {shown(clamp.resistance, 'Ω')}."
    )
    return Wanted(
        "Drain clamp", clamp.voltage, "V",
        family="suppressor", tolerance=0.05,
        needs=[
            heated(loss(results, "drain_clamp"), name="mean power"),
            requirement("pulse power", pulse * peak, "W"),
        ],
        why=lambda made: what + _suppressor_words(made),
    )  # fmt: skip


def _suppressor_words(made: Made | None) -> str:
    """Stand-off voltage and capacitance of a row of suppressors."""
    if made is None or made.each is None:
        return ""
    stand_off = SUPPRESSOR_STAND_OFF * made.each
    return (
        f" Its voltage is the breakdown; the stand-off voltage of each piece is some "
        f"{shown(stand_off, 'V', digits=2)}, of the whole "
        f"{shown(made.series * stand_off, 'V', digits=2)}. Brings some "
        f"{shown(suppressor_capacitance(made), 'F', digits=2)} at 0 V to the drain, which the "
        "model leaves out. The mean power holds with the leads at 75 °C: short leads on wide "
        "copper."
    )


def _snubber_resistor(snubber: Snubber, results: Results) -> Wanted:
    return Wanted(
        "Snubber resistor", snubber.resistance, "Ω",
        family="resistor", tolerance=0.05,
        needs=[
            heated(loss(results, "snubber")),
            requirement("burst power", burst_loss(results, "snubber"), "W"),
            _at_the_drain(results),
        ],
        why="Damps the ringing at the drain; its heat is that of the worst corner. A wound "
        "wire would ring itself.",
    )  # fmt: skip


def _snubber_capacitor(snubber: Snubber, results: Results) -> Wanted:
    current = math.sqrt(burst_loss(results, "snubber") / snubber.resistance)
    return Wanted(
        "Snubber capacitor", snubber.capacitance, "F",
        family="pulse capacitor", tolerance=0.05,
        needs=[_at_the_drain(results), requirement("RMS current", current, "A")],
        why="Stands at the drain's peak in every cycle; its current is that of a burst.",
    )  # fmt: skip


def _at_the_drain(results: Results) -> Requirement:
    return requirement("voltage", worst_load(results).drain_voltage_peak, "V")


def _reservoir_diode(part: ReservoirClamp, results: Results) -> Wanted:
    mean = math.sqrt(loss(results, "reservoir_bleed") / part.resistance)
    return Wanted(
        "Diode into the clamp capacitor",
        family="fast rectifier",
        needs=[
            requirement("reverse voltage", worst_load(results).drain_voltage_peak, "V"),
            requirement("mean current", mean, "A"),
        ],
        why=f"Forward drop {shown(part.diode_voltage, 'V')} assumed.",
    )  # fmt: skip


def _reservoir_capacitor(part: ReservoirClamp, results: Results) -> Wanted:
    return Wanted(
        "Clamp capacitor", part.capacitance, "F",
        family="film capacitor", tolerance=0.10,
        needs=[_at_the_drain(results)],
        why="Takes the spike's energy each cycle.",
    )  # fmt: skip


def _reservoir_resistor(part: ReservoirClamp, results: Results) -> Wanted:
    return Wanted(
        "Bleed resistor of the clamp", part.resistance, "Ω",
        family="resistor", wound_does_no_harm=True, tolerance=0.05,
        needs=[
            heated(loss(results, "reservoir_bleed")),
            requirement("burst power", burst_loss(results, "reservoir_bleed"), "W"),
            _at_the_drain(results),
        ],
        why="Empties the clamp capacitor into the main supply.",
    )  # fmt: skip


def _trip(trip: Trip, results: Results) -> Wanted:
    """Latch for a lost loop; its own parts are chosen with the comparator or timer that is used."""
    shunt = results.design.drive.shunt_resistance
    by_current = trip.kind == "current"
    level = shown(trip.current * shunt, "V", digits=3)
    found = results.lost_loop
    return Wanted(
        "Trip for a lost loop", trip.current if by_current else trip.delay,
        "A" if by_current else "s",
        kind=(
            f"fast comparator at the shunt, {level} level, with a latch that holds the drive off"
            if by_current
            else "retriggered timer on the base current with a latch that holds the drive off"
        ),
        why=f"Gate off within {shown(trip.delay, 's')}"
        + (
            f"; a lost loop then peaks at {shown(found.course.peak, 'A', digits=3)}."
            if found is not None
            else "."
        )
        + " Not in the circuit drawing: build it after its maker's circuit and test it alone.",
    )  # fmt: skip
