"""Computation off the GUI thread: one at a time, the latest request wins.

Errors come back as data in the `Outcome`, in words that a page can show. All signals are sent in
the thread that made the worker. A computation that was stopped delivers nothing more; where it is
in the core it ends at the next `burstwise.core.stopping.check_stop`.
"""

from __future__ import annotations

import logging
import threading
import time
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from enum import Enum
from typing import Any, Final

from PySide6.QtCore import QCoreApplication, QObject, Qt, QTimer, Signal
from shiboken6.Shiboken import isValid

from burstwise.app.process_memory import return_freed
from burstwise.app.refusals import refusal
from burstwise.core.errors import InputError
from burstwise.core.stopping import StoppedError, stoppable

REST_MS: Final = 1000
"""Time without work after which the memory that it freed goes back to the system [ms]."""

_log = logging.getLogger(__name__)
_ending: Final[set[Worker]] = set()
"""Closed workers whose thread still runs: their signals need a receiver until it has ended."""


class BusyPolicy(Enum):
    """What a new request does to the computation that runs.

    `FINISH` lets it end and delivers it, so that plots follow a drag; `CANCEL` tells it to stop,
    for long work whose old result nobody wants. In both cases of all waiting requests only the
    latest is computed.
    """

    FINISH = "finish"
    CANCEL = "cancel"


@dataclass(frozen=True, slots=True)
class Outcome:
    """What became of a request: a value, or the error that it ended with."""

    number: int
    value: Any
    error: Exception | None
    seconds: float

    @property
    def refused(self) -> bool:
        """Whether the input was refused, and nothing went wrong."""
        return isinstance(self.error, InputError)

    def complaint(self, subject: str = "It") -> str:
        """The error in words for the user, e.g. 'It failed ...'; empty without one."""
        if isinstance(self.error, InputError):
            return refusal(self.error)
        if self.error is None:
            return ""
        return f"{subject} failed ({self.error!r}); the log file holds the details"


@dataclass(frozen=True, slots=True)
class Progress:
    """How far a request is, as a share from 0 to 1, and what it does."""

    number: int
    share: float
    text: str


class Task:
    """Handed to the computation: asks whether to stop, tells how far it is and what it has.

    Parameters
    ----------
    number : int
        That of the request.
    on_progress : callable
        Told each `Progress`.
    on_part : callable, optional
        Given the number and each part of the result that is ready.
    """

    def __init__(
        self,
        number: int,
        on_progress: Callable[[Progress], None],
        on_part: Callable[[int, object], None] = lambda number, part: None,
    ) -> None:
        self.number = number
        self._on_progress, self._on_part = on_progress, on_part
        self._stop = threading.Event()

    @property
    def cancelled(self) -> bool:
        """Whether the computation was told to stop."""
        return self._stop.is_set()

    def cancel(self) -> None:
        """Tell the computation to stop at its next check."""
        self._stop.set()

    def check(self) -> None:
        """Raise `StoppedError` if told to stop."""
        if self.cancelled:
            raise StoppedError("asked to stop")

    def progress(self, share: float, text: str = "") -> None:
        """Tell how far the computation is; a good moment to be stopped, too."""
        self.check()
        self._on_progress(Progress(self.number, share, text))

    def deliver(self, part: object) -> None:
        """Hand over a part of the result that is ready; a good moment to be stopped, too."""
        self.check()
        self._on_part(self.number, part)


Work = Callable[[Task], Any]


