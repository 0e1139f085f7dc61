"""The hunt: a spread sample, then surfaces through what was tried, strategies where they stall.

Feasibility comes first: any combination that holds all conditions is better than any that does not,
among the first the objective counts, among the others what they miss. Surfaces through the trials
(`burstwise.core.search.surrogate`) foretell ratings one by one and so lead from a start that breaks
some to where all hold. Where they bring nothing better any more, the covariance matrix adaptation
evolution strategy takes over for some generations (Hansen, N., 'The CMA evolution strategy: a
tutorial', arXiv:1604.00772): it only asks which of two is better. Values from a list and whole
numbers are snapped before a trial.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from contextlib import suppress
from dataclasses import replace
from typing import Any, Final

import numpy as np

from burstwise.core.arrays import Array
from burstwise.core.design.document import Design
from burstwise.core.evaluate.results import Results
from burstwise.core.interrupter.resolve import DUTY, value_in_use
from burstwise.core.search.archive import Archive, Key, key_of
from burstwise.core.search.budget import Budget
from burstwise.core.search.found import Answer, Found, Nearest
from burstwise.core.search.pool import Pool
from burstwise.core.search.reasons import findings_of, limiting
from burstwise.core.search.sample import Sample, Trial, exceeds_nothing
from burstwise.core.search.space import all_places, apart, edits, place_of
from burstwise.core.search.strategy import Evolution
from burstwise.core.search.surrogate import Surrogate, proposed
from burstwise.core.search.trial import changed, confirmed, differing
from burstwise.core.stopping import StoppedError

OTHERS: Final = 5
"""Designs brought back beside the best, at most."""
DIFFERENT: Final = 0.15
"""Least step of a coordinate by which a design differs in kind."""
ENUMERATED: Final = 400
"""Combinations up to which all of a space without values in between are tried."""
_SPREAD: Final = 4
"""Trials of the spread sample beyond one for each free field."""
_GENTLE: Final = {"supply.voltage": 0.45, DUTY: 0.35}
"""Part of the present values that the second trial takes."""
_ROUND: Final = 4
"""Trials of one round, a number that does not hang on the processes."""
_STALLED: Final = 3
"""Rounds without a better trial after which the other way of looking takes over."""
_GENERATIONS: Final = 4
_KEPT: Final = 8
"""Evaluations kept for the last word."""
_SIGMAS: Final = (0.06, 0.25, 0.12, 0.4)
"""First steps of the strategies, over the range."""
_LOOKED_AT: Final = 3
"""Designs that are evaluated in full at most to tell what comes closest to a wish."""
_TIDY: Final = 2e-3
"""Loss of the objective, relative, that a field left alone may cost."""
_GAIN: Final = 1e-2
"""Gain of the objective, relative, from which a new best is evaluated in full at once."""


class Hunt:
    """One hunt for one wish.

    Parameters
    ----------
    archive : Archive
        What is known already.
    pool : Pool
        Tries designs; its own ground may have further free fields, given by `fixed`.
    budget : Budget
        What may be spent.
    seed : int
        Of the random numbers.
    others : int
        Designs to bring back beside the best.
    origin : Design, optional
        Design from which changes are told; that of the archive's ground if not given.
    fixed : mapping, optional
        Values of the pool's further fields.
    """

    def __init__(
        self,
        archive: Archive,
        pool: Pool,
        budget: Budget,
        seed: int,
        *,
        others: int = OTHERS,
        origin: Design | None = None,
        fixed: Mapping[str, Any] | None = None,
    ) -> None:
        self.archive, self.pool, self.budget = archive, pool, budget
        self.ground = archive.ground
        self.random = np.random.default_rng(seed)
        self.seed, self.others = seed, others
        self.origin = origin or self.ground.design
        self.fixed = dict(fixed or {})
        self.best: Found | None = None
        self.simpler: dict[Key, Trial] = {}

    def run(self, near: Sequence[Mapping[str, Any]] = ()) -> None:
        """Hunt until the budget or the ideas are used up.

        Parameters
        ----------
        near : sequence of mapping
            Values of good designs of a wish near by, instead of a spread sample.
        """
        self.budget.best = lambda: self.best
        with suppress(StoppedError):
            self._look_around(near)
            self._improve()
        self.budget.last_call()
        with suppress(StoppedError):
            self._last_word()

    def _look_around(self, near: Sequence[Mapping[str, Any]]) -> None:
        free = self.ground.free
        if self._all_places <= min(ENUMERATED, self.budget.left - 10):
            self._at(all_places(free))
        elif near:
            self._round(near)
        else:
            spread = self._spread(len(free) + _SPREAD)
            for first in range(0, len(spread), _ROUND):
                self._at(spread[first : first + _ROUND])

    @property
    def _all_places(self) -> float:
        return math.prod(one.count for one in self.ground.free)

    def _spread(self, count: int) -> Array:
        """The present design, a gentler one, and places over the ranges, each second near by."""
        from scipy.stats import qmc  # takes a second to load, while the processes come up

        free, design = self.ground.free, self.ground.design
        present = {one.path: value_in_use(design, one.path) for one in free}
        here = place_of(free, present)
        sequence = qmc.Sobol(len(free), seed=self.seed)
        spread = sequence.random(2 ** math.ceil(math.log2(count)))[:count]
        spread[0] = here
        gentle = {path: part * present[path] for path, part in _GENTLE.items() if path in present}
        if gentle:  # most that breaks a rating asks less with less supply and shorter bursts
            spread[1] = place_of(free, {**present, **gentle})
        spread[2::2] = 0.5 * (here + spread[2::2])
        return spread

    def _improve(self) -> None:
        """Rounds where the surfaces point, or generations of a strategy, until all is used up."""
        stalled, restart, idle = 0, 0, 0
        best = math.inf
        while self.budget.left > _KEPT and self.budget.go_on() and idle < 6:
            before = len(self.archive.trials)
            if before >= self._all_places:
                return
            if stalled >= _STALLED or not self._follow_surfaces():
                self._evolve(_SIGMAS[restart % len(_SIGMAS)], restart)
                restart, stalled = restart + 1, 0
            ranked = self.archive.first()
            now = math.inf if ranked is None else self.archive.cost(ranked)
            stalled = 0 if now < best else stalled + 1
            best = now
            idle = idle + 1 if len(self.archive.trials) == before else 0

    def _follow_surfaces(self) -> bool:
        """One round of trials where the surfaces point; whether there was something to try."""
        ranked = self.archive.ranked()
        surrogate = Surrogate(self.ground.wish, self.ground.free, ranked)
        if not surrogate.useful:
            return False
        known = np.array([place_of(self.ground.free, trial.values) for trial in ranked])
        places = proposed(
            surrogate,
            self.ground.free,
            known,
            count=min(_ROUND, max(self.budget.left - _KEPT, 1)),
            random=self.random,
        )
        self._at(places)
        return len(places) > 0

    def _evolve(self, sigma: float, restart: int) -> None:
        """Generations of a strategy, from the best so far or, each third time, from elsewhere."""
        ranked = self.archive.ranked()
        other = restart % 3 == 2
        origin = ranked[min(len(ranked) - 1, 5 + restart)] if other else ranked[0]
        middle = place_of(self.ground.free, origin.values)
        most = self.budget.left - 4
        strategy = Evolution(middle, sigma, random=self.random, most=most)
        for _ in range(_GENERATIONS):
            places = strategy.ask()
            if places is None or self.budget.left <= _KEPT or not self.budget.go_on():
                return
            strategy.tell([self.archive.cost(trial) for trial in self._at(places)])

    def _at(self, places: Array) -> list[Trial]:
        """Trials at coordinates."""
        return self._round([edits(self.ground.free, place) for place in places])

    def _round(self, many: Sequence[Mapping[str, Any]]) -> list[Trial]:
        """Trials of several combinations; what was tried before is not tried again.

        A new best is evaluated in full beside them, so that a stop has something to give back.
        """
        keys = [key_of(values) for values in many]
        known = self.archive.trials
        fresh = {key: values for key, values in zip(keys, many, strict=True) if key not in known}
        asked = list(fresh.values())[: self.budget.left]
        best = self._worth_confirming() if self.budget.left > len(asked) else []
        self._ask(asked, best)
        none = Trial({}, math.nan, math.inf, ())
        return [known.get(key, none) for key in keys]

    def _ask(self, trials: Sequence[Mapping[str, Any]], full: Sequence[Trial]) -> None:
        """Trials and full evaluations side by side."""
        try:
            self.pool.run(
                [{**self.fixed, **values} for values in trials],
                [{**self.fixed, **trial.values} for trial in full],
            )
        finally:  # what was ready before a stop counts
            for trial, (exact, results) in zip(full, self.pool.full, strict=False):
                self.budget.used += 1
                self.archive.take_exact(self._own(exact, trial.values), results)
            for values, sample in zip(trials, self.pool.done, strict=False):
                self.budget.used += 1
                self.archive.take(self._own(sample, values))
            self.take_best()

    def _worth_confirming(self) -> list[Trial]:
        """The best trial, where it promises more than what was evaluated in full."""
        first = self.archive.first()
        if first is None or first.miss > 0.0 or self.archive.is_exact(first):
            return []
        if self.best is not None:
            better = self.ground.wish.objective.better
            now, then = better(first.objective), better(self.best.objective)
            if now - then < _GAIN * max(abs(then), 1e-12):
                return []
        return [first]

    def _confirm(self, trials: Sequence[Trial]) -> bool:
        """Full evaluations; whether there was budget for them."""
        asked = [trial for trial in trials if not self.archive.is_exact(trial)]
        asked = asked[: self.budget.left]
        if asked:
            self._ask([], asked)
        return bool(asked)

    def take_best(self) -> None:
        """Take the best of what was evaluated in full and holds everything."""
        held = self.archive.held()
        if held:
            trial, results = min(held, key=lambda pair: self.archive.cost(pair[0]))
            if self.best is None or results is not self.best.results:
                self.best = self._found(trial, results)

    def _own(self, sample: Sample, values: Mapping[str, Any]) -> Sample:
        """A sample of the pool without the fields that are fixed here."""
        return replace(sample, values=dict(values))

    def _last_word(self) -> None:
        """Full evaluations of the best and of those that differ in kind, tidied up."""
        for _ in range(_KEPT // 2):
            first = self.archive.first()
            if first is None or first.miss > 0.0 or not self._confirm([first]):
                break
        self._confirm(self._different())
        self._tidy(self._different())
        for _ in range(4):
            if not self._confirm(self._different()):
                return

    def _tidy(self, chosen: list[Trial]) -> None:
        """Bring fields back to where they stood as far as that costs nothing.

        One field after the other, all chosen designs side by side.
        """
        better = self.ground.wish.objective.better
        for one in self.ground.free:
            before = value_in_use(self.ground.design, one.path)
            back = [
                {**trial.values, one.path: before}
                for trial in chosen
                if trial.values[one.path] != before and one.holds(before)
            ]
            again = {key_of(trial.values): trial for trial in self._round(back)}
            for number, trial in enumerate(chosen):
                if trial.values[one.path] == before:
                    continue
                simpler = again.get(key_of({**trial.values, one.path: before}))
                if simpler is None or simpler.miss > 0.0:
                    continue
                price = better(trial.objective) - better(simpler.objective)
                if price <= _TIDY * abs(trial.objective):
                    chosen[number] = simpler
                    self.simpler[key_of(trial.values)] = simpler

    def _different(self) -> list[Trial]:
        """The best trials that hold, each a step away from those before it."""
        chosen: list[Trial] = []
        for trial in self.archive.ranked():
            if trial.miss > 0.0 or len(chosen) > self.others:
                break
            trial = self._simplest(trial)
            if trial.miss == 0.0 and self._differs(trial, chosen):
                chosen.append(trial)
        return chosen

    def _simplest(self, trial: Trial) -> Trial:
        """A trial with fields brought back, as it is judged by now."""
        key = key_of(trial.values)
        while key in self.simpler and self._holds(self.simpler[key]):
            key = key_of(self.simpler[key].values)
        return self.archive.trials[key]

    def _holds(self, trial: Trial) -> bool:
        return self.archive.trials[key_of(trial.values)].miss == 0.0

    def _differs(self, one: Trial | Found, others: Sequence[Trial | Found]) -> bool:
        """Whether a design differs in kind from each of others."""
        return all(
            apart(self.ground.free, one.values, other.values) >= DIFFERENT for other in others
        )

    def _found(self, trial: Trial, results: Results) -> Found:
        values = {**self.fixed, **trial.values}
        design = changed(self.origin, values)
        return Found(
            design, differing(self.origin, design, values), values, trial.objective, results
        )

    def answer(self) -> Answer:
        """What has been found up to now; only what was evaluated in full counts."""
        chosen: list[Found] = []
        for found in self.held():
            if self._differs(found, chosen) and len(chosen) <= self.others:
                chosen.append(found)
        closest = None if chosen else self._closest()
        nearest = None if chosen else self._nearest()
        trials = tuple(self.archive.trials.values())
        return Answer(
            found=tuple(chosen),
            closest=closest,
            limited_by=limiting(self.ground, chosen[0] if chosen else closest),
            trials=trials,
            evaluations=self.budget.used,
            seconds=self.budget.elapsed,
            stopped=self.budget.cancelled,
            findings=findings_of(self.ground, chosen, closest, trials, nearest=nearest),
            nearest=nearest,
        )

    def held(self) -> list[Found]:
        """Designs that hold everything, the best first; of equal ones those that change less."""
        better = self.ground.wish.objective.better
        return sorted(
            (self._found(trial, results) for trial, results in self.archive.held()),
            key=lambda found: (
                -float(f"{better(found.objective):.3g}"),
                len(found.changed),
                -better(found.objective),
            ),
        )

    def _closest(self) -> Found | None:
        """The design that misses least."""
        for trial in self.archive.ranked()[:_LOOKED_AT]:
            results = self._in_full(trial)
            if results is not None:
                return self._found(trial, results)
        return None

    def _nearest(self) -> Nearest | None:
        """The design that misses least of those that exceed no rating, and the wish it holds."""
        wish = self.ground.wish
        safe = [trial for trial in self.archive.ranked() if exceeds_nothing(trial)]
        for trial in safe[:_LOOKED_AT]:
            results = self._in_full(trial)
            if results is None or results.stopped:
                continue
            easier = wish.eased(wish.figures(results))
            if easier is not None:
                eased = tuple(keep for keep in easier.keeps if keep not in wish.keeps)
                found = self._found(trial, results)
                reasons = limiting(replace(self.ground, wish=easier), found)
                return Nearest(easier, eased, found, reasons)
        return None

    def _in_full(self, trial: Trial) -> Results | None:
        """A full evaluation; nothing more is evaluated once somebody wants to stop."""
        results = self.archive.exact.get(key_of(trial.values))
        if results is None and not self.budget.cancelled:
            results = confirmed(self.ground, trial.values)[1]
        return results
