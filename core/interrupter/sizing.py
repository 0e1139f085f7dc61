"""Backwards sizing: a wish in, ranked sets of real parts out, else the reason and the nearest."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from functools import partial
from types import MappingProxyType
from typing import Final

import numpy as np

from burstwise.core.design.timer_wish import CIRCUIT_NAMES, TIMER_NAMES, TimerWish
from burstwise.core.errors import InputError
from burstwise.core.findings import Finding, heaviest_first, note, stop
from burstwise.core.interrupter.candidates import (
    DUTY_TOLERANCE,
    FREQUENCY_TOLERANCE,
    Attempt,
    Candidates,
    astable_candidates,
    duty_targets,
)
from burstwise.core.interrupter.circuits import SteeredDischarge, SteeredOutput, circuit_named
from burstwise.core.interrupter.dissipation import resistor_findings
from burstwise.core.interrupter.evaluation import evaluated_sets
from burstwise.core.interrupter.pulses import capped_candidates, two_timer_candidates
from burstwise.core.interrupter.sets import TimerSet, TimerSets
from burstwise.core.interrupter.stock import Stock, stock_of
from burstwise.core.interrupter.timer import TIMERS
from burstwise.core.interrupter.validity import refusal
from burstwise.core.units import shown

_PER_POT: Final = 1
"""Most sets with the same circuit, timer and potentiometer in an answer."""

Search = Callable[[Attempt], Candidates | None]
SEARCHES: Final[Mapping[str, Search]] = MappingProxyType(
    {
        "astable-classic": astable_candidates,
        "astable-steered-discharge": astable_candidates,
        "astable-steered-output": astable_candidates,
        "astable-capped-discharge": partial(capped_candidates, astable=SteeredDischarge()),
        "astable-capped-output": partial(capped_candidates, astable=SteeredOutput()),
        "two-timer": two_timer_candidates,
    }
)
"""Search of each circuit's parts by the circuit's name."""


def size_timer(wish: TimerWish, stock: Stock | None = None, *, count: int = 8) -> TimerSets:
    """Ranked sets of purchasable parts that fulfil the wish.

    Parameters
    ----------
    wish : TimerWish
        Frequency, duty range, supply, stock and weights.
    stock : Stock or None
        What is at hand instead of all that the wish's own stock names.
    count : int
        Most sets to give.

    Returns
    -------
    TimerSets
        Where nothing fulfils the wish: a stop finding with the reason, and the nearest set.

    Raises
    ------
    InputError
        Count below 1.

    Examples
    --------
    >>> answer = size_timer(TimerWish(frequency=15.0))
    >>> len(answer.sets), answer.nearest is None
    (8, True)
    """
    if count < 1:
        raise InputError("count", count, "at least 1")
    stock = stock_of(wish) if stock is None else stock
    reasons, found = _searched(wish, stock)
    fulfilled = list(filter(_fulfils, found))
    if fulfilled:
        notes = [note(f.code, f.field, f.text) for f in reasons]
        if wish.frequency_high is not None:
            notes.append(
                note(
                    "duty-at-top-frequency",
                    "interrupter.duty",
                    f"On-time and frequency have knobs of their own: the duty range holds at "
                    f"{shown(wish.top_frequency, 'Hz')} and shrinks with the frequency.",
                )
            )
        sets = tuple(map(_with_heat, _varied(fulfilled, count)))
        return TimerSets(wish, sets, None, heaviest_first(notes))
    nearest, why = _nearest(wish, stock, found)
    nearest = None if nearest is None else _with_heat(nearest)
    return TimerSets(wish, (), nearest, heaviest_first([*reasons, *why]))


def _with_heat(one: TimerSet) -> TimerSet:
    """Set with the cautions on its resistors' heat, which no search looks at."""
    return replace(one, findings=heaviest_first([*one.findings, *resistor_findings(one)]))


