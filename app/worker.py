"""Computation off the GUI thread: one at a time, the latest request wins.

Errors come back as data in the `Outcome`. All signals are sent in the thread that made the worker.
"""

from __future__ import annotations

import threading
import time
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from enum import Enum
from typing import Any

from PySide6.QtCore import QObject, Qt, Signal


class CancelledError(Exception):
    """Raised inside a computation that was told to stop."""


class Overtake(Enum):
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


@dataclass(frozen=True, slots=True)
class Progress:
    """How far a request is, as a share from 0 to 1, and what it does."""

    number: int
    share: float
    text: str


class Task:
    """Handed to the computation: asks whether to stop, tells how far it is."""

    def __init__(self, number: int, tell: Callable[[Progress], None]) -> None:
        self.number = number
        self._tell = tell
        self._stop = threading.Event()

    @property
    def cancelled(self) -> bool:
        """Whether the computation was told to stop."""
        return self._stop.is_set()

    def cancel(self) -> None:
        """Tell the computation to stop at its next check."""
        self._stop.set()

    def check(self) -> None:
        """Raise `CancelledError` if told to stop."""
        if self.cancelled:
            raise CancelledError

    def progress(self, share: float, text: str = "") -> None:
        """Tell how far the computation is; a good moment to be stopped, too."""
        self.check()
        self._tell(Progress(self.number, share, text))


Work = Callable[[Task], Any]


class Worker(QObject):
    """Runs one computation at a time in a thread of its own.

    Parameters
    ----------
    overtake : Overtake
        What a new request does to a running one.
    name : str
        Name of the thread.
    """

    finished = Signal(object)
    progressed = Signal(object)
    busy_changed = Signal(bool)
    _ended = Signal(object, bool)
    _told = Signal(object)

    def __init__(self, *, overtake: Overtake = Overtake.FINISH, name: str = "worker") -> None:
        super().__init__()
        self._overtake = overtake
        self._pool = ThreadPoolExecutor(max_workers=1, thread_name_prefix=name)
        self._number = 0
        self._running: Task | None = None
        self._waiting: tuple[int, Work] | None = None
        self._closed = False
        self._ended.connect(self._when_ended, Qt.ConnectionType.QueuedConnection)
        self._told.connect(self._when_told, Qt.ConnectionType.QueuedConnection)

    @property
    def busy(self) -> bool:
        """Whether a computation runs or waits."""
        return self._running is not None

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
            if self._overtake is Overtake.CANCEL:
                self._running.cancel()
        return self._number

    def stop(self) -> None:
        """Stop what runs and forget what waits; neither is delivered."""
        self._waiting = None
        if self._running is not None:
            self._running.cancel()

    def close(self) -> None:
        """Stop, wait for the thread to end; nothing is delivered any more."""
        self._closed = True
        self.stop()
        self._pool.shutdown(wait=True, cancel_futures=True)

    def _start(self, number: int, work: Work) -> None:
        task = Task(number, self._told.emit)
        self._running = task
        self._pool.submit(self._run, task, work)

    def _run(self, task: Task, work: Work) -> None:
        began = time.perf_counter()
        value, error = None, None
        try:
            value = work(task)
        except CancelledError:
            task.cancel()
        except Exception as caught:  # the boundary of the thread: an error travels as data
            error = caught
        outcome = Outcome(task.number, value, error, time.perf_counter() - began)
        self._ended.emit(outcome, task.cancelled)

    def _when_ended(self, outcome: Outcome, cancelled: bool) -> None:
        # Stopped or overtaken after the work was done, but before this was delivered.
        cancelled = cancelled or (self._running is not None and self._running.cancelled)
        self._running = None
        if self._closed:
            return
        if self._waiting is not None:
            number, work = self._waiting
            self._waiting = None
            self._start(number, work)
        if not cancelled:
            self.finished.emit(outcome)
        if self._running is None:
            self.busy_changed.emit(False)

    def _when_told(self, progress: Progress) -> None:
        if self._running is not None and progress.number == self._running.number:
            self.progressed.emit(progress)
