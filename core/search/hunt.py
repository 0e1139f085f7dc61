"""The search itself: a spread sample, then evolution strategies with restarts.

Feasibility comes first: any combination that holds all conditions is better than any that does not,
among the first the objective counts, among the others what they miss. The covariance matrix
adaptation evolution strategy (Hansen, N., 'The CMA evolution strategy: a tutorial',
arXiv:1604.00772) only asks which of two is better, so this order is all it needs. Values from a
list and whole numbers are snapped before a trial.
"""

from __future__ import annotations

import math
import sys
import time
import warnings
from collections.abc import Callable, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from typing import Any, Final

import cma
import numpy as np
from numpy.typing import NDArray
from scipy.stats import qmc

from core.design.document import Design
from core.errors import InputError
from core.evaluate.results import Results
from core.interrupter.resolve import value_in_use
from core.search.found import Answer, Found
from core.search.pool import Pool, StopAskedError
from core.search.reasons import findings_of, limiting
from core.search.space import Free, all_places, apart, edits, place_of
from core.search.trial import Ground, Trial, changed, check_names, confirmed, differing, ground_of
from core.search.wish import Wish

Array = NDArray[np.float64]

SECONDS: Final = 30.0
"""Time of a search when neither time nor number of evaluations is given [s]."""
OTHERS: Final = 5
"""Designs brought back beside the best, at most."""
DIFFERENT: Final = 0.15
"""Least step of a coordinate by which a design differs in kind."""
MOST_FREE: Final = 20
ENUMERATED: Final = 400
"""Combinations up to which all of a space without values in between are tried."""
_SPREAD_PER_FIELD: Final = 4
_CHUNK: Final = 8
_SIGMAS: Final = (0.25, 0.08, 0.4, 0.15)
"""First steps of the strategy and of its restarts, over the range."""
_TIDY: Final = 2e-3
"""Loss of the objective, relative, that a field left alone may cost."""
_LAST: Final = 0.85
"""Part of the time after which the last full evaluations begin."""
_GAIN: Final = 3e-3
"""Gain of the objective, relative, from which a new best is evaluated in full at once."""
_CONFIRMED_PER_ROUND: Final = 2
_REFUSED: Final = 1e-3
"""Miss that is noted for a combination that held by its trial and not by its full evaluation."""


@dataclass(frozen=True, slots=True)
class Progress:
    """How far a search is."""

    share: float
    evaluations: int
    best: Found | None


def search(
    design: Design,
    wish: Wish,
    free: Sequence[Free],
    *,
    seed: int = 1,
    seconds: float | None = None,
    evaluations: int | None = None,
    processes: int = 2,
    go_on: Callable[[Progress], bool] | None = None,
) -> Answer:
    """Designs that fulfil a wish best.

    Parameters
    ----------
    design : Design
        Where the search begins; what is not free stays as it is.
    wish : Wish
        What is wanted and what must hold.
    free : sequence of Free
        What may move.
    seed : int
        Of the random numbers; with `evaluations` the same seed gives the same answer.
    seconds, evaluations : float, int, optional
        Budget: the first to be used up ends the search. 30 s when neither is given.
    processes : int
        Processes beside this one; 0 for none.
    go_on : callable, optional
        Told how far it is; answers whether to go on.

    Raises
    ------
    InputError
        No free field, one named twice, too many, a budget that is no budget, or a figure that
        results do not have.
    """
    free = tuple(free)
    _check(free, seconds, evaluations)
    if seconds is None and evaluations is None:
        seconds = SECONDS
    budget = _Budget(seconds, evaluations, go_on)
    check_names(design, wish)
    ground = ground_of(design, wish, free)
    with Pool(ground, processes, budget.go_on) as pool:
        hunt = _Hunt(ground, pool, budget, seed)
        budget.best = lambda: hunt.best
        with suppress(StopAskedError):
            hunt.run()
        budget.last_call()
        with suppress(StopAskedError):
            hunt.last_word()
        return hunt.answer()


