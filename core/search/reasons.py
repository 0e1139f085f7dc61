"""Why the answer is what it is: what holds a design back, and what contradicts what."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

from burstwise.core.findings import Finding, heaviest_first, note, stop
from burstwise.core.limits.ratings import title_of
from burstwise.core.search.found import Found, Limiting, Nearest
from burstwise.core.search.sample import Trial
from burstwise.core.search.space import Free
from burstwise.core.search.trial import Ground
from burstwise.core.search.wish import MARGIN, Keep, in_words

CLOSE: Final = 0.02
"""Distance to a condition, over its limit or as a margin, from which it holds a design back."""


def limiting(ground: Ground, found: Found | None) -> tuple[Limiting, ...]:
    """Conditions that a design stands at (or misses) and ends of ranges that it stands at."""
    if found is None:
        return ()
    figures = ground.wish.figures(found.results)
    reasons = []
    for keep in ground.wish.conditions:
        value = keep.value(figures)
        if math.isnan(value) and keep.name.startswith(f"{MARGIN}."):
            continue
        if not keep.slack(value) > CLOSE:
            reasons.append(Limiting(keep.name, _words(keep, value, found)))
    for one in ground.free:
        end = one.at_end(found.values[one.path])
        if end:
            reasons.append(Limiting(one.path, _end_words(one, found, end)))
    return tuple(reasons)


def _words(keep: Keep, value: float, found: Found) -> str:
    text = f"{keep.text}: it is {in_words(keep.name, value)}"
    if keep.name == MARGIN and found.results.limits:
        text += f", {title_of(found.results.first_limit.rating).lower()}"
    return text


def _end_words(one: Free, found: Found, end: str) -> str:
    return f"{one.title} stands at the {end} end of its range, {one.text(found.values[one.path])}"


def findings_of(
    ground: Ground,
    found: Sequence[Found],
    closest: Found | None,
    trials: Sequence[Trial],
    *,
    nearest: Nearest | None = None,
) -> tuple[Finding, ...]:
    """Findings of a search."""
    told: list[Finding] = list(ground.hidden)
    if not found:
        told.append(stop("no-design", "search", _why_none(ground, closest, trials)))
    if nearest is not None:
        told.append(note("nearest-wish", "search", f"What can be had: {nearest.text}."))
    told += [
        note(
            "moves-nothing",
            one.path,
            f"{one.title} moves neither what is wished for nor what must hold.",
        )
        for one in ground.free
        if _moves_nothing(one, trials) and all(item.field != one.path for item in ground.hidden)
    ]
    told.append(
        note(
            "not-proven",
            "search",
            f"{len(trials)} combinations were tried; a better one may exist. Figures hold for the "
            "parts as typed, without their tolerance.",
        )
    )
    return heaviest_first(told)


def _why_none(ground: Ground, closest: Found | None, trials: Sequence[Trial]) -> str:
    """Which conditions contradict each other, or cannot be met at all, and by how much."""
    valid = [trial for trial in trials if not all(math.isnan(x) for x in trial.kept)]
    if not valid or closest is None:
        return "None of the combinations tried makes a stage that works; widen the ranges."
    alone, never = [], []
    figures = ground.wish.figures(closest.results)
    for place, keep in enumerate(ground.wish.conditions):
        reached = [trial.kept[place] for trial in valid if not math.isnan(trial.kept[place])]
        best = min(reached) if keep.most else max(reached) if reached else math.nan
        here = keep.value(figures)
        if not keep.slack(best) >= 0.0:
            never.append(f"{keep.text} (best reached: {in_words(keep.name, best)})")
        elif not keep.slack(here) >= 0.0:
            alone.append(f"{keep.text} (closest design: {in_words(keep.name, here)})")
    if never:
        return f"Not reached by any combination tried: {'; '.join(never)}."
    others = [
        keep.text for keep in ground.wish.conditions if not any(keep.text in each for each in alone)
    ]
    against = f" together with {' and '.join(others)}" if others else ""
    return (
        f"Each condition can be held alone, but not {' and '.join(alone) or 'all of them'}"
        f"{against}."
    )


def _moves_nothing(one: Free, trials: Sequence[Trial]) -> bool:
    """Whether trials that differ in one field alone never differ in what counts.

    Only pairs that differ in nothing else tell; without such a pair nothing is said.
    """
    groups: dict[tuple[object, ...], list[Trial]] = {}
    for trial in trials:
        if math.isnan(trial.objective):
            continue
        rest = tuple(value for path, value in trial.values.items() if path != one.path)
        groups.setdefault(rest, []).append(trial)
    pairs = [group for group in groups.values() if len(group) > 1]
    return bool(pairs) and all(
        (trial.objective, trial.kept) == (group[0].objective, group[0].kept)
        for group in pairs
        for trial in group
    )
