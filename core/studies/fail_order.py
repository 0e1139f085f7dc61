"""What fails first: the supplies and the duties at which each rating is reached.

With side loading as a margin: a hand, damp air or furniture near the coil adds capacitance to the
top and loss to the secondary.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from burstwise.core.arrays import Array
from burstwise.core.coil.resolve import ResolvedCoil, coil_of
from burstwise.core.design.document import Design, with_values
from burstwise.core.evaluate.evaluation import effective_duty
from burstwise.core.evaluate.load import figures_between
from burstwise.core.limits.ratings import RATINGS
from burstwise.core.studies.field import Field, field_of, in_rating_order
from burstwise.core.studies.stage_table import StageTable, stage_table

SCAN: Final = 240
"""Supplies or duties that are looked at; crossings lie on straight lines in between."""
REACH: Final = 3.0
"""Highest supply looked at, over the present one."""
HIGHEST_SUPPLY: Final = 400.0


@dataclass(frozen=True, slots=True)
class SideLoading:
    """What stands beside the coil: relative rise of top capacitance and of secondary loss [1].

    The defaults are common practice, no source: a hand at half a metre.
    """

    capacitance: float = 0.05
    loss: float = 0.5

    def on(self, coil: ResolvedCoil) -> ResolvedCoil:
        """Coil with the loading."""
        return replace(
            coil,
            secondary_capacitance=coil.secondary_capacitance * (1.0 + self.capacitance),
            secondary_resistance=coil.secondary_resistance * (1.0 + self.loss),
        )


@dataclass(frozen=True, slots=True)
class Reached:
    """Where one rating is reached.

    Attributes
    ----------
    rating, title : str
        Stable name and words.
    supply, supply_loaded : float
        Supply at which it is reached, without and with side loading [V]; inf if not up to the
        highest looked at.
    duty : float
        Duty at which it is reached at the present supply [1]; inf if at none.
    margin : float
        Margin at present [1].
    """

    rating: str
    title: str
    supply: float
    supply_loaded: float
    duty: float
    margin: float


@dataclass(frozen=True, slots=True)
class FailOrder:
    """Ratings in the order in which a rising supply reaches them.

    Attributes
    ----------
    by_supply, by_duty : tuple of Reached
        The same entries in both orders.
    highest : float
        Highest supply looked at [V].
    side : SideLoading
        Loading of the second column.
    """

    by_supply: tuple[Reached, ...]
    by_duty: tuple[Reached, ...]
    highest: float
    side: SideLoading

    @property
    def highest_supply(self) -> float:
        """Supply at which the first rating is reached [V]."""
        return self.by_supply[0].supply

    @property
    def highest_supply_loaded(self) -> float:
        """The same with side loading [V]."""
        return min(item.supply_loaded for item in self.by_supply)


def reach_of(design: Design) -> float:
    """Highest supply that a look ahead goes to [V]."""
    return min(REACH * design.supply.voltage, HIGHEST_SUPPLY)


def fail_order(
    design: Design,
    ready: StageTable,
    *,
    side: SideLoading | None = None,
    progress: Callable[[float], bool] | None = None,
) -> FailOrder:
    """Order in which ratings are reached.

    Parameters
    ----------
    design : Design
        The design.
    ready : StageTable
        Table of its stage; its highest line is the highest supply looked at.
    side : SideLoading, optional
        Loading for the second column.
    progress : callable
        See `stage_table`.
    """
    side = side or SideLoading()
    highest = float(ready.table.voltages[-1])
    coil = side.on(coil_of(design))
    loaded = stage_table(design, highest, coil=coil, progress=progress)
    supplies = np.linspace(0.02 * highest, highest, SCAN)
    bare = in_rating_order(field_of(design, ready, voltage=supplies).margins)
    worse = in_rating_order(field_of(design, loaded, voltage=supplies).margins)
    fitted = with_values(design, {"interrupter.enabled": True})
    duties = np.linspace(0.005, 1.0, SCAN)
    over_duty = in_rating_order(field_of(fitted, ready, duty=duties).margins)
    now = in_rating_order(field_of(design, ready).margins)[:, 0]
    entries = [
        Reached(
            rating.name,
            rating.title,
            crossing(supplies, bare[place]),
            crossing(supplies, worse[place]),
            crossing(duties, over_duty[place]),
            float(now[place]),
        )
        for place, rating in enumerate(RATINGS)
        if np.isfinite(bare[place]).any() or np.isneginf(bare[place]).any()
    ]
    return FailOrder(
        tuple(sorted(entries, key=lambda item: (item.supply, item.margin))),
        tuple(sorted(entries, key=lambda item: (item.duty, item.margin))),
        highest,
        side,
    )


def crossing(at: Array, margin: Array) -> float:
    """First value at which a margin falls to zero, on a straight line; inf if it never does.

    Examples
    --------
    >>> crossing(np.array([1.0, 2.0, 3.0]), np.array([0.5, 0.1, -0.1]))
    2.5
    """
    below = np.flatnonzero(~(margin >= 0))
    if not len(below):
        return math.inf
    place = int(below[0])
    if place == 0:
        return float(at[0])
    low, high = float(margin[place - 1]), float(margin[place])
    if not (math.isfinite(low) and math.isfinite(high)):
        return float(at[place])
    return float(at[place - 1] + (at[place] - at[place - 1]) * low / (low - high))


@dataclass(frozen=True, slots=True)
class Mode:
    """One way to run a stage.

    Attributes
    ----------
    duty : float
        [1]; 1 for continuous.
    average_power, burst_power : float
        From the supply, mean and while on [W].
    top_voltage : float
        Peak while on [V].
    breaks_out : bool
        Whether that is above the breakout voltage.
    junction_mean, junction_peak : float
        [C].
    first_title : str
        Rating with the smallest margin.
    margin : float
        That margin [1].
    highest_supply : float
        Supply at which the first rating is reached [V]; inf if not up to the highest looked at.
    reached_title : str
        Rating that is reached there.
    """

    duty: float
    average_power: float
    burst_power: float
    top_voltage: float
    breaks_out: bool
    junction_mean: float
    junction_peak: float
    first_title: str
    margin: float
    highest_supply: float
    reached_title: str


@dataclass(frozen=True, slots=True)
class SideBySide:
    """The same coil and device, continuous and interrupted."""

    continuous: Mode
    interrupted: Mode


def side_by_side(design: Design, ready: StageTable) -> SideBySide:
    """Continuous against interrupted at the design's duty and frequency."""
    fitted = with_values(design, {"interrupter.enabled": True})
    without = with_values(design, {"interrupter.enabled": False})
    return SideBySide(mode_of(without, ready), mode_of(fitted, ready))


