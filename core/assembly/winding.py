"""Winding plan: what to wind, how much wire it takes, which way round, and how to connect it."""

from __future__ import annotations

from dataclasses import dataclass

from core.coil.resolve import primary_geometry, secondary_geometry
from core.coil.summary import CoilConstants
from core.evaluate.results import Results
from core.units import shown


@dataclass(frozen=True, slots=True)
class WindingRow:
    """One line of the plan; `unit` is empty for words."""

    name: str
    text: str


@dataclass(frozen=True, slots=True)
class WindingPlan:
    """Rows for each winding, and notes on direction and connection."""

    secondary: tuple[WindingRow, ...]
    primary: tuple[WindingRow, ...]
    top_load: tuple[WindingRow, ...]
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
            ("The coil is given by measured values; no dimensions are known.", *sense),
        )
    return WindingPlan(
        _secondary(results, constants), _primary(results, constants), _top(results), sense
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
    return (
        "The dot of the secondary is its foot, which goes to BASE; its upper end goes to the top "
        "load.",
        f"The dot of the primary goes to {where}, its other end to {other}.",
        "Following each winding away from its dot, both turn the same way round when seen from "
        "above: wound alike from the bottom, the dots are the two bottom ends.",
        "If the stage draws current and does not oscillate, swap the two primary leads before "
        "anything else.",
    )