class Worker(QObject):
    """Runs one computation at a time in a thread of its own.

    `finished` carries an `Outcome`, `part` what a computation delivered before its end,
    `progressed` a `Progress`. An error that nobody foresaw is logged here.

    Parameters
    ----------
    owner : QObject, optional
        When it is destroyed the worker closes; it does so in any case when the program ends.
    when_busy : BusyPolicy
        What a new request does to a running one.
    name : str
        Name of the thread.
    """

    finished = Signal(object)
    part = Signal(object)
    progressed = Signal(object)
    busy_changed = Signal(bool)
    _end_sent = Signal(object, bool)
    _progress_sent = Signal(object)
    _part_sent = Signal(int, object)

    def __init__(
        self,
        owner: QObject | None = None,
        *,
        when_busy: BusyPolicy = BusyPolicy.FINISH,
        name: str = "worker",
    ) -> None:
        super().__init__()
        self._when_busy, self._name = when_busy, name
        self._pool = ThreadPoolExecutor(max_workers=1, thread_name_prefix=name)
        self._number = 0
        self._running: Task | None = None
        self._waiting: tuple[int, Work] | None = None
        self._closed = False
        self._rest = QTimer(self)
        self._rest.setSingleShot(True)
        self._rest.setInterval(REST_MS)
        self._rest.timeout.connect(return_freed)
        self._end_sent.connect(self._on_end, Qt.ConnectionType.QueuedConnection)
        self._progress_sent.connect(self._on_progress, Qt.ConnectionType.QueuedConnection)
        self._part_sent.connect(self._on_part, Qt.ConnectionType.QueuedConnection)
        if owner is not None:
            owner.destroyed.connect(lambda: self.close())
        application = QCoreApplication.instance()
        if application is not None:
            application.aboutToQuit.connect(self.close)

    @property
    def busy(self) -> bool:
        """Whether a computation runs or waits."""
        return self._running is not None and not self._closed

    def submit(self, work: Work) -> int:
        """Ask for a computation; returns the number that its `Outcome` will carry."""
        self._number += 1
        if self._closed:
            return self._number
        if self._running is None:
            self._start(self._number, work)
            self.busy_changed.emit(True)
        else:
            self._waiting = (self._number, work)
            if self._when_busy is BusyPolicy.CANCEL:
                self._running.cancel()
        return self._number

    def run_now(self, work: Work) -> None:
        """Compute in the caller's thread what takes milliseconds; what runs is told to stop.

        Its `Outcome` comes before this returns, errors and all.
        """
        self.stop()
        if self._closed:
            return
        self._number += 1
        task = Task(self._number, self._progress_sent.emit, self._part_sent.emit)
        outcome = _outcome(task, work)
        if not task.cancelled:
            self._deliver(outcome)

    def stop(self) -> None:
        """Stop what runs and forget what waits; neither is delivered."""
        self._waiting = None
        if self._running is not None:
            self._running.cancel()

    def close(self) -> None:
        """Stop and take no more work; the thread ends by itself, nothing is delivered any more."""
        if self._closed:
            return
        self._closed = True
        if isValid(self._rest):  # with its owner the worker itself may be gone
            self._rest.stop()
        self.stop()
        if self._running is not None:
            _ending.add(self)
        self._pool.shutdown(wait=False)

    def _start(self, number: int, work: Work) -> None:
        task = Task(number, self._progress_sent.emit, self._part_sent.emit)
        self._running = task
        self._rest.stop()
        self._pool.submit(self._run, task, work)

    def _run(self, task: Task, work: Work) -> None:
        outcome = _outcome(task, work)
        self._end_sent.emit(outcome, task.cancelled)

    def _on_end(self, outcome: Outcome, cancelled: bool) -> None:
        # Stopped or overtaken after the work was done, but before this was delivered.
        cancelled = cancelled or (self._running is not None and self._running.cancelled)
        self._running = None
        if self._closed:
            _ending.discard(self)
            return
        if self._waiting is not None:
            number, work = self._waiting
            self._waiting = None
            self._start(number, work)
        if not cancelled:
            self._deliver(outcome)
        if self._running is None:
            self._rest.start()
            self.busy_changed.emit(False)

    def _deliver(self, outcome: Outcome) -> None:
        if outcome.error is not None and not outcome.refused:
            _log.error("%s failed", self._name, exc_info=outcome.error)
        self.finished.emit(outcome)

    def _on_progress(self, progress: Progress) -> None:
        if self._is_wanted(progress.number):
            self.progressed.emit(progress)

    def _on_part(self, number: int, part: object) -> None:
        if self._is_wanted(number):
            self.part.emit(part)

    def _is_wanted(self, number: int) -> bool:
        running = self._running
        return (
            not self._closed
            and running is not None
            and running.number == number
            and not running.cancelled
        )


def _outcome(task: Task, work: Work) -> Outcome:
    """Do the work of a task; where it was stopped the task says so."""
    began = time.perf_counter()
    value, error = None, None
    try:
        task.check()
        with stoppable(lambda: task.cancelled):
            value = work(task)
    except StoppedError:
        task.cancel()
    except Exception as caught:  # the boundary of the thread: an error travels as data
        error = caught
    return Outcome(task.number, value, error, time.perf_counter() - began)
