"""The search: one wish, one hunt."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from contextlib import suppress
from typing import Final

from burstwise.core.design.document import Design
from burstwise.core.errors import InputError
from burstwise.core.search.archive import Archive
from burstwise.core.search.budget import Budget, Progress
from burstwise.core.search.found import Answer, stopped_early
from burstwise.core.search.hunt import Hunt
from burstwise.core.search.pool import Pool, beside
from burstwise.core.search.space import Free
from burstwise.core.search.trial import Ground, check_names, ground_of
from burstwise.core.search.wish import Wish
from burstwise.core.stopping import StoppedError

SECONDS: Final = 30.0
"""Time of a search when neither time nor number of evaluations is given [s]."""
FEWEST: Final = 8
"""Evaluations of a search that are made even where its time is up."""
MOST_FREE: Final = 20


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
        Budget: the first to be used up ends the search, which makes `FEWEST` evaluations however
        long they take. 30 s when neither is given.
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
    check_free(free)
    check_budget(seconds, evaluations)
    if seconds is None and evaluations is None:
        seconds = SECONDS
    budget = Budget(seconds, evaluations, go_on, fewest=FEWEST)
    with Pool(processes, budget.go_on) as pool:
        ground = prepared(design, wish, free, budget)
        if ground is None:
            return stopped_early(budget.elapsed)
        pool.take(ground)
        hunt = Hunt(Archive(ground), pool, budget, seed)
        hunt.run()
        return hunt.answer()


def prepared(design: Design, wish: Wish, free: tuple[Free, ...], budget: Budget) -> Ground | None:
    """Ground of a search, its names checked; None where somebody stopped it meanwhile.

    Raises
    ------
    InputError
        A figure that results do not have, or a design that cannot be evaluated as it stands.
    """

    def prepare() -> Ground:
        check_names(design, wish)
        return ground_of(design, wish, free)

    with suppress(StoppedError):
        return beside(prepare, lambda: not budget.asked_to_stop())
    return None


def check_free(free: tuple[Free, ...]) -> None:
    """Check what may move.

    Raises
    ------
    InputError
        No field, one named twice, or too many.
    """
    paths = [one.path for one in free]
    if not 1 <= len(free) <= MOST_FREE:
        raise InputError("free fields", len(free), f"1 to {MOST_FREE}")
    for path in paths:
        if paths.count(path) > 1:
            raise InputError("free field", path, "named once")


def check_budget(seconds: float | None, evaluations: int | None) -> None:
    """Check what may be spent.

    Raises
    ------
    InputError
        A time or a number that is too small or too large.
    """
    if seconds is not None and not 1.0 <= seconds <= 86400.0:
        raise InputError("seconds", seconds, "1 to 86400")
    if evaluations is not None and not 4 <= evaluations <= 1_000_000:
        raise InputError("evaluations", evaluations, "4 to 1000000")
