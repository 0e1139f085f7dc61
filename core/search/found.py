"""What a search brings back."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from burstwise.core.design.document import Design
from burstwise.core.evaluate.results import Results
from burstwise.core.findings import Finding, stop
from burstwise.core.search.sample import Trial
from burstwise.core.search.tolerance import Tolerance


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
    """

    found: tuple[Found, ...]
    closest: Found | None
    limited_by: tuple[Limiting, ...]
    trials: tuple[Trial, ...]
    evaluations: int
    seconds: float
    stopped: bool
    findings: tuple[Finding, ...]


def stopped_early(seconds: float) -> Answer:
    """Answer of a search that was stopped before its first trial."""
    text = "Stopped before the first combination was tried."
    finding = stop("no-design", "search", text)
    return Answer((), None, (), (), 0, seconds, True, (finding,))
