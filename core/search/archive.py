"""All that a search has tried, judged by its wish and by what full evaluations near by asked."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

import numpy as np

from burstwise.core.arrays import Array
from burstwise.core.evaluate.results import Results
from burstwise.core.interrupter.resolve import value_in_use
from burstwise.core.search.sample import Sample, Trial, asked_beyond, judged
from burstwise.core.search.space import Free, place_of
from burstwise.core.search.trial import Ground
from burstwise.core.search.wish import Wish
from burstwise.core.studies.quick import KnownCorners

Key = tuple[str, ...]


def key_of(values: Mapping[str, Any]) -> Key:
    """What tells combinations apart."""
    return tuple(map(repr, values.values()))


class Archive:
    """Trials and full evaluations, each known once.

    A trial knows ratings of the stage as designed. What they are in the worst corners is taken
    from the nearest full evaluation, so the picture follows the best as it moves away from the
    design that the search began with.

    Parameters
    ----------
    ground : Ground
        What all trials share.
    """

    def __init__(self, ground: Ground) -> None:
        self.ground = ground
        self.trials: dict[Key, Trial] = {}
        self.exact: dict[Key, Results] = {}
        self._samples: dict[Key, Sample] = {}
        self._nearest: dict[Key, tuple[float, KnownCorners]] = {}
        self._known: list[tuple[Array, KnownCorners]] = []
        design = ground.design
        values = {one.path: value_in_use(design, one.path) for one in ground.free}
        self._known.append((place_of(ground.free, values), ground.corners))

    @property
    def free(self) -> tuple[Free, ...]:
        """What may move."""
        return self.ground.free

    def take(self, sample: Sample) -> None:
        """Take a trial."""
        key, place = key_of(sample.values), place_of(self.free, sample.values)
        steps = [float(np.linalg.norm(place - other)) for other, _ in self._known]
        first = int(np.argmin(steps))
        self._nearest[key] = steps[first], self._known[first][1]
        self._samples[key] = sample
        self._judge(key)

    def take_exact(self, sample: Sample, results: Results | None) -> None:
        """Take a full evaluation in place of its trial; trials near by are judged anew."""
        key, place = key_of(sample.values), place_of(self.free, sample.values)
        trial = self._samples.get(key)
        self._samples[key] = sample
        self._nearest.setdefault(key, (0.0, KnownCorners()))
        if results is not None:
            self.exact[key] = results
        self._judge(key)
        if trial is None or trial.exact or results is None:
            return
        known = asked_beyond(trial, sample)
        self._known.append((place, known))
        for other, one in self._samples.items():
            step = float(np.linalg.norm(place - place_of(self.free, one.values)))
            if not one.exact and step < self._nearest[other][0]:
                self._nearest[other] = step, known
                self._judge(other)

    def under(self, wish: Wish) -> Archive:
        """The same trials judged by another wish, which asks for the same figures."""
        other = Archive(replace(self.ground, wish=wish))
        other.exact = dict(self.exact)
        other._samples = dict(self._samples)
        other._nearest = dict(self._nearest)
        other._known = list(self._known)
        for key in other._samples:
            other._judge(key)
        return other

    def is_exact(self, trial: Trial) -> bool:
        """Whether a trial was evaluated in full."""
        found = self._samples.get(key_of(trial.values))
        return found is not None and found.exact

    def ranked(self) -> list[Trial]:
        """Trials, the best first."""
        return sorted(self.trials.values(), key=self.cost)

    def first(self) -> Trial | None:
        """The best trial."""
        return min(self.trials.values(), key=self.cost, default=None)

    def held(self) -> Sequence[tuple[Trial, Results]]:
        """Full evaluations that hold everything."""
        pairs = [(self.trials[key], results) for key, results in self.exact.items()]
        return [pair for pair in pairs if pair[0].miss == 0.0]

    def cost(self, trial: Trial) -> float:
        """Lower is better; what holds everything lies below what does not."""
        if trial.miss > 0.0:
            return 1e3 + min(trial.miss, 1e6)
        better = self.ground.wish.objective.better(trial.objective)
        # Squeezed between -1e3 and 1e3 without changing the order.
        return -1e3 * math.tanh(math.asinh(better) / 40.0) if math.isfinite(better) else 1e3

    def _judge(self, key: Key) -> None:
        sample = self._samples[key]
        self.trials[key] = judged(sample, self.ground.wish, self._nearest[key][1])
