"""Ratings against what a design asks of them, the first to break first."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from burstwise.core.design.document import Design
from burstwise.core.limits.checks import RATINGS
from burstwise.core.limits.derating import derated_current, derated_power
from burstwise.core.limits.load import Load
from burstwise.core.limits.rating import (
    AS_DESIGNED,
    TIGHT_BELOW,
    Limit,
    Rating,
    Verdict,
    verdict_of,
)

__all__ = [
    "AS_DESIGNED",
    "RATINGS",
    "TIGHT_BELOW",
    "CornerLoad",
    "Limit",
    "Load",
    "Margins",
    "Rating",
    "Verdict",
    "derated_current",
    "derated_power",
    "limits",
    "limits_over",
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


@dataclass(frozen=True, slots=True)
class CornerLoad:
    """What one state of the stage asks of the parts.

    Attributes
    ----------
    corner, words : str
        Its name, and how a sentence tells it; no words for the stage as designed.
    load : Load
        One operating point.
    """

    corner: str
    words: str
    load: Load


def limits(design: Design, load: Load) -> tuple[Limit, ...]:
    """All ratings of a design under a load, the smallest margin first."""
    return limits_over(design, [CornerLoad(AS_DESIGNED, "", load)])


def limits_over(design: Design, states: Sequence[CornerLoad]) -> tuple[Limit, ...]:
    """All ratings of a design, each in the state that asks most, the smallest margin first.

    Parameters
    ----------
    design : Design
        The design.
    states : sequence of CornerLoad
        States of its stage; of equal ones the first counts.
    """
    found = []
    for rating in RATINGS:
        each = [
            (_margin(rating, design, item.load), item)
            for item in states
            if rating.fits(design, item.load)
        ]
        if each:
            _, worst = min(each, key=lambda pair: pair[0])
            found.append(rating.limit(design, worst.load, corner=worst.corner, words=worst.words))
    return tuple(sorted(found, key=lambda item: item.margin))


def _margin(rating: Rating, design: Design, load: Load) -> float:
    """Margin of one operating point [1]; what is not a number counts as none at all."""
    margin = float(rating.figures(design, load)[2])
    return -np.inf if np.isnan(margin) else margin


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
