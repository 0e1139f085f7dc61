"""What the scatter of hand-wound coils and bought parts does to a design that was found.

An optimum stands at the edge of its conditions: of its builds about half fall on the wrong side.
How many still exceed no rating, and which input decides, tells whether it is worth building.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from math import isnan, nan
from typing import TYPE_CHECKING, Final

import numpy as np

from burstwise.core.arrays import Array
from burstwise.core.errors import InputError
from burstwise.core.evaluate.results import Results
from burstwise.core.search.wish import MARGIN, Wish
from burstwise.core.studies.chance import BUILDS, Builds, deciding, random_builds
from burstwise.core.studies.quick import KnownCorners, known_corners
from burstwise.core.studies.response import FewStartError
from burstwise.core.studies.spread import SPREADS
from burstwise.core.units import shown

if TYPE_CHECKING:
    from burstwise.core.search.found import Found


FEWEST: Final = 100
MOST: Final = 100_000


@dataclass(frozen=True, slots=True)
class Tolerance:
    """Outcome of random builds of one design, each judged in its worst corner.

    Attributes
    ----------
    builds : int
        Number of builds.
    holds : float
        Share that exceeds no rating [1].
    keeps : float
        Share that keeps all margins that were wished for [1].
    starts : float
        Share that oscillates; the other figures are for those, and NaN where they are too few to
        tell [1].
    low, middle : float
        5 % and 50 % points of the smallest margin [1].
    inputs : tuple of (str, float)
        Titles of the inputs that decide it with their shares of its scatter, largest first.
    """

    builds: int
    holds: float
    keeps: float
    starts: float
    low: float
    middle: float
    inputs: tuple[tuple[str, float], ...]

    @property
    def text(self) -> str:
        """In one sentence."""
        start = f"{shown(self.starts, '%', digits=2)} of builds with usual scatter start at all"
        if isnan(self.holds):
            return f"Only {start}: too few to tell what they do."
        deciding = " and ".join(title.lower() for title, _ in self.inputs[:2])
        return (
            f"Of {self.builds} builds with usual scatter {shown(self.holds, '%', digits=3)} exceed "
            f"no rating and {shown(self.keeps, '%', digits=3)} keep the margins wished for"
            + (f"; decided by {deciding}." if deciding else ".")
            + (f" {start}." if self.starts < 1.0 else "")
        )


def tolerance(
    results: Results,
    wish: Wish,
    *,
    builds: int = BUILDS,
    seed: int = 1,
    ask: Callable[[float], bool] | None = None,
) -> Tolerance:
    """What scatter does to an evaluated design.

    Parameters
    ----------
    results : Results
        The design, evaluated in full.
    wish : Wish
        Its conditions on margins count; figures that are no margins are not looked at.
    builds, seed : int
        Random builds, and the start of their random numbers.
    ask : callable, optional
        Told the share done; answers whether to go on.

    Raises
    ------
    InputError
        Fewer than 100 or more than 100 000 builds.
    StoppedError
        `ask` answered no.
    """
    check_builds(builds)
    try:
        made = random_builds(results, builds=builds, seed=seed, ask=ask)
    except FewStartError as error:
        return Tolerance(builds, nan, nan, error.starts, nan, nan, ())
    margins = _in_corners(made, known_corners(results))
    smallest = np.min(np.stack(list(margins.values())), axis=0)
    kept = np.ones(builds, dtype=bool)
    for keep in wish.conditions:
        first, _, rating = keep.name.partition(".")
        if first == MARGIN:
            margin = margins.get(rating) if rating else smallest
            if margin is not None:
                kept &= margin <= keep.limit if keep.most else margin >= keep.limit
    low, middle = np.quantile(np.nan_to_num(smallest, neginf=-1e3), (0.05, 0.5))
    return Tolerance(
        builds=builds,
        holds=float(np.mean(smallest >= 0.0)),
        keeps=float(np.mean(kept)),
        starts=made.response.starts,
        low=float(low),
        middle=float(middle),
        inputs=deciding(smallest, made.numbers, SPREADS),
    )


def check_builds(builds: int) -> None:
    """Check a number of builds.

    Raises
    ------
    InputError
        Too few or too many.
    """
    if not FEWEST <= builds <= MOST:
        raise InputError("builds", builds, f"{FEWEST} to {MOST}")


def _in_corners(made: Builds, corners: KnownCorners) -> dict[str, Array]:
    """Margins of all builds in the worst corner of each rating.

    With value and limit over the designed ones known, ``1 - m`` grows by their quotient.
    """
    found = {}
    for name in made.margins.names:
        share = corners.shares.get(name)
        over = 1.0 if share is None else share.value / share.limit
        found[name] = 1.0 - (1.0 - made.margins.of(name)) * over
    count = made.margins.margin.shape[-1]
    return {**found, **{item.rating: np.full(count, item.margin) for item in corners.kept}}


def scattered(found: Sequence[Found], wish: Wish, *, builds: int = BUILDS) -> tuple[Found, ...]:
    """Designs with what scatter does to them; as they are with no builds."""
    if builds == 0:
        return tuple(found)
    return tuple(
        replace(one, tolerance=tolerance(one.results, wish, builds=builds)) for one in found
    )
