"""What a search brings back."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any, Final

from burstwise.core.design.document import Design
from burstwise.core.evaluate.results import Results
from burstwise.core.findings import Finding, stop
from burstwise.core.search.sample import Trial
from burstwise.core.search.tolerance import Tolerance
from burstwise.core.search.wish import Keep, Wish

_OF_NONE: Final = ("no-design", "nearest-wish")
"""Findings of a search without a design."""


@dataclass(frozen=True, slots=True)
class Limiting:
    """What holds a design back.

    Attributes
    ----------
    name : str
        Condition, or path of a free field that stands at an end of its range.
    text : str
        In words, with numbers.
    """

    name: str
    text: str


@dataclass(frozen=True, slots=True)
class Found:
    """One design that was found, evaluated in full.

    Attributes
    ----------
    design : Design
        The design.
    changed : mapping
        Paths and values in which it differs from the one the search began with.
    values : mapping
        Values of all free fields.
    objective : float
        Figure wished for.
    results : Results
        Its full evaluation.
    tolerance : Tolerance or None
        What the scatter of builds does to it; None where nobody asked.
    """

    design: Design
    changed: Mapping[str, Any]
    values: Mapping[str, Any]
    objective: float
    results: Results
    tolerance: Tolerance | None = None


@dataclass(frozen=True, slots=True)
class Nearest:
    """What can be had where a wish asks for too much.

    Attributes
    ----------
    wish : Wish
        The wish with the conditions eased that its design misses, as little as that takes.
    eased : tuple of Keep
        Those conditions, eased; none lets a rating be exceeded that the wish did not.
    found : Found
        A design that holds it, evaluated in full.
    limited_by : tuple of Limiting
        What holds it back.
    """

    wish: Wish
    eased: tuple[Keep, ...]
    found: Found
    limited_by: tuple[Limiting, ...]

    @property
    def text(self) -> str:
        """What can be had, in words."""
        return " and ".join(keep.text for keep in self.eased)


@dataclass(frozen=True, slots=True)
class Answer:
    """Outcome of a search.

    Attributes
    ----------
    found : tuple of Found
        The best first; the others differ from it in kind. Empty where no design holds everything.
    closest : Found or None
        Where nothing holds everything: the design that misses least.
    limited_by : tuple of Limiting
        What holds the best back; for the closest what it misses.
    trials : tuple of Trial
        All that was tried.
    evaluations : int
        Number of trials and full evaluations.
    seconds : float
        Time taken.
    stopped : bool
        Whether it was stopped before its end.
    findings : tuple of Finding
        What there is to say.
    nearest : Nearest or None
        Where nothing holds everything: what can be had instead, if anything.
    """

    found: tuple[Found, ...]
    closest: Found | None
    limited_by: tuple[Limiting, ...]
    trials: tuple[Trial, ...]
    evaluations: int
    seconds: float
    stopped: bool
    findings: tuple[Finding, ...]
    nearest: Nearest | None = None

    @property
    def of_nearest(self) -> Answer:
        """The answer to what can be had instead; itself where there is nothing."""
        if self.nearest is None:
            return self
        return replace(
            self,
            found=(self.nearest.found,),
            closest=None,
            limited_by=self.nearest.limited_by,
            findings=tuple(item for item in self.findings if item.code not in _OF_NONE),
            nearest=None,
        )


def stopped_early(seconds: float) -> Answer:
    """Answer of a search that was stopped before its first trial."""
    text = "Stopped before the first combination was tried."
    finding = stop("no-design", "search", text)
    return Answer((), None, (), (), 0, seconds, True, (finding,))
