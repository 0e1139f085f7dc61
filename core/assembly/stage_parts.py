"""Parts of main supply, stage and protection."""

from __future__ import annotations

import math
from typing import Final

from core.assembly.part import PartsBook, Requirement, requirement
from core.design.drive import Trip
from core.evaluate.results import Results
from core.interrupter.bulk import decoupling_capacitance
from core.series import value_above, value_below
from core.units import shown

_LOCAL_RIPPLE: Final = 0.01
"""Carrier ripple allowed on the bus beside the stage, over the supply voltage."""
_BLEED_TIME: Final = 5.0
"""Time constant in which the bleed resistor empties the bulk capacitor [s]."""


def add_stage(book: PartsBook, results: Results) -> None:
    """Add supply, stage and protection."""
    _supply(book, results)
    _coil(book, results)
    _switch(book, results)
    _protection(book, results)


def loss(results: Results, name: str) -> float:
    """Mean loss of the operating point in one place [W]; 0 where there is none."""
    return results.carrier.losses.get(name, 0.0) * results.duty


def _supply(book: PartsBook, results: Results) -> None:
    supply, load = results.design.supply, results.load
    book.add(
        "supply", "Main supply", supply.voltage, "V",
        kind="d.c. supply, isolated from the mains, current limited",
        needs=[requirement("current", load.source_current_peak, "A")],
        why=f"Source resistance with leads {shown(supply.source_resistance, 'Ω')}; "
        f"current limit {shown(supply.current_limit, 'A')}.",
    )  # fmt: skip
    fuse = results.design.protection.fuse_rating
    if fuse is not None:
        book.add(
            "fuse", "Fuse in the main supply", fuse, "A",
            kind="time lag, d.c. breaking capacity",
            needs=[_above("d.c. voltage", supply.voltage, "V")],
            why=f"Carries {shown(float(load.fuse_current), 'A')} RMS; a fuse "
            "protects the wiring, not the transistor.",
        )  # fmt: skip
    if supply.bulk_fitted:
        book.add(
            "bulk", "Bulk capacitor", supply.bulk_capacitance, "F",
            kind="electrolytic, low impedance", tolerance=0.20,
            needs=[
                requirement("voltage", supply.voltage, "V"),
                requirement("ripple current", load.bulk_ripple, "A"),
            ],
            why=f"Holds the bus up in the burst: it droops by {shown(results.droop, 'V')} until "
            f"its end. Series resistance at most {shown(supply.bulk_esr, 'Ω')}.",
        )  # fmt: skip
    held = "bulk" if supply.bulk_fitted else "film"
    bleed = value_below(_BLEED_TIME / supply.bus_capacitance, series="E12")
    heat = supply.voltage**2 / bleed
    book.add(
        "bleed", f"Bleed resistor across the {held} capacitor", bleed, "Ω",
        kind="metal oxide film", tolerance=0.05,
        needs=[
            Requirement("power", 2.0 * heat, "W", heat),
            requirement("voltage", supply.voltage, "V"),
        ],
        why=f"Empties the {held} capacitor with a time constant of "
        f"{'' if supply.bulk_fitted else 'at most '}"
        f"{shown(bleed * supply.bus_capacitance, 's', digits=3)} after switching off; common "
        "practice, no source. Not part of the evaluation.",
    )  # fmt: skip
    _local_capacitor(book, results)


def _local_capacitor(book: PartsBook, results: Results) -> None:
    run, supply = results.carrier, results.design.supply
    frequency = run.frequency if run.oscillates else results.coil.resonance
    ripple = math.sqrt(max(run.supply_current_rms**2 - run.supply_current_mean**2, 0.0))
    charge = ripple / (2 * math.pi * frequency)
    droop = _LOCAL_RIPPLE * supply.voltage
    needed = max(decoupling_capacitance(max(charge, 1e-9), droop), 100e-9)
    book.add(
        "bus_film", "Film capacitor across the bus at the stage",
        value_above(needed, series="E6"), "F",
        kind="polypropylene film, short leads", tolerance=0.10,
        needs=[
            requirement("voltage", supply.voltage, "V"),
            requirement("RMS current at the carrier", ripple, "A"),
        ],
        why=f"Carries the carrier's ripple of {shown(ripple, 'A')} RMS within "
        f"{shown(droop, 'V', digits=3)}; the model takes the bus as stiff over one carrier cycle.",
    )  # fmt: skip


