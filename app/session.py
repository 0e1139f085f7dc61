"""One window's work: the document, its evaluation off the GUI thread, the latest results."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, Final

from PySide6.QtCore import QElapsedTimer, QObject, QTimer, Signal

from burstwise.app.document import Document
from burstwise.app.own_drawer import OwnDrawer
from burstwise.app.worker import BusyPolicy, Outcome, Task, Worker
from burstwise.core.errors import InputError
from burstwise.core.findings import Finding, Severity, stop

SETTLE_MS: Final = 90
"""Quiet time after an edit, shown in a quick picture, before the full evaluation begins [ms]."""
IDLE_MS: Final = 600
"""Quiet time after all other work before the bands of tolerance are asked for [ms]."""


@dataclass(frozen=True, slots=True)
class Summary:
    """What the standing strip says: state now, first rating to break, smallest margin.

    `severity` is that of the smallest margin's verdict, None while all is well. `stopped` tells of
    a stop finding that is no limit; nothing beside it may look sound. `breaks` has the first
    ratings to break with their supplies [V].
    """

    now: str
    first_limit: str
    margin: str
    severity: Severity | None
    findings: tuple[Finding, ...]
    stopped: bool = False
    first_break: str = ""
    breaks: tuple[tuple[str, float], ...] = ()


@dataclass(frozen=True, slots=True)
class Job:
    """The functions of the core that the window needs, and nothing else of it.

    Parameters
    ----------
    new : callable
        A design to start with.
    load, save : callable
        Read and write a design file; both raise `InputError`. What is written is the text of
        `to_text` in UTF-8.
    to_text, from_text : callable
        Text of a design file and back.
    with_values, value_at : callable
        Edit and read by dotted path.
    evaluate : callable
        Results of a design; the `Task` may be used to tell progress and to be stopped.
    summarise : callable
        Strip and findings of some results; with ``during_drag=True`` those of a quick picture, of
        which many come a second.
    examples : callable
        Example files by title.
    glimpse : callable
        Quick results of a design within a few milliseconds, None while there are none.
    prepare : callable, optional
        Makes ready what glimpses of a design need; run in a thread of its own after an evaluation.
    bands : callable, optional
        Bands of build tolerance of some results, None where they have none; run in a thread of its
        own when all else rests.
    """

    new: Callable[[], Any]
    load: Callable[[Path], Any]
    save: Callable[[Any, Path], None]
    to_text: Callable[[Any], str]
    from_text: Callable[[str], Any]
    with_values: Callable[[Any, Mapping[str, object]], Any]
    value_at: Callable[[Any, str], Any]
    evaluate: Callable[[Any, Task], Any]
    summarise: Callable[..., Summary]
    examples: Callable[[], Mapping[str, Path]]
    glimpse: Callable[[Any], Any | None] = lambda design: None
    prepare: Callable[[Any, Task], None] | None = None
    bands: Callable[[Any, Task], Any | None] | None = None


@dataclass(frozen=True, slots=True)
class Evaluated:
    """Results together with the design that they belong to."""

    design: Any
    results: Any
    summary: Summary


class Session(QObject):
    """Evaluates the document after each change and holds the latest results.

    `evaluated` carries an `Evaluated`; `failed` a finding when an evaluation ended with an error,
    in which case the last good results stay. `glimpsed` carries an `Evaluated` with quick results
    that are there at once; the full ones follow when no edit has come for `SETTLE_MS`, and those
    of a design that has moved on since are not told. `looked_ahead` carries the latest results
    again with a summary that knows what breaks first. `pin_changed` tells that another design is
    `pinned`, or none. `banded` carries the bands of build tolerance of the latest results, which
    come when nothing else is to be done, and None as soon as the design moves on.
    """

    evaluated = Signal(object)
    glimpsed = Signal(object)
    looked_ahead = Signal(object)
    pin_changed = Signal()
    banded = Signal(object)
    failed = Signal(object)

    def __init__(self, job: Job) -> None:
        super().__init__()
        self.job = job
        self.document: Document[Any] = Document(
            job.new(), with_values=job.with_values, value_at=job.value_at
        )
        self.drawer = OwnDrawer()
        self.worker = Worker(when_busy=BusyPolicy.CANCEL, name="evaluation")
        self.preparer = Worker(when_busy=BusyPolicy.CANCEL, name="preparation of quick pictures")
        self.bander = Worker(when_busy=BusyPolicy.CANCEL, name="bands of tolerance")
        self.bands: Any | None = None
        self._bands_wanted = True
        self.latest: Evaluated | None = None
        self._ahead: Evaluated | None = None
        self.pinned: Evaluated | None = None
        self._asked: dict[int, Any] = {}
        self._settle = QTimer(self)
        self._settle.setSingleShot(True)
        self._settle.setInterval(SETTLE_MS)
        self._settle.timeout.connect(self._submit)
        self._idle = QTimer(self)
        self._idle.setSingleShot(True)
        self._idle.setInterval(IDLE_MS)
        self._idle.timeout.connect(self._ask_bands)
        self._since = QElapsedTimer()
        self.document.changed.connect(self._drop_bands)
        self.document.changed.connect(self.refresh)
        self.worker.finished.connect(self._take)
        self.preparer.finished.connect(self._prepared)
        self.bander.finished.connect(self._take_bands)

    @property
    def settling(self) -> bool:
        """Whether a quick picture is shown whose full evaluation has not begun."""
        return self._settle.isActive()

    def refresh(self, _design: object = None) -> None:
        """Evaluate the design as it stands; the latest request wins."""
        design, job = self.document.design, self.job
        quick = job.glimpse(design)
        if quick is None:
            # What is being prepared would most likely not serve this design either.
            self.preparer.stop()
            # Of a run of edits only the last is evaluated; work on a drag's first would keep its
            # next frames waiting. Edits that come one by one are, at once.
            in_run = self._since.isValid() and self._since.elapsed() < SETTLE_MS
            self._since.restart()
            if self.document.live or in_run:
                self._settle.start()
            else:
                self._submit()
            return
        self._settle.start()
        self.glimpsed.emit(Evaluated(design, quick, job.summarise(quick, during_drag=True)))

    def pin(self, wanted: bool = True) -> None:
        """Keep the latest results to set the next ones beside, or keep none."""
        pinned = self.latest if wanted else None
        if pinned is not self.pinned:
            self.pinned = pinned
            self.pin_changed.emit()

    def close(self) -> None:
        """Stop the threads and forget the steps; nothing is evaluated any more."""
        self._settle.stop()
        self._idle.stop()
        self.worker.close()
        self.preparer.close()
        self.bander.close()
        self.document.close()

    def _submit(self) -> None:
        self._settle.stop()
        design, job = self.document.design, self.job

        def work(task: Task) -> Evaluated:
            results = job.evaluate(design, task)
            return Evaluated(design, results, job.summarise(results))

        self._asked[self.worker.submit(work)] = design

    def _take(self, outcome: Outcome) -> None:
        # Work that was overtaken has no outcome of its own.
        design = self._asked[outcome.number]
        self._asked = {n: each for n, each in self._asked.items() if n > outcome.number}
        if design != self.document.design:
            return
        if outcome.error is not None:
            self._tell(outcome)
        else:
            self.latest = outcome.value
            self._prepare(outcome.value.design)
            self.evaluated.emit(outcome.value)
            self._rest()

    def _prepare(self, design: Any) -> None:
        prepare = self.job.prepare
        if prepare is not None:
            self.preparer.submit(lambda task: prepare(design, task))

    def _prepared(self, outcome: Outcome) -> None:
        latest = self.latest
        if outcome.error is None and latest is not None and latest.design == self.document.design:
            self._ahead = replace(latest, summary=self.job.summarise(latest.results))
            self.looked_ahead.emit(self._ahead)
        self._rest()

    def want_bands(self, wanted: bool) -> None:
        """Compute bands of tolerance when idle, or do without them."""
        self._bands_wanted = wanted
        if wanted:
            self._rest()
        else:
            self._drop_bands()

    def _rest(self) -> None:
        """Ask for bands after a while in which nothing has happened."""
        latest = self.latest
        if (
            self._bands_wanted
            and self.job.bands is not None
            and self.bands is None
            and latest is not None
            and latest.design == self.document.design
        ):
            self._idle.start()

    def _ask_bands(self) -> None:
        bands, latest = self.job.bands, self.latest
        if self.settling or self.worker.busy or self.preparer.busy:
            return  # their end asks again
        if bands is not None and latest is not None:
            self.bander.submit(lambda task: bands(latest.results, task))

    def _take_bands(self, outcome: Outcome) -> None:
        self.bands = outcome.value
        if self.bands is not None:
            self.banded.emit(self.bands)

    def _drop_bands(self, _design: object = None) -> None:
        self._idle.stop()
        self.bander.stop()
        if self.bands is not None:
            self.bands = None
            self.banded.emit(None)

    @property
    def latest_complete(self) -> Evaluated | None:
        """Latest results with all that is known of them: what was looked ahead, where that is."""
        latest, ahead = self.latest, self._ahead
        if latest is None or ahead is None or ahead.results is not latest.results:
            return latest
        return ahead

    def _tell(self, outcome: Outcome) -> None:
        error = outcome.error
        if isinstance(error, InputError):
            self.failed.emit(stop("input", error.field, outcome.complaint()))
        else:
            words = outcome.complaint("The evaluation") + "."
            self.failed.emit(stop("evaluation-failed", "", words))
