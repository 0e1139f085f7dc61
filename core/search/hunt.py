"""The hunt: a spread sample, then evolution strategies with restarts.

Feasibility comes first: any combination that holds all conditions is better than any that does not,
among the first the objective counts, among the others what they miss. The covariance matrix
adaptation evolution strategy (Hansen, N., 'The CMA evolution strategy: a tutorial',
arXiv:1604.00772) only asks which of two is better, so this order is all it needs. Values from a
list and whole numbers are snapped before a trial.
"""

from __future__ import annotations

import math
import warnings
from collections.abc import Mapping, Sequence
from contextlib import suppress
from dataclasses import replace
from typing import Any, Final

import numpy as np
from scipy.stats import qmc

from burstwise.core.arrays import Array
from burstwise.core.design.document import Design
from burstwise.core.evaluate.results import Results
from burstwise.core.interrupter.resolve import value_in_use
from burstwise.core.search.archive import Archive, Key, key_of
from burstwise.core.search.budget import Budget
from burstwise.core.search.found import Answer, Found
from burstwise.core.search.pool import Pool
from burstwise.core.search.reasons import findings_of, limiting
from burstwise.core.search.sample import Sample, Trial
from burstwise.core.search.space import all_places, apart, edits, place_of
from burstwise.core.search.trial import changed, confirmed, differing
from burstwise.core.stopping import StoppedError

with warnings.catch_warnings():  # where matplotlib is not installed it says that it cannot plot
    warnings.simplefilter("ignore")
    import cma


