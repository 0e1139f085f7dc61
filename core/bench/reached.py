"""What a forecast consists of: ratings, where each is reached, and the whole of it."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from burstwise.core.bench.derived import DerivedTable
from burstwise.core.bench.readings import Column
from burstwise.core.bench.trend import Trend
from burstwise.core.findings import Finding


class Rating(StrEnum):
    """Ratings of the device that a forecast answers for."""

    VOLTAGE = "voltage"
    CURRENT = "current"
    POWER = "power"

    @property
    def unit(self) -> str:
        """SI unit of the rating."""
        return {"voltage": "V", "current": "A", "power": "W"}[self.value]

    @property
    def column(self) -> Column:
        """Column of the readings that it follows from."""
        return Column.DRAIN_PEAK if self is Rating.VOLTAGE else Column.SHUNT_RMS


@dataclass(frozen=True, slots=True)
class Reached:
    """Where one rating is reached.

    Attributes
    ----------
    rating : Rating
        Which one.
    limit : float
        Its value, in V, A or W.
    supply : float
        Supply at which the trend reaches it [V], infinity where the trend never does.
    low, high : float
        Limits of the 90 % interval of that supply [V].
    side_loaded_supply : float
        The same with side loading [V].
    probability_first : float
        Chance that this rating is the first to be reached [-].
    extrapolated : bool
        The supply lies beyond 1.5 times the highest supply measured.
    trend : Trend
        What was fitted, in volts for the voltage rating, in amperes RMS for the others.
    """

    rating: Rating
    limit: float
    supply: float
    low: float
    high: float
    side_loaded_supply: float
    probability_first: float
    extrapolated: bool
    trend: Trend


@dataclass(frozen=True, slots=True)
class Forecast:
    """What the readings say about higher supplies.

    Attributes
    ----------
    derived : DerivedTable
        Derived columns of all rows.
    reached : tuple of Reached
        Ratings in the order in which they are reached, the first to be reached first.
    first_low, first_high : float
        90 % interval of the supply at which the first rating, whichever it is, is reached [V].
    side_load : float
        Rise of current and spike assumed under side loading [-].
    findings : tuple of Finding
        Everything found from the readings to the forecast, heaviest first.
    """

    derived: DerivedTable
    reached: tuple[Reached, ...]
    first_low: float
    first_high: float
    side_load: float
    findings: tuple[Finding, ...]
