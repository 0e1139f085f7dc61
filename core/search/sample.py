"""What the engine says of one combination, before a wish judges it.

Few engine runs give figures of the stage as designed. What its worst corners ask on top, and what
the full evaluation asks beyond a trial, is known where a full evaluation was made near by.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any, Final

from burstwise.core.evaluate.results import Results
from burstwise.core.limits.rating import Limit
from burstwise.core.search.wish import DEAD, MARGIN, Wish
from burstwise.core.studies.quick import CornerShare, KnownCorners

INVALID: Final = 100.0
"""Miss of a combination that is no design."""


@dataclass(frozen=True, slots=True)
class Trial:
    """What a combination of values gives.

    Attributes
    ----------
    values : mapping
        Values of the free fields.
    objective : float
        Figure wished for, in its own unit; nan where there is none.
    miss : float
        Sum of what is missed; 0 where everything holds.
    kept : tuple of float
        Figures of the wish's conditions, in their order.
    margins : mapping
        Margin of each rating in its worst corner [1].
    """

    values: Mapping[str, Any]
    objective: float
    miss: float
    kept: tuple[float, ...]
    margins: Mapping[str, float] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Sample:
    """Figures of one combination.

    Attributes
    ----------
    values : mapping
        Values of the free fields.
    figures : mapping or None
        Figures that the wish asks for, by section as in `results_object`, without margins; None
        where the combination is no design.
    limits : tuple of Limit
        Ratings of the stage as designed; in their worst corners where `exact`.
    ambient : float
        Ambient temperature [C].
    stops : tuple of str
        Codes of stop findings.
    exact : bool
        Whether the full evaluation said it.
    """

    values: Mapping[str, Any]
    figures: Mapping[str, Any] | None
    limits: tuple[Limit, ...] = ()
    ambient: float = 0.0
    stops: tuple[str, ...] = ()
    exact: bool = False


def sample_of(
    values: Mapping[str, Any], results: Results, wish: Wish, *, exact: bool = False
) -> Sample:
    """Sample of results: the few figures that a wish asks for, and all ratings."""
    stops = [item.code for item in results.findings if item.severity.value == "stop"]
    return Sample(
        dict(values),
        _asked(wish.figures(results), wish),
        tuple(replace(item, text="") for item in results.limits),
        results.design.cooling.ambient,
        tuple(stops),
        exact,
    )


def _asked(figures: Mapping[str, Any], wish: Wish) -> dict[str, Any]:
    """The part of a results object that a wish asks for."""
    asked: dict[str, Any] = {"carrier": {"oscillates": figures["carrier"]["oscillates"]}}
    for name in wish.names:
        section, _, rest = name.partition(".")
        if section != MARGIN:
            first = rest.split(".")[0]
            asked.setdefault(section, {})[first] = figures[section][first]
    return asked


def judged(sample: Sample, wish: Wish, near: KnownCorners) -> Trial:
    """Trial of a sample under a wish.

    Parameters
    ----------
    sample : Sample
        Its figures.
    wish : Wish
        What is wanted; asks for no other figures than the wish that the sample was made for.
    near : KnownCorners
        What a full evaluation near by asked over its own trial; an exact sample needs none.
    """
    if sample.figures is None:
        nothing = tuple(math.nan for _ in wish.conditions)
        return Trial(sample.values, math.nan, INVALID, nothing)
    limits = sample.limits if sample.exact else near.over(sample.limits, sample.ambient)
    figures = {
        **sample.figures,
        "limits": [
            {"rating": item.rating, "margin_percent": _number(100 * item.margin)} for item in limits
        ],
    }
    miss = wish.miss(figures)
    if sample.exact and sample.stops and miss == 0.0 and not _allowed(wish, sample.stops):
        miss = 1.0
    return Trial(
        sample.values,
        wish.objective.value(figures),
        miss,
        tuple(keep.value(figures) for keep in wish.conditions),
        {item.rating: item.margin for item in limits},
    )


def exceeds_nothing(trial: Trial) -> bool:
    """Whether a trial works and no rating is exceeded in it."""
    return trial.miss < DEAD and all(margin >= 0.0 for margin in trial.margins.values())


def asked_beyond(trial: Sample, exact: Sample) -> KnownCorners:
    """What a full evaluation asked over a trial of the same design, rating by rating.

    Corners, the half-step check and the coarse table of a trial are all in it.
    """
    plain = {item.rating: item for item in trial.limits}
    shares, kept = {}, []
    for item in exact.limits:
        one = plain.get(item.rating)
        if one is None:
            kept.append(item)
            continue
        zero = exact.ambient if item.unit == "°C" else 0.0
        share = _ratio(item.value - zero, one.value - zero)
        other = _ratio(item.limit - zero, one.limit - zero)
        if math.isfinite(share) and math.isfinite(other):
            shares[item.rating] = CornerShare(item.corner, share, other)
    return KnownCorners(shares, tuple(kept))


def _ratio(value: float, over: float) -> float:
    return value / over if over else math.nan


def _allowed(wish: Wish, stops: tuple[str, ...]) -> bool:
    """Whether all stops are ratings that the wish itself lets be exceeded."""
    lowest = min(keep.limit for keep in wish.conditions if keep.name == MARGIN)
    return lowest < 0.0 and all(code.startswith("exceeded-") for code in stops)


def _number(value: float) -> float | None:
    return float(value) if math.isfinite(value) else None