OTHERS: Final = 5
"""Designs brought back beside the best, at most."""
DIFFERENT: Final = 0.15
"""Least step of a coordinate by which a design differs in kind."""
ENUMERATED: Final = 400
"""Combinations up to which all of a space without values in between are tried."""
_SPREAD_PER_FIELD: Final = 4
_CHUNK: Final = 8
_SIGMAS: Final = (0.25, 0.08, 0.4, 0.15)
"""First steps of the strategy and of its restarts, over the range."""
_NEAR_SIGMAS: Final = (0.06, 0.25, 0.12, 0.4)
"""The same where a design near by is known already."""
_TIDY: Final = 2e-3
"""Loss of the objective, relative, that a field left alone may cost."""
_GAIN: Final = 3e-3
"""Gain of the objective, relative, from which a new best is evaluated in full at once."""
_CONFIRMED_PER_ROUND: Final = 2


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
            self._evolve(_NEAR_SIGMAS if near else _SIGMAS)
        self.budget.last_call()
        with suppress(StoppedError):
            self._last_word()

    def _look_around(self, near: Sequence[Mapping[str, Any]]) -> None:
        free = self.ground.free
        if math.prod(one.count for one in free) <= min(ENUMERATED, self.budget.left - 10):
            self._at(all_places(free))
        elif near:
            self._round(near)
        else:
            count = 2 ** math.ceil(math.log2(_SPREAD_PER_FIELD * len(free) + 4))
            spread = qmc.Sobol(len(free), seed=self.seed).random(count)
            design = self.ground.design
            spread[0] = place_of(free, {one.path: value_in_use(design, one.path) for one in free})
            for first in range(0, count, _CHUNK):
                self._at(spread[first : first + _CHUNK])

    def _evolve(self, sigmas: Sequence[float]) -> None:
        if len(self.archive.trials) >= math.prod(one.count for one in self.ground.free):
            return
        restart, idle = 0, 0
        while self.budget.left > 8 and self.budget.go_on() and idle < 6:
            before = len(self.archive.trials)
            self._strategy(sigmas[restart % len(sigmas)], restart)
            idle = idle + 1 if len(self.archive.trials) == before else 0
            restart += 1

    def _strategy(self, sigma: float, restart: int) -> None:
        """One run of the strategy, from the best so far or, each third time, from elsewhere."""
        free = self.ground.free
        ranked = self.archive.ranked()
        other = restart % 3 == 2
        origin = ranked[min(len(ranked) - 1, 5 + restart)] if other else ranked[0]
        # The strategy wants two coordinates; with one field the second moves nothing.
        dummy = max(2 - len(free), 0)
        size = 2 * math.ceil((4 + 3 * math.log(len(free) + dummy)) / 2)
        options = {
            "bounds": [0.0, 1.0],
            "popsize": min(size, max(self.budget.left - 4, 4)),
            "verbose": -9,
            "seed": math.nan,
            "randn": lambda *shape: self.random.standard_normal(shape),
            "tolfun": 1e-6,
            "tolx": 2e-3,
            "maxiter": 12 * (len(free) + 3),
        }
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            middle = [*place_of(free, origin.values), *[0.5] * dummy]
            strategy = cma.CMAEvolutionStrategy(middle, sigma, options)
            while not strategy.stop() and self.budget.left > 4 and self.budget.go_on():
                asked = strategy.ask()
                places = np.clip(np.array(asked)[:, : len(free)], 0.0, 1.0)
                trials = self._at(places)
                strategy.tell(asked, [self.archive.cost(trial) for trial in trials])

    def _at(self, places: Array) -> list[Trial]:
        """Trials at coordinates."""
        return self._round([edits(self.ground.free, place) for place in places])

    def _round(self, many: Sequence[Mapping[str, Any]]) -> list[Trial]:
        """Trials of several combinations; what was tried before is not tried again."""
        keys = [key_of(values) for values in many]
        known = self.archive.trials
        fresh = {key: values for key, values in zip(keys, many, strict=True) if key not in known}
        asked = list(fresh.values())[: self.budget.left]
        try:
            self.pool.sampled([{**self.fixed, **values} for values in asked])
        finally:  # what was ready before a stop counts
            for values, sample in zip(asked, self.pool.done, strict=False):
                self.archive.take(self._own(sample, values))
                self.budget.used += 1
        self._confirm_best()
        none = Trial({}, math.nan, math.inf, ())
        return [known.get(key, none) for key in keys]

    def _confirm_best(self) -> None:
        """Evaluate new bests in full at once, so that a stop has something to give back."""
        better = self.ground.wish.objective.better
        for _ in range(_CONFIRMED_PER_ROUND):
            first = self.archive.first()
            if first is None or first.miss > 0.0 or self.archive.is_exact(first):
                return
            if self.best is not None:
                now, then = better(first.objective), better(self.best.objective)
                if now - then < _GAIN * max(abs(then), 1e-12):
                    return
            if not self._confirm([first]):
                return

    def _confirm(self, trials: Sequence[Trial]) -> bool:
        """Full evaluations; whether there was budget for them."""
        asked = [trial for trial in trials if not self.archive.is_exact(trial)]
        asked = asked[: self.budget.left]
        if not asked:
            return False
        try:
            self.pool.confirmed([{**self.fixed, **trial.values} for trial in asked])
        finally:
            for trial, (exact, results) in zip(asked, self.pool.done, strict=False):
                self.budget.used += 1
                self.archive.take_exact(self._own(exact, trial.values), results)
            self.take_best()
        return True

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
        trials = tuple(self.archive.trials.values())
        return Answer(
            found=tuple(chosen),
            closest=closest,
            limited_by=limiting(self.ground, chosen[0] if chosen else closest),
            trials=trials,
            evaluations=self.budget.used,
            seconds=self.budget.elapsed,
            stopped=self.budget.cancelled,
            findings=findings_of(self.ground, chosen, closest, trials),
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
        """The design that misses least; nothing more is evaluated once somebody wants to stop."""
        for trial in self.archive.ranked()[:3]:
            results = self.archive.exact.get(key_of(trial.values))
            if results is None and not self.budget.cancelled:
                results = confirmed(self.ground, trial.values)[1]
            if results is not None:
                return self._found(trial, results)
        return None
