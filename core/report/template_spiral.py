"""Spiral of a flat or conical primary, seen from above, over as many pages as it takes [mm]."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator
from typing import Final

from burstwise.core.coil.geometry import PrimaryGeometry, PrimaryShape
from burstwise.core.report.sheet import Paragraph, Picture
from burstwise.core.report.template_page import (
    MOST_PAGES,
    Line,
    Point,
    joints,
    tiles,
    window_svg,
)
from burstwise.core.units import shown

_ROOM: Final = 6.0
"""Bare border round the spiral."""
_DEGREES: Final = 4
"""Step along a spiral and a circle."""


def spiral_radius(primary: PrimaryGeometry, turns: float) -> float:
    """Radius of the conductor's middle after some turns, seen from above [mm].

    ``r = r0 + p n cos(a)`` with the pitch p along the winding's surface and its rise a.
    """
    return 1e3 * (primary.inner_radius + primary.pitch * turns * math.cos(primary.slope))


def spiral(primary: PrimaryGeometry, former: float) -> Iterator[Paragraph | Picture]:
    """Pictures of the spiral; a sentence where they would be too many.

    Parameters
    ----------
    primary : PrimaryGeometry
        Flat or conical winding.
    former : float
        Diameter of the secondary's former, for the hole [mm].
    """
    half = 1e3 * primary.half_width
    size = 2 * (spiral_radius(primary, primary.turns) + half + _ROOM)
    windows = tiles(size, size)
    across = shown(1e-3 * size, "m", digits=3)
    if len(windows) > MOST_PAGES:
        yield Paragraph(
            f"The spiral is {across} across and would take {len(windows)} pages; lay it out on the "
            "board itself, from the radii of the winding plan."
        )
        return
    lines = list(_spiral_lines(primary, half, former))
    labels = list(_spiral_labels(primary, half, former))
    rise = (
        f" Seen from above: the turns rise {math.degrees(primary.slope):g}° to the outside, and "
        f"the pitch of {shown(primary.pitch, 'm')} is measured along the slope."
        if primary.shape is PrimaryShape.CONICAL
        else ""
    )
    for number, (name, window) in enumerate(windows):
        of = f", page {name} of {len(windows)}, {across} across" if len(windows) > 1 else ""
        yield Picture(
            window_svg(window, lines, labels, joints(windows, window), name if of else ""),
            f"Primary{of}. Thick: middle of the conductor; thin: its edges; cut the hole for the "
            f"former.{rise if number == 0 else ''}",
            real=True,
        )


def _spiral_lines(
    primary: PrimaryGeometry, half: float, former: float
) -> Iterator[tuple[Line, float]]:
    count = math.ceil(primary.turns * 360 / _DEGREES)
    angles = [min(step * _DEGREES / 360, primary.turns) for step in range(count + 1)]
    for off, width in ((0.0, 0.5), (-half, 0.15), (half, 0.15)):
        path = [_at(spiral_radius(primary, turns) + off, turns) for turns in angles]
        yield from ((pair, width) for pair in itertools.pairwise(path))
    yield from ((pair, 0.4) for pair in _circle(0.5 * former))
    arm = min(5.0, 0.4 * former)
    yield ((-arm, 0.0), (arm, 0.0)), 0.2
    yield ((0.0, -arm), (0.0, arm)), 0.2
    outside = spiral_radius(primary, primary.turns) + half + 3.0
    yield ((0.5 * former, 0.0), (outside, 0.0)), 0.15
    for turns in _crossings(primary):
        inner, outer = spiral_radius(primary, turns) - half - 2.5, half + 2.5
        yield (_at(inner, turns), _at(spiral_radius(primary, turns) + outer, turns)), 0.4


def _crossings(primary: PrimaryGeometry) -> list[float]:
    return [0.0, *([] if primary.tap is None else [primary.tap]), primary.turns]


def _spiral_labels(
    primary: PrimaryGeometry, half: float, former: float
) -> Iterator[tuple[Point, str]]:
    yield (-0.3 * former, -0.3 * former), f"hole {former:.4g} mm"
    for turns, words in zip(
        _crossings(primary),
        (
            "start",
            *([] if primary.tap is None else [f"tap, turn {primary.tap:g}"]),
            f"end, turn {primary.turns:g}",
        ),
        strict=True,
    ):
        x, y = _at(spiral_radius(primary, turns) + half + 2.8, turns)
        yield (x, y + 1.0), words


def _at(radius: float, turns: float) -> Point:
    angle = math.tau * turns
    return radius * math.cos(angle), radius * math.sin(angle)


def _circle(radius: float) -> Iterator[Line]:
    steps = [step * _DEGREES / 360 for step in range(360 // _DEGREES + 1)]
    return itertools.pairwise([_at(radius, turns) for turns in steps])
