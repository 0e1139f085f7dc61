"""The geometry section of a design for the coil's formulas, and the constants that it gives.

The costly part, from geometry to constants, is kept for the last few geometries.
"""

from __future__ import annotations

import math
from functools import lru_cache

from burstwise.core.coil.breakout import Air, BreakoutPoint
from burstwise.core.coil.geometry import (
    ConductorKind,
    PrimaryConductor,
    PrimaryGeometry,
    PrimaryShape,
    SecondaryGeometry,
    TopLoad,
    TopLoadKind,
)
from burstwise.core.coil.summary import CoilConstants, coil_constants
from burstwise.core.coil.wire import EnamelGrade, enamelled_wire
from burstwise.core.design.coil import CoilGeometry
from burstwise.core.errors import InputError


@lru_cache(maxsize=64)
def geometry_constants(
    geometry: CoilGeometry, temperature_c: float = 20.0, rings: int = 100
) -> CoilConstants:
    """Constants from the geometry section alone; kept for the last 64 of them.

    Raises
    ------
    InputError
        Geometry that cannot be built, with the field's path in the design.
    """
    try:
        return coil_constants(
            primary_geometry(geometry),
            secondary_geometry(geometry),
            top_load(geometry),
            base_height=geometry.base_height,
            temperature_c=temperature_c,
            rings=rings,
            air=Air(temperature_c, geometry.air_pressure),
            point=breakout_point(geometry),
        )
    except InputError as error:
        raise InputError(_design_path(error.field, geometry), error.value, error.limit) from error


_RENAMED = {
    "bare_diameter": "secondary.wire_diameter",
    "secondary.overall_diameter": "secondary.wire_diameter",
}


def _design_path(field: str, geometry: CoilGeometry) -> str:
    name = field.removeprefix("coil.")
    if name == "secondary.turns" and geometry.secondary.turns is None:
        name = "secondary.winding_length"
    return f"coil.geometry.{_RENAMED.get(name, name)}"


def secondary_geometry(geometry: CoilGeometry) -> SecondaryGeometry:
    """Secondary of the design for the coil's formulas."""
    part = geometry.secondary
    wire = enamelled_wire(part.wire_diameter, EnamelGrade(part.enamel_grade))
    turns = part.turns
    if turns is None:
        assert part.winding_length is not None
        turns = part.winding_length / (wire.overall_diameter + part.spacing)
    return SecondaryGeometry(
        former_diameter=part.former_diameter,
        bare_diameter=part.wire_diameter,
        overall_diameter=wire.overall_diameter,
        turns=turns,
        spacing=part.spacing,
    )


def primary_geometry(geometry: CoilGeometry) -> PrimaryGeometry:
    """Primary of the design for the coil's formulas."""
    part, section = geometry.primary, geometry.primary.conductor
    return PrimaryGeometry(
        shape=PrimaryShape(part.shape),
        conductor=PrimaryConductor(
            kind=ConductorKind(section.kind),
            diameter=section.diameter,
            wall=section.wall,
            width=section.width,
            thickness=section.thickness,
        ),
        inner_radius=part.inner_radius,
        turns=part.turns,
        pitch=part.pitch,
        start_height=part.start_height,
        cone_angle=math.radians(part.cone_angle),
        tap=part.tap,
    )


def top_load(geometry: CoilGeometry) -> TopLoad:
    """Top load of the design for the coil's formulas."""
    part = geometry.top_load
    return TopLoad(
        kind=TopLoadKind(part.kind),
        diameter=part.diameter,
        thickness=part.thickness,
        centre_height=part.centre_height,
        roughness=part.roughness,
    )


def breakout_point(geometry: CoilGeometry) -> BreakoutPoint | None:
    """Breakout point of the design for the coil's formulas, None where none is fitted."""
    part = geometry.top_load
    if not part.point_fitted:
        return None
    return BreakoutPoint(part.point_tip_radius, part.point_height)
