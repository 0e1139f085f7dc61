"""Ratings against what a design asks of them, the first to break first."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from core.design.document import Design
from core.limits.checks import RATINGS
from core.limits.derating import derated_current, derated_power
from core.limits.load import Load
from core.limits.rating import TIGHT_BELOW, Limit, Rating, Verdict, verdict_of

__all__ = [
    "RATINGS",
    "TIGHT_BELOW",
    "Limit",
    "Load",
    "Margins",
    "Rating",
    "Verdict",
    "derated_current",
    "derated_power",
    "limits",
    "margins",
    "title_of",
    "verdict_of",
]


@dataclass(frozen=True, slots=True)
class Margins:
    """Margins over a field of operating points.

    Attributes
    ----------
    names : tuple of str
        Ratings that apply.
    margin : Array (ratings, ...)
        Margins [1], -inf where the device runs away.
    """

    names: tuple[str, ...]
    margin: NDArray[np.float64]

    @property
    def first(self) -> NDArray[np.intp]:
        """Place in `names` of the smallest margin at each point."""
        return np.asarray(np.argmin(self.margin, axis=0))

    @property
    def smallest(self) -> NDArray[np.float64]:
        """Smallest margin at each point [1]."""
        return np.asarray(np.min(self.margin, axis=0))

    def of(self, name: str) -> NDArray[np.float64]:
        """Margin of one rating."""
        return np.asarray(self.margin[self.names.index(name)])


def limits(design: Design, load: Load) -> tuple[Limit, ...]:
    """All ratings of a design under a load, the smallest margin first."""
    found = [rating.limit(design, load) for rating in RATINGS if rating.fits(design, load)]
    return tuple(sorted(found, key=lambda item: item.margin))


def margins(design: Design, load: Load) -> Margins:
    """Margins of all ratings over a load whose entries are arrays of one shape."""
    used = [rating for rating in RATINGS if rating.fits(design, load)]
    each = np.broadcast_arrays(*(rating.figures(design, load)[2] for rating in used))
    stacked = np.nan_to_num(np.stack(each), nan=-np.inf, posinf=np.inf, neginf=-np.inf)
    return Margins(tuple(rating.name for rating in used), stacked)


def title_of(name: str) -> str:
    """Words of a rating.

    Examples
    --------
    >>> title_of("drain_voltage")
    'Peak drain voltage'
    """
    return next(rating.title for rating in RATINGS if rating.name == name)