def _searched(wish: TimerWish, stock: Stock) -> tuple[list[Finding], list[TimerSet]]:
    """Reasons of refusal, and all sets found, best first."""
    reasons: list[Finding] = []
    found: list[TimerSet] = []
    for name in wish.circuits:
        circuit = circuit_named(name)
        for timer in wish.timers:
            attempt = Attempt(wish, stock, circuit, TIMERS[timer])
            reason = refusal(attempt)
            if reason is not None:
                reasons.append(reason)
                continue
            candidates = SEARCHES[name](attempt)
            if candidates is not None:
                found += evaluated_sets(attempt, candidates)
    return reasons, sorted(found, key=lambda one: one.score)


def _fulfils(one: TimerSet) -> bool:
    return (
        one.frequency_error <= np.log1p(FREQUENCY_TOLERANCE)
        and one.duty_error <= np.log1p(DUTY_TOLERANCE)
        and one.frequency.low > 0
        and not any(finding.severity == "stop" for finding in one.findings)
    )


def _varied(ranked: list[TimerSet], count: int) -> tuple[TimerSet, ...]:
    """Best sets, with no more than a few that differ only in small parts."""
    taken: dict[tuple[object, ...], int] = {}
    kept: list[TimerSet] = []
    for one in ranked:
        key = (one.circuit, one.timer.name, one.build()["potentiometer"])
        taken[key] = taken.get(key, 0) + 1
        if taken[key] <= _PER_POT:
            kept.append(one)
    return tuple(kept[:count])


def _nearest(
    wish: TimerWish, stock: Stock, found: list[TimerSet]
) -> tuple[TimerSet | None, list[Finding]]:
    """Closest set, after widening the choice where nothing was found; and what it misses."""
    for wider in (wish, *_widened(wish)):
        candidates = found if wider is wish else _searched(wider, stock)[1]
        steady = [one for one in candidates if one.frequency.low > 0]
        if steady:
            best = min(steady, key=lambda one: (not _fulfils(one), _miss(one)))
            return best, [_impossible(wish, best)]
    return None, [stop("impossible-wish", "interrupter", "No timer circuit comes near this wish.")]


def _miss(one: TimerSet) -> float:
    return one.frequency_error / FREQUENCY_TOLERANCE + one.duty_error / DUTY_TOLERANCE


def _widened(wish: TimerWish) -> list[TimerWish]:
    """Wishes with ever more freedom: all circuits and timers, then a supply that they take."""
    low = min(timer.supply_low for timer in TIMERS.values()) * 1.1
    high = max(timer.supply_high for timer in TIMERS.values()) * 0.95
    supply = float(np.clip(wish.supply, low, high))
    low_duty, _, high_duty = duty_targets(wish)
    changes = {"duty_low": low_duty, "duty_high": high_duty}
    held = wish.model_copy(update=changes)
    fed = held.model_copy(update={"supply": supply})
    every = {"circuits": CIRCUIT_NAMES, "timers": TIMER_NAMES}
    free = fed.model_copy(update=every)
    return [
        held,
        held.model_copy(update=every),
        fed,
        free,
        free.model_copy(update={"frequency_high": None}),
    ]


def _impossible(wish: TimerWish, best: TimerSet) -> Finding:
    return stop(
        "impossible-wish",
        "interrupter",
        f"No set reaches {shown(wish.frequency, 'Hz')} with a duty of "
        f"{shown(wish.duty_low, '%')} to {shown(wish.duty_high, '%')} "
        f"at {shown(wish.supply, 'V')}. The nearest is "
        f"{circuit_named(best.circuit).label} with a {best.timer.label} at "
        f"{shown(best.supply, 'V')}: {shown(best.frequency.nominal, 'Hz')}, duty "
        f"{shown(best.duty_low.nominal, '%', digits=3)} to "
        f"{shown(best.duty_high.nominal, '%', digits=3)}.",
    )
