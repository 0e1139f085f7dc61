"""Which rating breaks first when the supply rises from where it is."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from burstwise.core.arrays import Array
from burstwise.core.design.calibrated import calibrated
from burstwise.core.design.document import Design
from burstwise.core.evaluate.corners import Corner, corners
from burstwise.core.evaluate.evaluation import table_resistances
from burstwise.core.limits.ratings import AS_DESIGNED, RATINGS
from burstwise.core.studies.fail_order import crossing, reach_of
from burstwise.core.studies.field import field_of, in_rating_order
from burstwise.core.studies.stage_table import StageTable, stage_table
from burstwise.core.units import shown

POINTS: Final = 60
"""Supplies looked at on each side of the present one; crossings lie on straight lines between."""
_LINES: Final = 7
_CLOSE: Final = (0.94, 0.97, 1.0, 1.03)
"""Lines of the second table, over the supply that the first one gives."""
_CLOSE_POINTS: Final = 24
CORNER_LINES: Final = (0.05, 0.2, 0.35, 0.5, 0.65, 0.8, 0.9, 1.0)
"""Supplies of a corner's table over its highest."""


@dataclass(frozen=True, slots=True)
class CornerTable:
    """A corner with the table of its stage."""

    corner: Corner
    table: StageTable


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
    beside: Sequence[CornerTable] = (),
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
    beside : sequence of CornerTable
        Of its corners, see `corner_tables`; without them it is the stage as designed alone.
    points : int
        Supplies looked at on each side of the present one.

    Returns
    -------
    FirstBreak or None
        None when no rating breaks up to the table's highest supply.
    """
    found = breaks_by_supply(design, ready, beside=beside, points=points)
    return found[0] if found else None


def breaks_by_supply(
    design: Design,
    ready: StageTable,
    *,
    beside: Sequence[CornerTable] = (),
    points: int = POINTS,
) -> tuple[FirstBreak, ...]:
    """Every rating that breaks as the supply rises, each in the corner where it does so first.

    Parameters as for `first_break`.

    Returns
    -------
    tuple of FirstBreak
        By supply, the lowest first; ratings that hold up to the table's highest supply are not
        among them.
    """
    stages = (None, *beside)
    return first_of_each(
        [breaks_in_stage(design, ready, corner=stage, points=points) for stage in stages]
    )


def breaks_in_stage(
    design: Design, ready: StageTable, *, corner: CornerTable | None, points: int = POINTS
) -> tuple[FirstBreak, ...]:
    """Ratings that break as the supply rises, in one corner or, for None, as designed.

    Other parameters as for `first_break`.
    """
    now, highest = design.supply.voltage, float(ready.table.voltages[-1])
    below = np.linspace(float(ready.table.voltages[0]), now, points)
    above = np.linspace(now, max(highest, now), points)
    supplies = np.append(below, above[1:])
    return _in_stage(design, ready, supplies, corner, here=points - 1)


def first_of_each(stages: Sequence[Sequence[FirstBreak]]) -> tuple[FirstBreak, ...]:
    """Of what breaks in several stages each rating's lowest, by supply.

    Parameters
    ----------
    stages : sequence of sequences of FirstBreak
        The stage as designed first, which names a break where a corner breaks at the same supply.
    """
    lowest: dict[str, FirstBreak] = {}
    for found in (each for stage in stages for each in stage):
        known = lowest.get(found.rating)
        if known is None or found.supply < known.supply:
            lowest[found.rating] = found
    order = {rating.name: place for place, rating in enumerate(RATINGS)}
    return tuple(sorted(lowest.values(), key=lambda each: (each.supply, order[each.rating])))


def first_break_by_engine(design: Design) -> FirstBreak | None:
    """The same with tables of its own: a coarse one, then one around what it says.

    Looks up to `burstwise.core.studies.fail_order.reach_of` the design.

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
    ohms = _few(table_resistances(design))
    coarse = stage_table(design, top, lines=[volts / top for volts in lines], ohms=ohms, refine=1)
    few = [volts / top for volts in (*lines[:-1:2], top)]
    found = first_break(design, coarse, beside=corner_tables(design, coarse, lines=few))
    if found is None:
        return None
    edge = _CLOSE[-1] * found.supply
    fine = [part / _CLOSE[-1] for part in _CLOSE]
    close = stage_table(design, edge, lines=fine, refine=0)
    around = np.linspace(_CLOSE[0] * found.supply, edge, _CLOSE_POINTS)
    inside = around[around > now] if found.supply > now else around[around < now]
    supplies = np.sort(np.append(inside, found.supply))
    beside = corner_tables(design, close, lines=fine, fine=True, only=found.corner)
    stages = [_in_stage(design, close, supplies, item, here=0) for item in (None, *beside)]
    return next(iter(first_of_each(stages)), found)


def corner_tables(
    design: Design,
    ready: StageTable,
    *,
    lines: Sequence[float] = CORNER_LINES,
    fine: bool = False,
    only: str | None = None,
    progress: Callable[[float], bool] | None = None,
) -> tuple[CornerTable, ...]:
    """Tables of the corners in which a stage runs, coarser than its own.

    Parameters
    ----------
    design : Design
        The design.
    ready : StageTable
        Table of its stage; a corner of the supply alone is read from it.
    lines : sequence of float
        Supplies over the highest, rising to 1.
    fine : bool
        Whether with all on-resistances of the stage's own table, not three.
    only : str
        Name of the one corner to make a table of; all if not given.
    progress : callable
        See `stage_table`.

    Raises
    ------
    StoppedError
        `progress` answered no.
    """
    ohms = table_resistances(design)
    few, highest = ohms if fine else _few(ohms), float(ready.table.voltages[-1])
    found = []
    for corner in corners(design, ready.coil):
        if only not in (None, corner.name):
            continue
        table = ready
        if corner.coil is not ready.coil:
            top = corner.rise * highest
            table = stage_table(
                design, top, lines=lines, coil=corner.coil, ohms=few, refine=0, progress=progress
            )
        found.append(CornerTable(corner, table))
    return tuple(found)


def _few(ohms: Sequence[float]) -> Sequence[float]:
    """The ends and the middle of some on-resistances."""
    return ohms[:: len(ohms) // 2]


def _in_stage(
    design: Design,
    ready: StageTable,
    supplies: Array,
    corner: CornerTable | None,
    *,
    here: int,
) -> tuple[FirstBreak, ...]:
    """Breaks in one corner, or as designed, told at the design's own supply."""
    if corner is None:
        return tuple(_breaks(design, ready, supplies, here=here))
    rise, name = corner.corner.rise, corner.corner.name
    return tuple(
        replace(found, supply=found.supply / rise, corner=name)
        for found in _breaks(design, corner.table, rise * supplies, here=here)
    )


def _breaks(
    design: Design, ready: StageTable, supplies: Array, *, here: int
) -> Iterator[FirstBreak]:
    """Ratings that break from place `here` of some supplies on, or did before."""
    margins = in_rating_order(field_of(design, ready, voltage=supplies).margins)
    for rating, row in zip(RATINGS, margins, strict=True):
        start = here
        while start > 0 and not row[start] >= 0:
            start -= 1
        at = crossing(supplies[start:], row[start:])
        if math.isfinite(at):
            yield FirstBreak(rating.name, rating.title, at)


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