def _check(free: tuple[Free, ...], seconds: float | None, evaluations: int | None) -> None:
    paths = [one.path for one in free]
    if not 1 <= len(free) <= MOST_FREE:
        raise InputError("free fields", len(free), f"1 to {MOST_FREE}")
    for path in paths:
        if paths.count(path) > 1:
            raise InputError("free field", path, "named once")
    if seconds is not None and not 1.0 <= seconds <= 86400.0:
        raise InputError("seconds", seconds, "1 to 86400")
    if evaluations is not None and not 4 <= evaluations <= 1_000_000:
        raise InputError("evaluations", evaluations, "4 to 1000000")


class _Budget:
    """What may still be spent, and whether somebody wants to stop."""

    def __init__(
        self,
        seconds: float | None,
        evaluations: int | None,
        told: Callable[[Progress], bool] | None,
    ) -> None:
        self.seconds, self.evaluations, self._told = seconds, evaluations, told
        self.begun = time.perf_counter()
        self.used = 0
        self.cancelled = False
        self._part = _LAST
        self.best: Callable[[], Found | None] = lambda: None

    @property
    def elapsed(self) -> float:
        return time.perf_counter() - self.begun

    @property
    def left(self) -> int:
        """Evaluations that are left; as many as one likes when only time counts."""
        return sys.maxsize if self.evaluations is None else max(self.evaluations - self.used, 0)

    def last_call(self) -> None:
        """Let the rest of the time be used."""
        self._part = 1.0

    def go_on(self) -> bool:
        share = 0.0
        if self.seconds is not None:
            share = self.elapsed / self.seconds
        if self.evaluations is not None:
            share = max(share, self.used / self.evaluations)
        if self._told is not None and not self._told(
            Progress(min(share, 1.0), self.used, self.best())
        ):
            self.cancelled = True
        late = self.seconds is not None and self.elapsed >= self._part * self.seconds
        return not (self.cancelled or late)


