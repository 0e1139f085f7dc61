"""What a search may spend, and whether somebody wants it to stop."""

from __future__ import annotations

import sys
import time
from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

from burstwise.core.search.found import Found

_LAST: Final = 0.85
"""Part of the time after which the last full evaluations begin."""


@dataclass(frozen=True, slots=True)
class Progress:
    """How far a search is."""

    share: float
    evaluations: int
    best: Found | None


class Budget:
    """Time and evaluations of a search; the first to be used up ends it.

    Parameters
    ----------
    seconds, evaluations : float, int or None
        Time [s] and number; None for as much as one likes.
    told : callable or None
        Told how far it is; answers whether to go on.
    fewest : int
        Evaluations that are made even where the time is up: a machine that has much else to do
        shall not be the reason why nothing is found.
    """

    def __init__(
        self,
        seconds: float | None,
        evaluations: int | None,
        told: Callable[[Progress], bool] | None,
        *,
        fewest: int = 0,
    ) -> None:
        self.seconds, self.evaluations, self._told = seconds, evaluations, told
        self._fewest = fewest
        self.begun = time.perf_counter()
        self.used = 0
        self.cancelled = False
        self._part = _LAST
        self.best: Callable[[], Found | None] = lambda: None

    @property
    def elapsed(self) -> float:
        """Time since the beginning [s]."""
        return time.perf_counter() - self.begun

    @property
    def left(self) -> int:
        """Evaluations that are left; as many as one likes when only time counts."""
        return sys.maxsize if self.evaluations is None else max(self.evaluations - self.used, 0)

    def last_call(self) -> None:
        """Let the rest of the time be used."""
        self._part = 1.0

    def go_on(self) -> bool:
        """Tell how far it is, and answer whether to go on."""
        late = (
            self.seconds is not None
            and self.used >= self._fewest
            and self.elapsed >= self._part * self.seconds
        )
        return not (self.asked_to_stop() or late)

    def asked_to_stop(self) -> bool:
        """Tell how far it is, and answer whether somebody wants it to stop."""
        return not self.tell(Progress(self.share, self.used, self.best()))

    def tell(self, progress: Progress) -> bool:
        """Tell how far it is, and answer whether to go on."""
        if self._told is not None and not self._told(progress):
            self.cancelled = True
        return not self.cancelled

    @property
    def share(self) -> float:
        """How much of it is used up [1]."""
        share = 0.0
        if self.seconds is not None:
            share = self.elapsed / self.seconds
        if self.evaluations is not None:
            share = max(share, self.used / self.evaluations)
        return min(share, 1.0)
