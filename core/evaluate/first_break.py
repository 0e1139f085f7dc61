"""Which rating breaks first when the supply rises from where it is."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from core.design.calibrated import calibrated
from core.design.document import Design
from core.evaluate.corner_table import corner_stage
from core.evaluate.corners import CornerPoint, at_supply, worked_out
from core.evaluate.fail_order import crossing, reach_of
from core.evaluate.field import field_of, in_rating_order
from core.evaluate.stage_table import StageTable, stage_table
from core.limits.ratings import AS_DESIGNED, RATINGS
from core.units import shown

Array = NDArray[np.float64]

POINTS: Final = 60
"""Supplies looked at on each side of the present one; crossings lie on straight lines between."""
_LINES: Final = 7
_CLOSE: Final = (0.94, 0.97, 1.0, 1.03)
"""Lines of the second table, over the supply that the first one gives."""
_CLOSE_POINTS: Final = 24


@dataclass(frozen=True, slots=True)
class FirstBreak:
    """The first rating to break.

    Attributes
    ----------
    rating, title : str
        Stable name and words.
    supply : float
        Supply at which it breaks [V]; at or below the present one where it is exceeded already.
    corner : str
        Corner in which it does.
    """

    rating: str
    title: str
    supply: float
    corner: str = AS_DESIGNED


def first_break(
    design: Design,
    ready: StageTable,
    *,
    corners: Sequence[CornerPoint] = (),
    points: int = POINTS,
) -> FirstBreak | None:
    """First rating to break when the supply rises from the design's own, in any corner.

    A rating that is exceeded already counts with the supply below the present one at which that
    began.

    Parameters
    ----------
    design : Design
        The design.
    ready : StageTable
        Table of its stage; its lines bound the supplies looked at.
    corners : sequence of CornerPoint
        Of a full evaluation of the design; each goes through its run there, see
        `core.evaluate.corner_table`.
    points : int
        Supplies looked at on each side of the present one.

    Returns
    -------
    FirstBreak or None
        None when no rating breaks up to the table's highest supply.
    """
    now, highest = design.supply.voltage, float(ready.table.voltages[-1])
    below = np.linspace(float(ready.table.voltages[0]), now, points)
    above = np.linspace(now, max(highest, now), points)
    supplies = np.append(below, above[1:])
    return _first_of_all(design, ready, supplies, corners, here=points - 1)


def first_break_by_engine(
    design: Design, *, corners: Sequence[CornerPoint] = ()
) -> FirstBreak | None:
    """The same with tables of its own: a coarse one, then one around what it says.

    Looks up to `core.evaluate.fail_order.reach_of` the design.

    Parameters
    ----------
    design : Design
        The design.
    corners : sequence of CornerPoint
        Of its full evaluation; each is run again where it breaks.

    Raises
    ------
    InputError
        The design cannot be evaluated as it stands.
    """
    design = calibrated(design)
    now, reach = design.supply.voltage, reach_of(design)
    lines = (
        np.geomspace(0.15 * now, now, 4)[:-1].tolist()
        + np.linspace(now, max(reach, 1.01 * now), _LINES).tolist()
    )
    top = lines[-1]
    coarse = stage_table(design, top, lines=[volts / top for volts in lines], refine=1)
    found = first_break(design, coarse, corners=corners)
    if found is None:
        return None
    edge = _CLOSE[-1] * found.supply
    close = stage_table(design, edge, lines=[part / _CLOSE[-1] for part in _CLOSE], refine=0)
    around = np.linspace(_CLOSE[0] * found.supply, edge, _CLOSE_POINTS)
    inside = around[around > now] if found.supply > now else around[around < now]
    again = [_run_at(item, close, found.supply) for item in corners]
    supplies = np.sort(np.append(inside, found.supply))
    return _first_of_all(design, close, supplies, again, here=0) or found


def _run_at(point: CornerPoint, ready: StageTable, supply: float) -> CornerPoint:
    """A corner run again at another supply [V]."""
    there = at_supply(point.corner, supply)
    return worked_out(there, ready.table, point.run)


def _first_of_all(
    design: Design,
    ready: StageTable,
    supplies: Array,
    corners: Sequence[CornerPoint],
    *,
    here: int,
) -> FirstBreak | None:
    """First rating to break as designed or in a corner."""
    best = _first(design, ready, supplies, here=here)
    for item in corners:
        stage = corner_stage(ready.table, item.run)
        table = StageTable(
            ready.design, item.corner.coil, stage.table, stage.loss_names, stage.losses
        )
        rise = item.corner.rise
        found = _first(design, table, rise * supplies, here=here)
        if found is None:
            continue
        found = replace(found, supply=found.supply / rise, corner=item.corner.name)
        if best is None or found.supply < best.supply:
            best = found
    return best


def _first(design: Design, ready: StageTable, supplies: Array, *, here: int) -> FirstBreak | None:
    """First rating to break from place `here` of some supplies on, or where it did before."""
    margins = in_rating_order(field_of(design, ready, voltage=supplies).margins)
    best: FirstBreak | None = None
    for rating, row in zip(RATINGS, margins, strict=True):
        start = here
        while start > 0 and not row[start] >= 0:
            start -= 1
        at = crossing(supplies[start:], row[start:])
        if math.isfinite(at) and (best is None or at < best.supply):
            best = FirstBreak(rating.name, rating.title, at)
    return best


def break_object(found: FirstBreak | None) -> dict[str, object] | None:
    """What `burstwise evaluate --json` prints as ``first_break``."""
    if found is None:
        return None
    return {"rating": found.rating, "supply_V": found.supply, "corner": found.corner}


def break_words(found: FirstBreak | None, design: Design, *, highest: float | None = None) -> str:
    """One line about the first rating to break.

    Parameters
    ----------
    found : FirstBreak or None
        What breaks.
    design : Design
        Whose supply the distance is told from.
    highest : float, optional
        Highest supply looked at [V]; `reach_of` the design if not given.
    """
    reach = shown(reach_of(design) if highest is None else highest, "V", digits=3)
    if found is None:
        return f"none up to {reach}"
    apart = found.supply - design.supply.voltage
    at = shown(found.supply, "V", digits=3)
    where = "" if found.corner == AS_DESIGNED else f" ({found.corner})"
    if apart <= 0.0:
        return f"{found.title}: broken since {at}, {shown(-apart, 'V', digits=2)} below{where}"
    return f"{found.title} at {at}, {shown(apart, 'V', digits=2)} above{where}"