def mode_of(design: Design, ready: StageTable) -> Mode:
    """One way to run a stage, as the design has it."""
    found = field_of(design, ready)
    supplies = np.linspace(0.02, 1.0, SCAN) * float(ready.table.voltages[-1])
    over = in_rating_order(field_of(design, ready, voltage=supplies).margins)
    reached = [crossing(supplies, line) for line in over]
    place = int(np.argmin(reached))
    first = int(np.argmin(in_rating_order(found.margins)[:, 0]))
    point, duty = found.point.at(0), effective_duty(design)
    top = _top(found, ready)
    return Mode(
        duty=duty,
        average_power=point.average_power,
        burst_power=point.average_power / max(duty, 1e-9),
        top_voltage=top,
        breaks_out=top > ready.coil.breakout_voltage,
        junction_mean=point.junction_mean,
        junction_peak=point.junction_peak,
        first_title=RATINGS[first].title,
        margin=float(found.margins.smallest[0]),
        highest_supply=reached[place],
        reached_title=RATINGS[place].title if math.isfinite(reached[place]) else "",
    )


def _top(found: Field, ready: StageTable) -> float:
    figures = figures_between(ready, found.point.voltage, found.point.on_resistance, bursts=False)
    return float(np.ravel(figures.top_voltage_peak)[0])
