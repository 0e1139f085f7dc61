"""Templates at 1:1 for paper: the spiral of a flat or conical primary, and where windings end."""

from __future__ import annotations

from typing import Final

from burstwise.core.coil.geometry import PrimaryShape
from burstwise.core.coil.resolve import primary_geometry, secondary_geometry
from burstwise.core.design.coil import CoilGeometry
from burstwise.core.evaluate.results import Results
from burstwise.core.report.sheet import Paragraph, Picture
from burstwise.core.report.template_page import RULER
from burstwise.core.report.template_spiral import spiral
from burstwise.core.report.template_strips import primary_marks, secondary_marks, strips

MEASURE: Final = (
    "Print at 100 %, without fitting to the page. Measure this before use: both rulers of each "
    f"page must be {RULER:g} mm long, or the page is of no use."
)


def templates(results: Results) -> tuple[Paragraph | Picture, ...]:
    """Blocks of all templates of a design; a sentence says why where there are none.

    Parameters
    ----------
    results : Results
        Evaluated design.
    """
    if results.coil.constants is None:
        return (
            Paragraph(
                "The coil is given by measured values; no dimensions are known to draw from."
            ),
        )
    return geometry_templates(results.design.coil.geometry)


def geometry_templates(geometry: CoilGeometry) -> tuple[Paragraph | Picture, ...]:
    """As `templates`, of a coil's dimensions."""
    primary, secondary = primary_geometry(geometry), secondary_geometry(geometry)
    blocks: list[Paragraph | Picture] = [Paragraph(MEASURE, "caution")]
    wanted = [("Secondary", secondary_marks(1e3 * secondary.length, secondary.turns))]
    if primary.shape is PrimaryShape.HELICAL:
        wanted.append(("Primary", primary_marks(primary)))
    else:
        blocks += spiral(primary, 1e3 * geometry.secondary.former_diameter)
    return (*blocks, *strips(wanted))
