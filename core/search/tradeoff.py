"""Trade-offs: one condition or one field swept, the best design at each of its values.

The points know of each other. Where a condition is swept, a trial is a trial for all points: it is
judged anew by each, so every point begins with all that was tried before it. Where a field is
swept, a point begins at the best designs of its neighbour.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Any, Final

from burstwise.core.design.document import Design
from burstwise.core.errors import InputError
from burstwise.core.findings import Finding, heaviest_first, note, stop
from burstwise.core.search.archive import Archive
from burstwise.core.search.budget import Budget, Progress
from burstwise.core.search.found import Found, Limiting
from burstwise.core.search.hunt import Hunt
from burstwise.core.search.pool import Pool
from burstwise.core.search.reasons import limiting
from burstwise.core.search.space import Free, free_from_text
from burstwise.core.search.trial import Ground, changed
from burstwise.core.search.wanted import check_budget, check_free, prepared
from burstwise.core.search.wish import Keep, Wish, in_words, keep_from_text, name_in_words

SECONDS: Final = 60.0
"""Time of a trade-off when neither time nor number of evaluations is given [s]."""
POINTS: Final = 7
MOST_POINTS: Final = 25
_NEIGHBOURS: Final = 3
"""Good designs that a point takes over from its neighbour."""
_FIRST: Final = 2
"""Share of the first point in the budget, which starts from nothing, over that of another."""


@dataclass(frozen=True, slots=True)
class Sweep:
    """What is swept.

    Attributes
    ----------
    what : Keep or Free
        Condition whose limit, or field whose value is swept.
    values : tuple of float
        Its values, in their order.
    """

    what: Keep | Free
    values: tuple[float, ...]

    @property
    def name(self) -> str:
        """Name of the condition, or path of the field."""
        return self.what.path if isinstance(self.what, Free) else self.what.name

    @property
    def title(self) -> str:
        """In words."""
        if isinstance(self.what, Free):
            return self.what.title
        return f"{name_in_words(self.what.name)} {'at most' if self.what.most else 'at least'}"

    def wish_at(self, wish: Wish, value: float) -> Wish:
        """A wish at one value; its own limit of a condition that is swept gives way."""
        what = self.what
        if isinstance(what, Free):
            return wish
        same = (what.name, what.most)
        others = tuple(keep for keep in wish.keeps if (keep.name, keep.most) != same)
        return replace(wish, keeps=(*others, replace(what, limit=value)))

    def text(self, value: float) -> str:
        """A value as a person writes it."""
        if isinstance(self.what, Free):
            return self.what.text(value)
        return in_words(self.what.name, value)


@dataclass(frozen=True, slots=True)
class TradePoint:
    """One point of a trade-off.

    Attributes
    ----------
    value : float
        Of what is swept.
    found : Found or None
        The best design there, evaluated in full; None where nothing holds everything.
    limited_by : tuple of Limiting
        What holds it back.
    """

    value: float
    found: Found | None
    limited_by: tuple[Limiting, ...]


@dataclass(frozen=True, slots=True)
class TradeOff:
    """Outcome of a sweep.

    Attributes
    ----------
    sweep : Sweep
        What was swept.
    points : tuple of TradePoint
        In the order of their values.
    evaluations : int
        Number of trials and full evaluations.
    seconds : float
        Time taken.
    stopped : bool
        Whether it was stopped before its end.
    findings : tuple of Finding
        What there is to say.
    """

    sweep: Sweep
    points: tuple[TradePoint, ...]
    evaluations: int
    seconds: float
    stopped: bool
    findings: tuple[Finding, ...]


def sweep_from_text(design: Design, text: str, points: int) -> Sweep:
    """Sweep as it is written on the command line.

    Parameters
    ----------
    design : Design
        Design that must have the field.
    text : str
        ``margin=0%:40%``, ``burst.average_power_W<5:50`` or ``supply.voltage=20V:60V``.
    points : int
        Number of values, equally far apart.

    Raises
    ------
    InputError
        Not of that form, no condition and no field, an empty range, or too many points.
    """
    if not 2 <= points <= MOST_POINTS:
        raise InputError("--points", points, f"2 to {MOST_POINTS}")
    low, separator, high = text.partition(":")
    name = low.split("=")[0].split("<")[0].split(">")[0].strip()
    if not separator:
        raise InputError("--sweep", text, "NAME=LOW:HIGH, NAME<LOW:HIGH or PATH=LOW:HIGH")
    if "=" in low and name.split(".")[0] != "margin":
        free = free_from_text(design, text)
        if free.whole:
            raise InputError("--sweep", text, "a field with values in between")
        return Sweep(free, spaced(free.low, free.high, points))
    keep = keep_from_text(low)
    end = keep_from_text(f"{name}{'<' if keep.most else '>'}{high}")
    if not keep.limit < end.limit:
        raise InputError("--sweep", text, "LOW:HIGH with LOW below HIGH")
    return Sweep(keep, spaced(keep.limit, end.limit, points))


def spaced(low: float, high: float, points: int) -> tuple[float, ...]:
    """Values equally far apart, rounded to four figures.

    Examples
    --------
    >>> spaced(0.0, 0.4, 5)
    (0.0, 0.1, 0.2, 0.3, 0.4)
    """
    step = (high - low) / (points - 1)
    return tuple(float(f"{low + step * number:.4g}") for number in range(points))


def trade_off(
    design: Design,
    wish: Wish,
    free: Sequence[Free],
    sweep: Sweep,
    *,
    seed: int = 1,
    seconds: float | None = None,
    evaluations: int | None = None,
    processes: int = 2,
    go_on: Callable[[Progress], bool] | None = None,
) -> TradeOff:
    """The best design at each value of what is swept.

    Parameters
    ----------
    design, wish, free, seed, seconds, evaluations, processes, go_on
        As for `search`; the budget is that of all points together, 60 s when none is given. A
        condition of the wish that is swept, and a free field that is swept, give way.
    sweep : Sweep
        What is swept.

    Raises
    ------
    InputError
        As for `search`, and where nothing is left to move.
    """
    what = sweep.what
    free = tuple(one for one in free if not isinstance(what, Free) or one.path != what.path)
    check_free(free)
    check_budget(seconds, evaluations)
    if seconds is None and evaluations is None:
        seconds = SECONDS
    budget = Budget(seconds, evaluations, go_on)
    spent = [budget]
    with Pool(processes, lambda: spent[-1].go_on()) as pool:
        first = sweep.wish_at(wish, sweep.values[0])
        ground = prepared(design, first, _pooled(free, what), budget)
        if ground is None:
            return _told(sweep, [], budget, ())
        pool.take(ground)
        walk = _Walk(ground, free, sweep, pool, spent, seed)
        for number in range(len(sweep.values)):
            walk.visit(number)
        return _told(sweep, walk.points(), budget, ground.hidden)


def _pooled(free: tuple[Free, ...], what: Keep | Free) -> tuple[Free, ...]:
    return (what, *free) if isinstance(what, Free) else free


class _Walk:
    """Goes from point to point of a sweep; `spent` holds its budget, then those of the points."""

    def __init__(
        self,
        ground: Ground,
        free: tuple[Free, ...],
        sweep: Sweep,
        pool: Pool,
        spent: list[Budget],
        seed: int,
    ) -> None:
        self.ground, self.free, self.sweep = ground, free, sweep
        self.pool, self.spent, self.seed = pool, spent, seed
        self.budget = spent[0]
        self.hunts: list[Hunt] = []

    def visit(self, number: int) -> None:
        """Hunt at one value; what came before it is where it begins."""
        if self.spent[-1].asked_to_stop():
            return
        value = self.sweep.values[number]
        before = self.hunts[-1].archive if self.hunts else None
        self.spent.append(self._share(number))
        hunt = self._hunt(self._archive(value, before), value)
        self.hunts.append(hunt)
        hunt.run(_good(before) if before is not None else ())
        self.budget.used += hunt.budget.used

    def points(self) -> list[TradePoint]:
        """The best of each point, by all that was tried at any of them."""
        return [
            self._point(value, hunt)
            for value, hunt in zip(self.sweep.values, self.hunts, strict=False)
        ]

    def _point(self, value: float, hunt: Hunt) -> TradePoint:
        if not isinstance(self.sweep.what, Free):
            # Later points know more: what they evaluated counts for the earlier ones, too.
            hunt = self._hunt(self.hunts[-1].archive.under(hunt.ground.wish), value)
        found = next(iter(hunt.held()), None)
        return TradePoint(value, found, limiting(hunt.ground, found))

    def _hunt(self, archive: Archive, value: float) -> Hunt:
        return Hunt(
            archive,
            self.pool,
            self.spent[-1],
            self.seed + len(self.hunts),
            others=0,
            origin=self.ground.design,
            fixed=self._fixed(value),
        )

    def _archive(self, value: float, before: Archive | None) -> Archive:
        wish = self.sweep.wish_at(self.ground.wish, value)
        if not isinstance(self.sweep.what, Free):
            return (before or Archive(self.ground)).under(wish)
        there = changed(self.ground.design, self._fixed(value))
        return Archive(replace(self.ground, design=there, free=self.free))

    def _fixed(self, value: float) -> dict[str, Any]:
        return {self.sweep.what.path: value} if isinstance(self.sweep.what, Free) else {}

    def _share(self, number: int) -> Budget:
        """Budget of one point, from what is left; the first has to look around."""
        shares = len(self.sweep.values) - number + (_FIRST - 1 if number == 0 else 0)
        part = (_FIRST if number == 0 else 1) / shares
        left = None if self.budget.evaluations is None else round(part * self.budget.left)
        time = None
        if self.budget.seconds is not None:
            time = max(part * (self.budget.seconds - self.budget.elapsed), 0.0)
        done = number / len(self.sweep.values)

        def tell(progress: Progress) -> bool:
            share = done + progress.share / len(self.sweep.values)
            return self.budget.tell(replace(progress, share=share))

        return Budget(time, left, tell)


def _good(archive: Archive) -> list[dict[str, Any]]:
    """Values of the best designs of a neighbour."""
    return [dict(trial.values) for trial in archive.ranked()[:_NEIGHBOURS]]


def _told(
    sweep: Sweep, points: list[TradePoint], budget: Budget, hidden: tuple[Finding, ...]
) -> TradeOff:
    """Outcome with its findings."""
    told: list[Finding] = list(hidden)
    empty = [sweep.text(point.value) for point in points if point.found is None]
    if len(empty) == len(points):
        told.append(stop("no-design", "search", "No value swept has a design that holds."))
    elif empty:
        text = f"Nothing holds everything at {', '.join(empty)}."
        told.append(note("no-design-there", "search", text))
    told.append(
        note(
            "not-proven",
            "search",
            f"{budget.used} evaluations for {len(points)} points; better ones may exist. Figures "
            "hold for the parts as typed, without their tolerance.",
        )
    )
    return TradeOff(
        sweep, tuple(points), budget.used, budget.elapsed, budget.cancelled, heaviest_first(told)
    )
