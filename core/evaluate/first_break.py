"""Which rating breaks first when the supply rises from where it is."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from core.design.calibrated import calibrated
from core.design.document import Design
from core.evaluate.fail_order import crossing, reach_of
from core.evaluate.field import field_of, in_rating_order
from core.evaluate.stage_table import StageTable, stage_table
from core.limits.ratings import RATINGS
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
    """

    rating: str
    title: str
    supply: float


def first_break(design: Design, ready: StageTable, *, points: int = POINTS) -> FirstBreak | None:
    """First rating to break when the supply rises from the design's own.

    A rating that is exceeded already counts with the supply below the present one at which that
    began.

    Parameters
    ----------
    design : Design
        The design.
    ready : StageTable
        Table of its stage; its lines bound the supplies looked at.
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
    return _first(design, ready, np.append(below, above[1:]), here=points - 1)


def first_break_by_engine(design: Design) -> FirstBreak | None:
    """The same with tables of its own: a coarse one, then one around what it says.

    Looks up to `core.evaluate.fail_order.reach_of` the design.

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
    found = first_break(design, coarse)
    if found is None:
        return None
    edge = _CLOSE[-1] * found.supply
    close = stage_table(design, edge, lines=[part / _CLOSE[-1] for part in _CLOSE], refine=0)
    around = np.linspace(_CLOSE[0] * found.supply, edge, _CLOSE_POINTS)
    inside = around[around > now] if found.supply > now else around[around < now]
    return _first(design, close, np.sort(np.append(inside, found.supply)), here=0) or found


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
    return None if found is None else {"rating": found.rating, "supply_V": found.supply}


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
    if apart <= 0.0:
        return f"{found.title}: broken since {at}, {shown(-apart, 'V', digits=2)} below"
    return f"{found.title} at {at}, {shown(apart, 'V', digits=2)} above"
