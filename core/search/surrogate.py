"""Smooth surfaces through what was tried, which tell where a trial is worth its time.

Every rating and every figure of a wish gets a surface of its own: cubic radial basis functions
with a linear tail, over the coordinates of the free fields. What a rating asks goes up with powers
of supply, duty and turns, so logarithms of figures over logarithms of values are what is fitted.
Candidates are bred on the surfaces, where thousands cost a few milliseconds.

After Regis, R. G., Shoemaker, C. A., 'A stochastic radial basis function method for the global
optimization of expensive functions', INFORMS Journal on Computing 19 (2007), 497-509, from memory.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

import numpy as np
from scipy.interpolate import RBFInterpolator

from burstwise.core.arrays import Array
from burstwise.core.search.sample import Trial
from burstwise.core.search.space import Free, place_of, snapped, stretched
from burstwise.core.search.wish import DEAD, MARGIN, Wish

MOST: Final = 250
"""Trials that the surfaces go through at most: the best."""
FEWEST: Final = 6
"""Trials of stages that work from which surfaces are of use."""
_LEAST, _LARGEST = 1e-3, 1e3
"""Ends of what a rating may be asked for, over its limit;"""
_LOGS: Final = (math.log(1e-2 * _LEAST), math.log(1e2 * _LARGEST))
"""of the logarithm of what is foretold."""
_SMOOTHING: Final = 1e-4
_PARENTS: Final = 16
_CHILDREN: Final = 240
_STEPS: Final = (0.3, 0.2, 0.12, 0.08, 0.05, 0.03, 0.015, 0.008)
"""Steps of the generations of candidates, over the range."""
_ROOM: Final = (0.0, 0.02)
"""Room to every condition, on the scale of `Keep.slack`, that candidates are bred with in turn."""
_APART: Final = 0.02
"""Least distance of a candidate from all trials and others asked with it, over the range;"""
_CLOSE: Final = 0.002
"""of the first of each four, which follows the best foretold."""
_MOVED: Final = 4.0
"""Fields that a child moves on average, of many."""


class Surrogate:
    """Surfaces through trials.

    Parameters
    ----------
    wish : Wish
        What is wanted.
    free : sequence of Free
        What may move.
    trials : sequence of Trial
        What was tried, the best first.
    """

    def __init__(self, wish: Wish, free: Sequence[Free], trials: Sequence[Trial]) -> None:
        self._wish, self._free = wish, tuple(free)
        trials = list(trials)[:MOST]
        works = [one for one in trials if one.margins and one.miss < DEAD]
        self.useful = len(works) >= FEWEST
        if not self.useful:
            return
        self._ratings = sorted({name for one in works for name in one.margins})
        self._figures = [
            place for place, keep in enumerate(wish.conditions) if not _on_margin(keep.name)
        ]
        places = stretched(self._free, np.array([place_of(free, one.values) for one in works]))
        self._surface = _Surface(places, self._columns(works))
        self._works: _Surface | None = None
        if len(works) < len(trials):
            all_places = np.array([place_of(free, one.values) for one in trials])
            flags = np.array([[1.0 if one.miss < DEAD else 0.0] for one in trials])
            self._works = _Surface(stretched(self._free, all_places), flags, smooth=False)

    def _columns(self, works: Sequence[Trial]) -> Array:
        """Figures that are fitted (trials, figures)."""
        asked = np.array(
            [[1.0 - one.margins.get(name, 1.0) for name in self._ratings] for one in works]
        )
        columns = [np.log(np.clip(np.nan_to_num(asked, nan=_LARGEST), _LEAST, _LARGEST))]
        self._logs: list[bool] = []
        kept = np.array([[one.kept[place] for place in self._figures] for one in works])
        aims = np.array([[one.objective] for one in works])
        for column in np.concatenate([kept, aims], axis=1).T:
            there = np.isfinite(column)
            known = np.where(there, column, np.mean(column[there]) if np.any(there) else 0.0)
            self._logs.append(bool(np.all(known > 0.0)))
            columns.append((np.log(known) if self._logs[-1] else known)[:, None])
        return np.concatenate(columns, axis=1)

    def foretold(self, places: Array) -> tuple[Array, Array]:
        """What trials would give.

        Parameters
        ----------
        places : array (points, fields)
            Coordinates, as snapped.

        Returns
        -------
        tuple of array
            Objective, higher is better (points), and slack of each condition as `Keep.slack`
            tells it (points, conditions); a stage that hardly works has less by `DEAD`.
        """
        at = stretched(self._free, places)
        told = self._surface.at(at)
        count = len(self._ratings)
        asked = np.exp(np.clip(told[:, :count], *_LOGS))
        margins = dict(zip(self._ratings, 1.0 - asked.T, strict=True))
        smallest = np.min(np.stack([*margins.values()]), axis=0) if margins else np.ones(len(at))
        figures = [
            np.exp(np.clip(column, -300.0, 300.0)) if log else column
            for column, log in zip(told[:, count:].T, self._logs, strict=True)
        ]
        known = dict(zip(self._figures, figures[:-1], strict=True))
        slacks = []
        for place, keep in enumerate(self._wish.conditions):
            rating = keep.name.partition(".")[2]
            value = known[place] if place in known else margins.get(rating, smallest)
            if place not in known and rating and rating not in margins:
                value = np.full(len(at), np.inf)  # a rating that the design does not have
            slacks.append(keep.slack(value))
        aim = self._wish.objective
        objective = figures[-1]
        if _on_margin(aim.name):
            objective = margins.get(aim.name.partition(".")[2], smallest)
        slack = np.stack(slacks, axis=1)
        if self._works is not None:
            slack = slack - DEAD * (self._works.at(at) < 0.5)
        return (objective if aim.highest else -objective), slack


class _Surface:
    """Radial basis functions for several figures at once; fields that never moved are left out."""

    def __init__(self, places: Array, figures: Array, *, smooth: bool = True) -> None:
        self._moved = np.ptp(places, axis=0) > 1e-9
        self._shift, self._scale = figures.mean(axis=0), np.maximum(figures.std(axis=0), 1e-9)
        if not np.any(self._moved):
            self._between = None
            return
        scaled = (figures - self._shift) / self._scale
        inside = places[:, self._moved]
        try:
            if not smooth or len(inside) < inside.shape[1] + 2:
                raise np.linalg.LinAlgError
            self._between = RBFInterpolator(inside, scaled, smoothing=_SMOOTHING, kernel="cubic")
        except np.linalg.LinAlgError:  # too few, or all in a plane
            self._between = RBFInterpolator(inside, scaled, kernel="linear", degree=0)

    def at(self, places: Array) -> Array:
        """Figures at coordinates (points, figures)."""
        if self._between is None:
            return np.broadcast_to(self._shift, (len(places), len(self._shift)))
        return np.asarray(self._between(places[:, self._moved]) * self._scale + self._shift)


def proposed(
    surrogate: Surrogate,
    free: Sequence[Free],
    known: Array,
    *,
    count: int,
    random: np.random.Generator,
) -> Array:
    """Coordinates worth a trial (at most `count`, fields).

    Parameters
    ----------
    surrogate : Surrogate
        Surfaces through the trials.
    free : sequence of Free
        What may move.
    known : array (trials, fields)
        Coordinates of all trials, the best first.
    count : int
        Candidates wanted; they are bred with more and more room to the conditions, the last of
        each four lies far from everything tried.
    random : Generator
        Random numbers.
    """
    taken = known
    chosen: list[Array] = []
    close = [_bred(surrogate, free, known, _STEPS, room=room, random=random) for room in _ROOM]
    wide = _bred(surrogate, free, known, _STEPS[:2], room=_ROOM[0], random=random)
    for number in range(count):
        far = number % 4 == 3
        places = wide if far else close[number % len(_ROOM)]
        steps = _steps(places, taken)
        order = np.arange(len(places))
        if far:  # the better half, by how far away it is
            order = np.argsort(-steps[: len(places) // 2], kind="stable")
        fresh = order[steps[order] >= (_APART if number % 4 else _CLOSE)]
        if not len(fresh):
            fresh = order[steps[order] > 1e-9]
        if len(fresh):
            chosen.append(places[fresh[0]])
            taken = np.vstack([taken, places[fresh[0]]])
    return np.array(chosen).reshape(-1, len(free))


def _bred(
    surrogate: Surrogate,
    free: Sequence[Free],
    known: Array,
    steps: Sequence[float],
    *,
    room: float,
    random: np.random.Generator,
) -> Array:
    """Candidates after some generations, the best first by what the surfaces foretell."""
    fields = len(free)
    everywhere = random.random((_CHILDREN, fields))
    places = _distinct(snapped(free, np.vstack([known[:_PARENTS], everywhere])))
    places = _ranked(surrogate, places, room)
    share = min(_MOVED / fields, 1.0)
    for step in steps:
        parents = places[random.integers(min(_PARENTS, len(places)), size=_CHILDREN)]
        moved = random.random(parents.shape) < share
        moved[np.arange(_CHILDREN), random.integers(fields, size=_CHILDREN)] = True
        counts = np.array([one.count for one in free])
        wide = np.maximum(step, 1.0 / counts)  # a whole number or a part goes one further at least
        children = parents + moved * wide * random.standard_normal(parents.shape)
        children = snapped(free, np.abs(1.0 - np.abs(1.0 - children) % 2.0))
        # Two parents give a child the fields of either, as the last third.
        mates = places[random.integers(min(_PARENTS, len(places)), size=_CHILDREN)]
        third = np.arange(_CHILDREN) % 3 == 2
        children[third] = np.where(moved[third], mates[third], children[third])
        places = _distinct(np.vstack([places[:_PARENTS], children]))
        places = _ranked(surrogate, places, room)
    return places


def _ranked(surrogate: Surrogate, places: Array, room: float) -> Array:
    """Candidates by feasibility, then by objective."""
    objective, slack = surrogate.foretold(places)
    miss = np.sum(np.clip(room - slack, 0.0, DEAD), axis=1)
    return np.asarray(places[np.lexsort((-objective, miss))])


def _distinct(places: Array) -> Array:
    _, first = np.unique(places, axis=0, return_index=True)
    return np.asarray(places[np.sort(first)])


def _steps(places: Array, others: Array) -> Array:
    """Largest step of a coordinate to the nearest of others (points)."""
    return np.asarray(np.min(np.max(np.abs(places[:, None] - others[None]), axis=2), axis=1))


def _on_margin(name: str) -> bool:
    return name.split(".")[0] == MARGIN
