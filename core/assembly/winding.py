"""Winding plan: what to wind, how much wire it takes, which way round, and how to connect it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from burstwise.core.assembly.worst import worst_load
from burstwise.core.coil.breakout import LONG_GAP_STRENGTH
from burstwise.core.coil.clearance import strike_ring
from burstwise.core.coil.resolve import primary_geometry, secondary_geometry
from burstwise.core.coil.summary import CoilConstants
from burstwise.core.evaluate.results import Results
from burstwise.core.limits.insulation import STRIKE_STRENGTH
from burstwise.core.limits.rating import TIGHT_BELOW
from burstwise.core.units import shown

FORMER_END: Final = 0.02
"""Bare end of the former beyond the winding [m]; common practice, no source."""


@dataclass(frozen=True, slots=True)
class WindingRow:
    """One line of the plan; `unit` is empty for words."""

    name: str
    text: str


@dataclass(frozen=True, slots=True)
class WindingPlan:
    """Rows for each winding and the RF ground, and notes on direction and connection."""

    secondary: tuple[WindingRow, ...]
    primary: tuple[WindingRow, ...]
    top_load: tuple[WindingRow, ...]
    ground: tuple[WindingRow, ...]
    notes: tuple[str, ...]


def winding_plan(results: Results) -> WindingPlan:
    """Plan of a design; a coil given by measured values alone has only its electrical rows."""
    constants = results.coil.constants
    sense = direction_notes(results)
    if constants is None:
        coil = results.coil
        return WindingPlan(
            (
                WindingRow("Inductance", shown(coil.secondary_inductance, "H")),
                WindingRow("Capacitance with top load", shown(coil.secondary_capacitance, "F")),
                WindingRow("Resonance", shown(coil.resonance, "Hz")),
            ),
            (
                WindingRow("Inductance", shown(coil.primary_inductance, "H")),
                WindingRow("Coupling to the secondary", shown(coil.coupling, "")),
            ),
            (WindingRow("Breakout", shown(coil.breakout_voltage, "V")),),
            ground_rows(None),
            ("The coil is given by measured values; no dimensions are known.", *sense),
        )
    return WindingPlan(
        (*_secondary(results, constants), *_former(results)),
        (*_primary(results, constants), *_support(results)),
        _top(results),
        ground_rows(coil_height(results)),
        sense,
    )


def _secondary(results: Results, constants: CoilConstants) -> tuple[WindingRow, ...]:
    part = results.design.coil.geometry.secondary
    made = secondary_geometry(results.design.coil.geometry)
    gap = shown(part.spacing, "m") if part.spacing else "close wound"
    return (
        WindingRow("Former, outer diameter", shown(part.former_diameter, "m")),
        WindingRow("Wire, bare diameter", shown(part.wire_diameter, "m")),
        WindingRow("Wire over enamel", f"{shown(made.overall_diameter, 'm')}, grade "
                   f"{part.enamel_grade}"),
        WindingRow("Turns", f"{made.turns:.0f}, single layer"),
        WindingRow("Gap between turns", gap),
        WindingRow("Winding length", shown(made.length, "m")),
        WindingRow("Wire length", f"{shown(constants.secondary_wire_length, 'm')} and leads"),
        WindingRow("Copper", f"{1e3 * constants.secondary_copper_mass:.3g} g"),
        WindingRow("Resistance, d.c.", shown(constants.secondary_resistance_dc, "Ω")),
        WindingRow("Inductance at low frequency", shown(constants.secondary_inductance_dc, "H")),
        WindingRow("Resonance, primary open", shown(constants.resonance, "Hz")),
    )  # fmt: skip


def _former(results: Results) -> tuple[WindingRow, ...]:
    """What the winding sits on, and how its ends leave it."""
    length = secondary_geometry(results.design.coil.geometry).length
    return (
        WindingRow("Former, material",
                   "dry tube of polypropylene, polyethylene, acrylic or clear PVC; no carbon "
                   "filler (black), no metal, no damp cardboard or wood"),
        WindingRow("Former, length", f"at least {shown(length + 2 * FORMER_END, 'm', digits=3)}: "
                   f"{shown(FORMER_END, 'm')} bare at each end"),
        WindingRow("Varnish", "two or three thin coats of polyurethane or polyester varnish over "
                   "the whole winding, each one dry before the next and all dry before power"),
        WindingRow("Lead-outs", "hold the end turns with tape and varnish; both leads leave on "
                   "the outside, the upper one straight up to the top load. Never through a hole "
                   "in the former: inside it a lead runs along the whole winding and flashes over"),
    )  # fmt: skip


def _support(results: Results) -> tuple[WindingRow, ...]:
    """What holds the primary, the gap it needs, and the strike ring."""
    load = worst_load(results)
    least = float(load.gap_voltage) / LONG_GAP_STRENGTH / (1.0 - TIGHT_BELOW)
    return (
        WindingRow("Support", "combs or posts of the same plastics that hold the pitch; nothing of "
                   "metal goes once round, and no screw points at the secondary"),
        WindingRow("Air gap needed to the secondary", f"{shown(least, 'm', digits=2)} or more "
                   f"between the surfaces, for {shown(float(load.gap_voltage), 'V', digits=2)} at "
                   "5 kV/cm; enamel and wire insulation do not count, they fail in time"),
        WindingRow("Strike ring", _ring_words(results)),
        WindingRow("Leads", "away from the secondary and side by side, with a second layer of "
                   "sleeving where they pass an edge"),
    )  # fmt: skip


def _ring_words(results: Results) -> str:
    geometry = results.design.coil.geometry
    above = geometry.strike_ring_height
    if above is None:
        reach = results.top_voltage_reached / STRIKE_STRENGTH
        return (
            f"none in the design; discharges may reach {shown(reach, 'm', digits=2)}. One that "
            "strikes the primary enters the stage and lifts 0 V"
        )
    ring = strike_ring(primary_geometry(geometry), above)
    return (
        f"open ring of tube or thick wire, {shown(2 * ring.radius, 'm', digits=3)} across, "
        f"{shown(above, 'm')} above the highest turn, its ends a finger's width apart so that it "
        "is no shorted turn; to the RF ground by a wire of its own"
    )


def coil_height(results: Results) -> float:
    """Top of winding and top load above the earth plane [m]."""
    geometry = results.design.coil.geometry
    made, top = secondary_geometry(geometry), geometry.top_load
    over = 0.0
    if top.kind != "none":
        body = top.diameter if top.kind == "sphere" else top.thickness
        over = max(top.centre_height + 0.5 * body, 0.0)
    return geometry.base_height + made.length + over


def ground_rows(height: float | None) -> tuple[WindingRow, ...]:
    """RF ground or counterpoise below a coil of a height [m]; None where it is not known.

    As wide to each side as the coil is high: common practice, no source.
    """
    size = (
        "as wide to each side as the coil with its top load is high"
        if height is None
        else f"at least {shown(2 * height, 'm', digits=2)} across, as wide to each side as the "
        f"coil is high ({shown(height, 'm', digits=2)})"
    )
    return (
        WindingRow("Counterpoise", f"metal sheet, foil or mesh below the coil, {size}; the "
                   "computation takes an endless plane there"),
        WindingRow("Connection", "one short, wide strap from it to the point of 0 V, where the "
                   "secondary's current returns; pressed or soldered, not clipped"),
        WindingRow("Mains earth", "apart from it: the mains earth is no RF ground, and what flows "
                   "in it comes out at every socket. Where local rules ask for a bond, a licensed "
                   "person makes it"),
        WindingRow("Reach", "out of reach of people while powered; it carries the base current"),
    )  # fmt: skip


def _primary(results: Results, constants: CoilConstants) -> tuple[WindingRow, ...]:
    part = results.design.coil.geometry.primary
    section = part.conductor
    conductor = {
        "wire": f"solid wire, {shown(section.diameter, 'm')}",
        "tube": f"tube, {shown(section.diameter, 'm')} with {shown(section.wall, 'm')} wall",
        "strip": f"strip, {shown(section.width, 'm')} by {shown(section.thickness, 'm')}",
    }[section.kind]
    made = primary_geometry(results.design.coil.geometry)
    tap = "none, all turns in use" if part.tap is None else f"at turn {part.tap:g} from the start"
    rows = [
        WindingRow("Shape", part.shape),
        WindingRow("Conductor", conductor),
        WindingRow("Start radius, to the middle", shown(part.inner_radius, "m")),
        WindingRow("Turns", f"{part.turns:g}"),
        WindingRow("Tap", tap),
        WindingRow("Pitch", shown(part.pitch, "m")),
        WindingRow("Start above the secondary's foot", shown(part.start_height, "m")),
        WindingRow("Conductor length", f"{shown(constants.primary_wire_length, 'm')} and leads"),
        WindingRow("Inductance", shown(constants.primary_inductance, "H")),
        WindingRow("Coupling to the secondary", shown(constants.coupling, "")),
    ]
    if part.shape == "conical":
        rows.insert(6, WindingRow("Rise above the horizontal", f"{part.cone_angle:g}°"))
    gap = made.inner_radius - 0.5 * secondary_geometry(results.design.coil.geometry).mean_diameter
    rows.append(WindingRow("Gap to the secondary, middle to middle", shown(gap, "m")))
    return tuple(rows)


def _top(results: Results) -> tuple[WindingRow, ...]:
    part = results.design.coil.geometry.top_load
    if part.kind == "none":
        return (WindingRow("Shape", "none"),)
    rows = [
        WindingRow("Shape", part.kind),
        WindingRow("Outer diameter", shown(part.diameter, "m")),
    ]
    if part.kind in ("toroid", "disc"):
        rows.append(WindingRow("Thickness", shown(part.thickness, "m")))
    rows.append(WindingRow("Middle above the winding", shown(part.centre_height, "m")))
    if part.point_fitted:
        rows += [
            WindingRow("Breakout point, height above the surface", shown(part.point_height, "m")),
            WindingRow("Breakout point, radius of its tip", shown(part.point_tip_radius, "m")),
        ]
    return (
        *rows,
        WindingRow("Breakout", shown(results.coil.breakout_voltage, "V")),
    )


def direction_notes(results: Results) -> tuple[str, ...]:
    """Which end of each winding goes where, with the dots of the drawing."""
    normal = results.design.drive.feedback_sense == "normal"
    where = "MAIN +" if normal else "the drain"
    other = "the drain" if normal else "MAIN +"
    drive = results.design.drive
    feedback = {
        "base current": (),
        "current transformer": (
            "BASE goes once through the current transformer and on to 0 V, into the side of the "
            "core that the winding's hot end leaves it on; the winding's cold end goes to the "
            "input's bias. Turning it round is as good as swapping the primary's leads: never "
            "both.",
        ),
        "antenna": (
            "BASE goes straight to 0 V. An antenna has no sense of its own: the primary's two "
            "leads alone decide which way round the loop runs.",
        ),
    }[drive.gated.feedback if drive.kind == "gated" else "base current"]
    return (
        "The dot of the secondary is its foot, which goes to BASE; its upper end goes to the top "
        "load.",
        f"The dot of the primary goes to {where}, its other end to {other}.",
        *feedback,
        "Following each winding away from its dot, both turn the same way round when seen from "
        "above: wound alike from the bottom, the dots are the two bottom ends.",
        "If the stage draws current and does not oscillate, swap the two primary leads before "
        "anything else.",
    )
