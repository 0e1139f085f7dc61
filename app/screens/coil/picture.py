"""From the design's geometry section to what the drawing shows."""

from __future__ import annotations

from burstwise.app.drawing.coil_drawing import Dimensions
from burstwise.app.drawing.section import CoilSection, coil_section
from burstwise.core.coil.clearance import check_primary_position
from burstwise.core.coil.resolve import (
    breakout_point,
    primary_geometry,
    secondary_geometry,
    top_load,
)
from burstwise.core.coil.resonator import check_top_load_position
from burstwise.core.design.coil import CoilGeometry


def drawn(geometry: CoilGeometry) -> tuple[CoilSection, Dimensions]:
    """Shapes and written lengths of a geometry.

    Raises
    ------
    InputError
        Geometry that cannot be built.
    """
    primary, secondary = primary_geometry(geometry), secondary_geometry(geometry)
    top, base_height = top_load(geometry), geometry.base_height
    check_top_load_position(secondary, top, base_height)
    check_primary_position(primary, secondary, top, base_height=base_height)
    return (
        coil_section(
            primary, secondary, top, base_height=base_height, point=breakout_point(geometry)
        ),
        Dimensions(
            former_diameter=secondary.former_diameter,
            winding_length=secondary.length,
            base_height=base_height,
            inner_radius=primary.inner_radius,
            start_height=primary.start_height,
            top_diameter=top.diameter,
            top_height=top.centre_height,
        ),
    )
