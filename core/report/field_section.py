"""Build sheet: how far to stay from the coil because of its field, and what that leaves out."""

from __future__ import annotations

import math
from typing import Final

from burstwise.core.coil.field_around import quasi_static_reach
from burstwise.core.coil.field_distance import CHEST, HEAD, FieldDistance
from burstwise.core.evaluate.results import Results
from burstwise.core.evaluate.surroundings import Surroundings, surroundings_of, why_not_computed
from burstwise.core.report.sheet import Figure, Paragraph, Table
from burstwise.core.units import shown

NOT_COVERED: Final = (
    "Not covered: discharges, whose field is broadband and whose charge hangs in the air; "
    "averaging over bursts or over the body; levels against heating above "
    "100 kHz, which are averaged over minutes and may ask for more distance in the magnetic field; "
    "implants and other devices in or on the body; metal that is touched or grasped; limits on "
    "what a transmitter may emit. Walls, furniture, leads and a floor that is not earthed change "
    "the field."
)
"""What the distances do not cover."""

NO_PERMISSION: Final = (
    "No distance here is a permission to be there. Keep the largest of these distances, of what "
    "the discharges reach, and of what local rules ask for; those rules and licensed people decide."
)
"""What the distances are not."""


def field_section(results: Results) -> tuple[Paragraph | Table, ...]:
    """Blocks on the distance to keep; a sentence says why where there is none.

    Parameters
    ----------
    results : Results
        Evaluated design.
    """
    found = surroundings_of(results)
    if found is None:
        why = why_not_computed(results)
        return (
            Paragraph(f"{why} Take that as no sign of a small distance."),
            Paragraph(NO_PERMISSION, "caution"),
        )
    strength = found.emission
    said = (
        "Distance from the coil's axis beyond which the field of the carrier during a burst stays "
        f"below published reference levels, computed at {shown(strength.top_voltage, 'V')} on top "
        f"and {shown(strength.primary_current, 'A')} in the primary, both RMS, at "
        f"{shown(strength.frequency, 'Hz')}. Heights count from the earth plane; the first "
        "distance is the largest over heights from the plane to 2 m and those of the coil's "
        f"parts, and never less than {shown(found.sources.edge, 'm', digits=3)}, where the "
        "computation begins. Levels: ICNIRP 2010, 3 kHz to 10 MHz, quoted from reprints, "
        "from memory."
    )
    blocks: list[Paragraph | Table] = [Paragraph(said), _table(found)]
    if found.beyond_reach:
        reach = shown(quasi_static_reach(strength.frequency), "m", digits=3)
        blocks.append(
            Paragraph(
                f"Beyond {reach} the field begins to travel as a wave, which is not in the "
                "computation: distances above that are rough.",
                "caution",
            )
        )
    return (*blocks, Paragraph(NOT_COVERED), Paragraph(NO_PERMISSION, "caution"))


def _table(found: Surroundings) -> Table:
    figures = tuple(
        Figure(
            f"field_distance.{item.level.name}_m",
            item.largest if math.isfinite(item.largest) else None,
            "m",
            _metres(item.largest),
        )
        for item in found.distances
    )
    return Table(
        (
            "Reference level, RMS",
            "Level",
            "Keep",
            f"Chest at {CHEST} m, keep",
            f"Head at {HEAD} m, keep",
        ),
        tuple(
            _row(item, figure.text) for item, figure in zip(found.distances, figures, strict=True)
        ),
        (4, 2, 2, 2, 2),
        figures,
    )


def _row(item: FieldDistance, keep: str) -> tuple[str, ...]:
    level = item.level
    return (
        level.title,
        shown(level.value, level.unit),
        keep,
        _metres(item.at(CHEST)),
        _metres(item.at(HEAD)),
    )


def _metres(distance: float) -> str:
    return shown(distance, "m") if math.isfinite(distance) else "more than 1 km"
