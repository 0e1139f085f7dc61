"""Parts of main supply, stage and protection."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Final

from burstwise.core.assembly.fuse_words import fuse_words
from burstwise.core.assembly.part import PartsBook, Requirement, exactly, heated, requirement
from burstwise.core.assembly.worst import burst_loss, loss, worst_load
from burstwise.core.design.device import Device
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


def add_stage(book: PartsBook, results: Results) -> None:
    """Add supply, stage and protection."""
    _supply(book, results)
    _coil(book, results)
    _switch(book, results)
    _protection(book, results)


def _supply(book: PartsBook, results: Results) -> None:
    supply, load = results.design.supply, worst_load(results)
    book.add(
        "supply", "Main supply", supply.voltage, "V",
        family="main supply",
        needs=[requirement("current", load.source_current_peak, "A")],
        why=f"Source resistance with leads {shown(supply.source_resistance, 'Ω')}; "
        f"current limit {shown(supply.current_limit, 'A')}.",
    )  # fmt: skip
    fuse = results.design.protection.fuse_rating
    if fuse is not None:
        book.add(
            "fuse", "Fuse in the main supply", fuse, "A",
            family="fuse",
            needs=[exactly("d.c. voltage", load.supply_voltage, "V")],
            why=f"Carries {shown(float(load.fuse_current), 'A')} RMS. {fuse_words(results)}",
        )  # fmt: skip
    if supply.bulk_fitted:
        book.add(
            "bulk", "Bulk capacitor", supply.bulk_capacitance, "F",
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
    held = "bulk" if supply.bulk_fitted else "film"
    bleed = value_below(min(_BLEED_TIME / supply.bus_capacitance, _LARGEST_BLEED), series="E12")
    heat = load.supply_voltage**2 / bleed
    book.add(
        "bleed", f"Bleed resistor across the {held} capacitor", bleed, "Ω",
        family="resistor", wound_does_no_harm=True, tolerance=0.05,
        needs=[heated(heat), requirement("voltage", load.supply_voltage, "V")],
        why=f"Empties the {held} capacitor with a time constant of "
        f"{'' if supply.bulk_fitted else 'at most '}"
        f"{shown(bleed * supply.bus_capacitance, 's', digits=3)} after switching off; common "
        "practice, no source. Not part of the evaluation.",
    )  # fmt: skip
    _local_capacitor(book, results)


def _local_capacitor(book: PartsBook, results: Results) -> None:
    supply = results.design.supply
    run = max(
        (results.carrier, *(item.run for item in results.corners)),
        key=lambda one: one.supply_current_rms**2 - one.supply_current_mean**2,
    )
    frequency = run.frequency if run.oscillates else results.coil.resonance
    ripple = math.sqrt(max(run.supply_current_rms**2 - run.supply_current_mean**2, 0.0))
    charge = ripple / (2 * math.pi * frequency)
    droop = _LOCAL_RIPPLE * supply.voltage
    needed = max(decoupling_capacitance(max(charge, 1e-9), droop), 100e-9)
    book.add(
        "bus_film", "Film capacitor across the bus at the stage",
        value_above(needed, series="E6"), "F",
        family="film capacitor", tolerance=0.10,
        needs=[
            requirement("voltage", worst_load(results).supply_voltage, "V"),
            requirement("RMS current", ripple, "A"),
        ],
        why=f"Carries the carrier's ripple of {shown(ripple, 'A')} RMS within "
        f"{shown(droop, 'V', digits=3)}; the model takes the bus as stiff over one carrier cycle.",
    )  # fmt: skip


def _coil(book: PartsBook, results: Results) -> None:
    coil = results.coil
    runs = [results.carrier, *(item.run for item in results.corners)]
    current = max(run.supply_current_rms for run in runs) * math.sqrt(results.duty)
    top = max(results.top_part * run.top_voltage_peak for run in runs)
    geometry = results.design.coil.geometry
    known = coil.constants is not None
    book.add(
        "primary", "Primary winding", coil.primary_inductance, "H",
        kind=(
            f"{geometry.primary.turns:g} turns of "
            f"{_conductor_words(geometry.primary.conductor.kind)}, wound by hand"
            if known
            else "as measured"
        ),
        needs=[
            requirement("RMS current", current, "A")
        ],
        why=f"Resistance {shown(coil.primary_resistance, 'Ω')} at the carrier, coupling "
        f"{shown(coil.coupling, '', digits=3)} to the secondary.",
    )  # fmt: skip
    book.add(
        "secondary", "Secondary winding", coil.secondary_inductance, "H",
        kind=(
            f"{_turns(results):.0f} turns of {shown(geometry.secondary.wire_diameter, 'm')} "
            "enamelled wire, wound by hand"
            if known
            else "as measured"
        ),
        needs=[requirement("end-to-end peak voltage", top, "V")],
        why=f"Resonates at {shown(coil.resonance, 'Hz')} with its own capacitance and the top "
        f"load; quality factor {shown(coil.quality_factor, '', digits=3)}.",
    )  # fmt: skip
    shape = geometry.top_load
    book.add(
        "top_load", "Top load and winding, capacitance to earth",
        coil.secondary_capacitance, "F",
        kind=(
            f"{shape.kind} of {shown(shape.diameter, 'm')} diameter, smooth"
            if known and shape.kind != "none"
            else "as measured" if not known else "none, bare end of the winding"
        ),
        why=f"Breakout at {shown(coil.breakout_voltage, 'V')}"
        f"{', at the point' if known and shape.point_fitted else ''}; reaches "
        f"{shown(results.top_voltage_reached, 'V')} at the end of the on-time.",
    )  # fmt: skip
    if known and shape.point_fitted:
        book.add(
            "breakout_point", "Breakout point on the top load", None, "",
            kind=f"metal rod, {shown(shape.point_height, 'm')} out of the surface, tip rounded to "
            f"{shown(shape.point_tip_radius, 'm')} radius, joined to the top load",
            why="The discharge starts here; without it the top load breaks out at "
            f"{shown(coil.constants.smooth_breakout_voltage, 'V') if coil.constants else ''} and "
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


def _switch(book: PartsBook, results: Results) -> None:
    design, load = results.design, worst_load(results)
    book.add(
        "switch", "Power MOSFET, n-channel", None, "",
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
    shunt = design.drive.shunt_resistance
    if shunt > 0:
        book.add(
            "shunt", "Shunt in the source lead", shunt, "Ω",
            family="shunt", tolerance=0.01,
            needs=[
                heated(load.shunt_power),
                requirement("burst power", burst_loss(results, "shunt"), "W"),
            ],
            why=f"Peak of {shown(shunt * float(load.drain_current_peak), 'V')} across it; its "
            "inductance adds a false spike to the reading.",
        )  # fmt: skip


def _protection(book: PartsBook, results: Results) -> None:
    protection = results.design.protection
    if protection.drain_clamp is not None:
        _drain_clamp(book, results, protection.drain_clamp)
    if protection.snubber is not None:
        _snubber(book, results, protection.snubber)
    if protection.reservoir_clamp is not None:
        _reservoir(book, results, protection.reservoir_clamp)
    if protection.trip is not None:
        _trip(book, results, protection.trip)


def _drain_clamp(book: PartsBook, results: Results, clamp: DrainClamp) -> None:
    peak = float(worst_load(results).drain_voltage_peak)
    pulse = max(peak - clamp.voltage, 0.0) / clamp.resistance
    what = (
        f"Catches the drain's spikes from drain to source, {shown(pulse, 'A')} at their peak; "
        f"slope resistance {shown(clamp.resistance, 'Ω')}."
    )
    book.add(
        "drain_clamp", "Drain clamp", clamp.voltage, "V",
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


def _snubber(book: PartsBook, results: Results, snubber: Snubber) -> None:
    burst = burst_loss(results, "snubber")
    peak = requirement("voltage", worst_load(results).drain_voltage_peak, "V")
    book.add(
        "snubber_resistor", "Snubber resistor", snubber.resistance, "Ω",
        family="resistor", tolerance=0.05,
        needs=[
            heated(loss(results, "snubber")),
            requirement("burst power", burst, "W"),
            peak,
        ],
        why="Damps the ringing at the drain; its heat is that of the worst corner. A wound "
        "wire would ring itself.",
    )  # fmt: skip
    book.add(
        "snubber_capacitor", "Snubber capacitor", snubber.capacitance, "F",
        family="pulse capacitor", tolerance=0.05,
        needs=[peak, requirement("RMS current", math.sqrt(burst / snubber.resistance), "A")],
        why="Stands at the drain's peak in every cycle; its current is that of a burst.",
    )  # fmt: skip


def _reservoir(book: PartsBook, results: Results, part: ReservoirClamp) -> None:
    peak = worst_load(results).drain_voltage_peak
    bleed = loss(results, "reservoir_bleed")
    book.add(
        "reservoir_diode", "Diode into the clamp capacitor", None, "",
        family="fast rectifier",
        needs=[
            requirement("reverse voltage", peak, "V"),
            requirement("mean current", math.sqrt(bleed / part.resistance), "A"),
        ],
        why=f"Forward drop {shown(part.diode_voltage, 'V')} assumed.",
    )  # fmt: skip
    book.add(
        "reservoir_capacitor", "Clamp capacitor", part.capacitance, "F",
        family="film capacitor", tolerance=0.10,
        needs=[requirement("voltage", peak, "V")],
        why="Takes the spike's energy each cycle.",
    )  # fmt: skip
    book.add(
        "reservoir_resistor", "Bleed resistor of the clamp", part.resistance, "Ω",
        family="resistor", wound_does_no_harm=True, tolerance=0.05,
        needs=[
            heated(bleed),
            requirement("burst power", burst_loss(results, "reservoir_bleed"), "W"),
            requirement("voltage", peak, "V"),
        ],
        why="Empties the clamp capacitor into the main supply.",
    )  # fmt: skip


def _trip(book: PartsBook, results: Results, trip: Trip) -> None:
    """Latch for a lost loop; its own parts are chosen with the comparator or timer that is used."""
    shunt = results.design.drive.shunt_resistance
    by_current = trip.kind == "current"
    level = shown(trip.current * shunt, "V", digits=3)
    found = results.lost_loop
    book.add(
        "trip", "Trip for a lost loop", trip.current if by_current else trip.delay,
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