def _coil(book: PartsBook, results: Results) -> None:
    coil, run = results.coil, results.carrier
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
            requirement(
                "RMS current", run.supply_current_rms * math.sqrt(results.duty), "A"
            )
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
        needs=[requirement("end-to-end peak voltage", results.top_voltage_reached, "V")],
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
        why=f"Breakout at {shown(coil.breakout_voltage, 'V')}; reaches "
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
    from core.coil.resolve import secondary_geometry

    return secondary_geometry(results.design.coil.geometry).turns


def _conductor_words(kind: str) -> str:
    return {"wire": "solid wire", "tube": "copper tube", "strip": "copper strip"}[kind]


def _switch(book: PartsBook, results: Results) -> None:
    design, load = results.design, results.load
    book.add(
        "switch", "Power MOSFET, n-channel", None, "",
        kind=design.device.name,
        needs=[
            requirement("drain voltage", load.drain_voltage_peak, "V"),
            requirement("gate voltage", max(float(load.gate_peak), -float(load.gate_valley)), "V"),
            requirement("pulsed current", load.drain_current_peak, "A"),
            requirement("RMS drain current at case temperature", load.drain_current_rms, "A"),
            requirement("heat at case temperature", load.heat, "W"),
        ],
        why=f"On-resistance {shown(design.device.on_resistance, 'Ω')} at 25 °C, "
        f"{shown(float(results.operation.on_resistance[0]), 'Ω')} when hot; on a heat sink.",
    )  # fmt: skip
    shunt = design.drive.shunt_resistance
    if shunt > 0:
        book.add(
            "shunt", "Shunt in the source lead", shunt, "Ω",
            kind="low inductance, four terminals or short leads", tolerance=0.01,
            needs=[
                requirement("power", load.shunt_power, "W"),
                requirement("peak current", load.drain_current_peak, "A"),
            ],
            why=f"Peak of {shown(shunt * float(load.drain_current_peak), 'V')} across it; its "
            "inductance adds a false spike to the reading.",
        )  # fmt: skip


def _protection(book: PartsBook, results: Results) -> None:
    protection, load = results.design.protection, results.load
    clamp = protection.drain_clamp
    if clamp is not None:
        book.add(
            "drain_clamp", "Drain clamp", clamp.voltage, "V",
            kind="unidirectional transient suppressor, several in series if needed",
            tolerance=0.05,
            needs=[requirement("mean power", loss(results, "drain_clamp"), "W")],
            why=f"Catches the drain's spikes from drain to source; slope resistance "
            f"{shown(clamp.resistance, 'Ω')}.",
        )  # fmt: skip
    snubber = protection.snubber
    if snubber is not None:
        book.add(
            "snubber_resistor", "Snubber resistor", snubber.resistance, "Ω",
            kind="carbon composition or film, low inductance", tolerance=0.05,
            needs=[requirement("power", loss(results, "snubber"), "W")],
            why="Damps the ringing at the drain; its heat is that of the operating point.",
        )  # fmt: skip
        book.add(
            "snubber_capacitor", "Snubber capacitor", snubber.capacitance, "F",
            kind="C0G ceramic or polypropylene film, pulse rated", tolerance=0.05,
            needs=[requirement("voltage", load.drain_voltage_peak, "V")],
            why="Stands at the drain's peak in every cycle.",
        )  # fmt: skip
    if protection.trip is not None:
        _trip(book, results, protection.trip)
    reservoir = protection.reservoir_clamp
    if reservoir is not None:
        book.add(
            "reservoir_diode", "Diode into the clamp capacitor", None, "",
            kind="ultra-fast rectifier",
            needs=[requirement("reverse voltage", load.drain_voltage_peak, "V")],
            why=f"Forward drop {shown(reservoir.diode_voltage, 'V')} assumed.",
        )  # fmt: skip
        book.add(
            "reservoir_capacitor", "Clamp capacitor", reservoir.capacitance, "F",
            kind="polypropylene film", tolerance=0.10,
            needs=[requirement("voltage", load.drain_voltage_peak, "V")],
            why="Takes the spike's energy each cycle.",
        )  # fmt: skip
        book.add(
            "reservoir_resistor", "Bleed resistor of the clamp", reservoir.resistance, "Ω",
            kind="metal oxide film", tolerance=0.05,
            needs=[requirement("power", loss(results, "reservoir_bleed"), "W")],
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


def _above(name: str, asked: float, unit: str) -> Requirement:
    return Requirement(name, asked, unit, asked)
