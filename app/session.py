"""One window's work: the document, its evaluation off the GUI thread, the latest results."""

from __future__ import annotations

import logging
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from PySide6.QtCore import QObject, Signal

from app.document import Document
from app.worker import Outcome, Task, Worker
from core.errors import InputError
from core.findings import Finding, Severity, stop

_log = logging.getLogger(__name__)


@dataclass(frozen=True, slots=True)
class Summary:
    """What the standing strip says: state now, first limit to break, distance to it.

    `severity` is that of the first limit's verdict, None while all is well.
    """

    now: str
    first_limit: str
    margin: str
    severity: Severity | None
    findings: tuple[Finding, ...]


@dataclass(frozen=True, slots=True)
class Job:
    """The functions of the core that the window needs, and nothing else of it.

    Parameters
    ----------
    new : callable
        A design to start with.
    load, save : callable
        Read and write a design file; both raise `InputError`.
    to_text, from_text : callable
        Text of a design file and back.
    with_values, value_at : callable
        Edit and read by dotted path.
    evaluate : callable
        Results of a design; the `Task` may be used to tell progress and to be stopped.
    summarise : callable
        Strip and findings of some results.
    examples : callable
        Example files by title.
    """

    new: Callable[[], Any]
    load: Callable[[Path], Any]
    save: Callable[[Any, Path], None]
    to_text: Callable[[Any], str]
    from_text: Callable[[str], Any]
    with_values: Callable[[Any, Mapping[str, object]], Any]
    value_at: Callable[[Any, str], Any]
    evaluate: Callable[[Any, Task], Any]
    summarise: Callable[[Any], Summary]
    examples: Callable[[], Mapping[str, Path]]


@dataclass(frozen=True, slots=True)
class Evaluated:
    """Results together with the design that they belong to."""

    design: Any
    results: Any
    summary: Summary


class Session(QObject):
    """Evaluates the document after each change and holds the latest results.

    `evaluated` carries an `Evaluated`; `failed` a finding when an evaluation ended with an error,
    in which case the last good results stay.
    """

    evaluated = Signal(object)
    failed = Signal(object)

    def __init__(self, job: Job) -> None:
        super().__init__()
        self.job = job
        self.document: Document[Any] = Document(
            job.new(), with_values=job.with_values, value_at=job.value_at
        )
        self.worker = Worker(name="evaluate")
        self.latest: Evaluated | None = None
        self.document.changed.connect(self.refresh)
        self.worker.finished.connect(self._take)

    def refresh(self, _design: object = None) -> None:
        """Evaluate the design as it stands; the latest request wins."""
        design, job = self.document.design, self.job

        def work(task: Task) -> Evaluated:
            results = job.evaluate(design, task)
            return Evaluated(design, results, job.summarise(results))

        self.worker.submit(work)

    def close(self) -> None:
        """Stop the thread; nothing is evaluated any more."""
        self.worker.close()

    def _take(self, outcome: Outcome) -> None:
        if outcome.error is None:
            self.latest = outcome.value
            self.evaluated.emit(outcome.value)
        elif isinstance(outcome.error, InputError):
            error = outcome.error
            self.failed.emit(stop("input", error.field, str(error)))
        else:
            _log.error("evaluation failed", exc_info=outcome.error)
            text = f"The evaluation failed ({outcome.error!r}); the log file holds the details."
            self.failed.emit(stop("evaluation-failed", "", text))