class _Hunt:
    def __init__(self, ground: Ground, pool: Pool, budget: _Budget, seed: int) -> None:
        self.ground, self.pool, self.budget = ground, pool, budget
        self.random = np.random.default_rng(seed)
        self.seed = seed
        self.known: dict[tuple[Any, ...], Trial] = {}
        self.exact: dict[tuple[Any, ...], Found | None] = {}
        self.best: Found | None = None
        self.simpler: dict[tuple[Any, ...], Trial] = {}

    def run(self) -> None:
        free = self.ground.free
        if math.prod(one.count for one in free) <= min(ENUMERATED, self.budget.left - 10):
            self._at(all_places(free))
        else:
            count = 2 ** math.ceil(math.log2(_SPREAD_PER_FIELD * len(free) + 4))
            spread = qmc.Sobol(len(free), seed=self.seed).random(count)
            design = self.ground.design
            spread[0] = place_of(free, {one.path: value_in_use(design, one.path) for one in free})
            for first in range(0, count, _CHUNK):
                self._at(spread[first : first + _CHUNK])
            self._evolve()

    def _evolve(self) -> None:
        restart, idle = 0, 0
        while self.budget.left > 8 and self.budget.go_on() and idle < 6:
            before = len(self.known)
            self._strategy(_SIGMAS[restart % len(_SIGMAS)], restart)
            idle = idle + 1 if len(self.known) == before else 0
            restart += 1

    def _strategy(self, sigma: float, restart: int) -> None:
        """One run of the strategy, from the best so far or, each third time, from elsewhere."""
        free = self.ground.free
        ranked = self._ranked()
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
                strategy.tell(asked, [self._cost(trial) for trial in trials])

    def _at(self, places: Array) -> list[Trial]:
        """Trials at coordinates."""
        return self._round([edits(self.ground.free, place) for place in places])

    def _round(self, many: Sequence[Mapping[str, Any]]) -> list[Trial]:
        """Trials of several combinations; what was tried before is not tried again."""
        keys = [_key(values) for values in many]
        fresh = {
            key: values for key, values in zip(keys, many, strict=True) if key not in self.known
        }
        fresh = dict(list(fresh.items())[: self.budget.left])
        try:
            self.pool.tried(list(fresh.values()))
        finally:  # what was ready before a stop counts
            for key, trial in zip(fresh, self.pool.done, strict=False):
                self.known[key] = trial
                self.budget.used += 1
        self._confirm_best()
        none = Trial({}, math.nan, math.inf, ())
        return [self.known.get(key, none) for key in keys]

    def _confirm_best(self) -> None:
        """Evaluate new bests in full at once, so that a stop has something to give back."""
        better = self.ground.wish.objective.better
        for _ in range(_CONFIRMED_PER_ROUND):
            first = min(self.known.values(), key=self._cost, default=None)
            if first is None or first.miss > 0.0 or _key(first.values) in self.exact:
                return
            if self.best is not None:
                now, then = better(first.objective), better(self.best.objective)
                if now - then < _GAIN * max(abs(then), 1e-12):
                    return
            if not self._confirm([first]):
                return

    def _confirm(self, trials: Sequence[Trial]) -> bool:
        """Full evaluations; whether there was budget for them."""
        trials = [trial for trial in trials if _key(trial.values) not in self.exact]
        trials = trials[: self.budget.left]
        if not trials:
            return False
        pairs = self.pool.confirmed([trial.values for trial in trials])
        better = self.ground.wish.objective.better
        for trial, (exact, results) in zip(trials, pairs, strict=True):
            key = _key(trial.values)
            self.budget.used += 1
            if results is None or exact.miss > 0.0:
                self.exact[key] = None
                self.known[key] = replace(trial, miss=max(exact.miss, _REFUSED), kept=exact.kept)
                continue
            self.known[key] = exact
            found = self.exact[key] = self._found(exact, results)
            if self.best is None or better(found.objective) > better(self.best.objective):
                self.best = found
        return True

    def last_word(self) -> None:
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
            again = {_key(trial.values): trial for trial in self._round(back)}
            for number, trial in enumerate(chosen):
                if trial.values[one.path] == before:
                    continue
                simpler = again.get(_key({**trial.values, one.path: before}))
                if simpler is None or simpler.miss > 0.0:
                    continue
                price = better(trial.objective) - better(simpler.objective)
                if price <= _TIDY * abs(trial.objective):
                    chosen[number] = simpler
                    self.simpler[_key(trial.values)] = simpler

    def _different(self) -> list[Trial]:
        """The best trials that hold, each a step away from those before it."""
        chosen: list[Trial] = []
        for trial in self._ranked():
            if trial.miss > 0.0 or len(chosen) > OTHERS:
                break
            while _key(trial.values) in self.simpler:
                trial = self.simpler[_key(trial.values)]
            if self._differs(trial, chosen):
                chosen.append(trial)
        return chosen

    def _differs(self, one: Trial | Found, others: Sequence[Trial | Found]) -> bool:
        """Whether a design differs in kind from each of others."""
        return all(
            apart(self.ground.free, one.values, other.values) >= DIFFERENT for other in others
        )

    def _ranked(self) -> list[Trial]:
        return sorted(self.known.values(), key=self._cost)

    def _cost(self, trial: Trial) -> float:
        """Lower is better; what holds everything lies below what does not."""
        if trial.miss > 0.0:
            return 1e3 + min(trial.miss, 1e6)
        better = self.ground.wish.objective.better(trial.objective)
        # Squeezed between -1e3 and 1e3 without changing the order.
        return -1e3 * math.tanh(math.asinh(better) / 40.0) if math.isfinite(better) else 1e3

    def _found(self, trial: Trial, results: Results) -> Found:
        design = changed(self.ground.design, trial.values)
        return Found(
            design,
            differing(self.ground.design, design, trial.values),
            trial.values,
            trial.objective,
            results,
        )

    def answer(self) -> Answer:
        """What has been found up to now; only what was evaluated in full counts."""
        better = self.ground.wish.objective.better
        held = sorted(
            (found for found in self.exact.values() if found is not None),
            key=lambda found: (
                -float(f"{better(found.objective):.3g}"),
                len(found.changed),
                -better(found.objective),
            ),
        )
        chosen: list[Found] = []
        for found in held:
            if self._differs(found, chosen) and len(chosen) <= OTHERS:
                chosen.append(found)
        closest = None if chosen else self._closest()
        trials = tuple(self.known.values())
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

    def _closest(self) -> Found | None:
        """The design that misses least, evaluated here."""
        for trial in self._ranked()[:3]:
            exact, results = confirmed(self.ground, trial.values)
            if results is not None:
                return self._found(exact, results)
        return None


def _key(values: Any) -> tuple[Any, ...]:
    return tuple(map(repr, values.values()))
