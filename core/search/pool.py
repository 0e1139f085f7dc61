"""Trials side by side in processes of their own, so that a window stays live meanwhile.

Nothing here waits for a process, or for work in a thread, once somebody wants to stop: processes
are told to end, a thread ends by itself at its next check.
"""

from __future__ import annotations

import os
import pickle
import signal
import sys
import threading
import time
from collections.abc import Callable, Iterator, Mapping, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from multiprocessing import get_context, parent_process
from multiprocessing.connection import Connection
from multiprocessing.synchronize import Lock as LockType
from types import ModuleType, TracebackType
from typing import Any, Final, TypeVar

from burstwise.core.evaluate.results import Results
from burstwise.core.search.sample import Sample
from burstwise.core.search.trial import Ground, confirmed, sampled
from burstwise.core.stopping import END_SIGNALS, StoppedError, check_stop, stoppable

_LOOK: Final = 0.05
"""Time between two looks whether to go on [s]."""
NICE: Final = 5
"""Steps by which a process of a search stands back behind the window that asked for it."""
_ground: Ground | None = None
Made = TypeVar("Made")


def _take_ground(given: Connection, turn: LockType) -> None:
    """Take what all trials share; one process after the other reads the pipe."""
    global _ground
    if hasattr(os, "nice"):
        os.nice(NICE)
    with turn:
        _ground = pickle.loads(given.recv_bytes())
    threading.Thread(target=_end_with_parent, daemon=True).start()


def _give(giving: Connection, ground: Ground, times: int) -> None:
    """Write what all trials share once for each process, as fast as they read."""
    content = pickle.dumps(ground)
    with suppress(OSError), giving:
        for _ in range(times):
            giving.send_bytes(content)


def _end_with_parent() -> None:
    """End this process once the one that asked is gone, however that came about."""
    parent = parent_process()
    if parent is not None:
        parent.join()
        os._exit(1)


def _nothing() -> None:
    """Work for a process that only comes up."""


def _sampled(values: Mapping[str, Any]) -> Sample:
    assert _ground is not None
    return sampled(_ground, values)


def _confirmed(values: Mapping[str, Any]) -> tuple[Sample, Results | None]:
    assert _ground is not None
    return confirmed(_ground, values)


def seldom(go_on: Callable[[], bool]) -> Callable[[], bool]:
    """Whether to stop, for those who ask all the time and from any thread."""
    lock = threading.Lock()
    looked, stop = 0.0, False

    def asked() -> bool:
        nonlocal looked, stop
        with lock:
            if not stop and time.perf_counter() - looked >= _LOOK:
                looked, stop = time.perf_counter(), not go_on()
            return stop

    return asked


def beside(work: Callable[[], Made], go_on: Callable[[], bool]) -> Made:
    """Result of work in a thread of its own, for which nobody has to wait.

    Parameters
    ----------
    work : callable
        Asks by `check_stop` whether to go on; may be compiling, where it cannot ask for seconds.
    go_on : callable
        Answers whether the result is still wanted; called in this thread alone.

    Raises
    ------
    StoppedError
        It is not; the thread is left to end by itself.
    """
    stop = threading.Event()
    made: list[Made] = []
    failed: list[BaseException] = []

    def run() -> None:
        try:
            with stoppable(stop.is_set):
                made.append(work())
        except BaseException as error:  # raised again in the thread that asked
            failed.append(error)

    thread = threading.Thread(target=run, name="beside a search", daemon=True)
    thread.start()
    while thread.is_alive():
        if not go_on():
            stop.set()
            raise StoppedError("asked to stop")
        thread.join(_LOOK)
    if failed:
        raise failed[0]
    return made[0]


@contextmanager
def _without_first_file() -> Iterator[None]:
    """Processes begun inside leave out the file that the program was started with.

    They need the search alone; a script that asks for one may be a whole window, or not be made to
    be read twice.
    """
    first = sys.modules["__main__"]
    sys.modules["__main__"] = ModuleType("__main__")
    try:
        yield
    finally:
        sys.modules["__main__"] = first


@contextmanager
def _deaf_to_interrupts() -> Iterator[None]:
    """Processes begun inside leave Ctrl+C and a request to end to this one, which ends them."""
    if not hasattr(signal, "pthread_sigmask"):
        yield
        return
    before = signal.pthread_sigmask(signal.SIG_BLOCK, END_SIGNALS)
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


@dataclass(frozen=True, slots=True)
class _Work:
    """One thing to do, here or in a process, and where its result goes."""

    here: Callable[[Ground, Mapping[str, Any]], Any]
    apart: Callable[[Mapping[str, Any]], Any]
    values: Mapping[str, Any]
    ready: list[Any]


class Pool:
    """Processes that try designs.

    Parameters
    ----------
    processes : int
        Number of processes; with 0 everything runs here.
    go_on : callable
        Answers whether to go on.
    ground : Ground, optional
        What all trials share; handed over by `take` where it is not known yet.
    """

    def __init__(
        self, processes: int, go_on: Callable[[], bool], ground: Ground | None = None
    ) -> None:
        self._ground: Ground | None = None
        self._go_on = go_on
        self._processes = processes
        self._executor: ProcessPoolExecutor | None = None
        self._coming: list[Future[None]] = []
        if processes:
            context = get_context("spawn")
            # A new process reads after seconds of imports. What it is started with must fit into
            # a pipe, or its start would wait for that; the rest goes through another one.
            self._given, self._giving = context.Pipe(duplex=False)
            self._executor = ProcessPoolExecutor(
                processes,
                mp_context=context,
                initializer=_take_ground,
                initargs=(self._given, context.Lock()),
            )
            # They come up while the ground is made, and while the first trials run here.
            self._coming = [self._submit(_nothing) for _ in range(processes)]
        if ground is not None:
            self.take(ground)

    def take(self, ground: Ground) -> None:
        """Hand over what all trials share, by a thread, as fast as the processes read."""
        self._ground = ground
        if self._processes:
            threading.Thread(
                target=_give,
                args=(self._giving, ground, self._processes),
                name="to the search",
                daemon=True,
            ).start()

    def __enter__(self) -> Pool:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        executor = self._executor
        if executor is None:
            return
        running = list((executor._processes or {}).values())
        executor.shutdown(wait=False)
        for process in running:
            process.kill()
        self._given.close()  # whoever still writes has no reader any more

    def run(
        self, trials: Sequence[Mapping[str, Any]], full: Sequence[Mapping[str, Any]] = ()
    ) -> None:
        """Trials and full evaluations of several combinations, side by side.

        `done` and `full` hold what was ready, in the order asked.

        Raises
        ------
        StoppedError
            Asked to stop meanwhile; what was ready before is there.
        """
        self.done: list[Sample] = []
        self.full: list[tuple[Sample, Results | None]] = []
        if not self._go_on():
            raise StoppedError("asked to stop")
        # What takes longest begins first.
        work = [
            *(_Work(confirmed, _confirmed, values, self.full) for values in full),
            *(_Work(sampled, _sampled, values, self.done) for values in trials),
        ]
        try:
            self._gather(self._done_here(work))
        except BrokenProcessPool as error:
            raise RuntimeError("a process of the search ended by itself") from error

    def _done_here(self, work: list[_Work]) -> list[_Work]:
        """Do work here as long as no process is up; what is left then."""
        assert self._ground is not None
        with stoppable(seldom(self._go_on)):
            for place, one in enumerate(work):
                if any(process.done() for process in self._coming):
                    return work[place:]
                check_stop()
                one.ready.append(one.here(self._ground, one.values))
        return []

    def _gather(self, work: Sequence[_Work]) -> None:
        """Results of processes, in the order of the work.

        No more is handed over than the processes have in hand, one ahead: nothing has to be called
        back when somebody stops, and what comes next does not wait behind it.
        """
        begun: list[Future[Any]] = []
        for place, one in enumerate(work):
            while True:
                running = [future for future in begun if not future.done()]
                for next_one in work[len(begun) :][: self._processes + 1 - len(running)]:
                    begun.append(self._submit(next_one.apart, next_one.values))
                    running.append(begun[-1])
                if begun[place].done():
                    break
                if not self._go_on():
                    raise StoppedError("asked to stop")
                wait(running, timeout=_LOOK, return_when=FIRST_COMPLETED)
            one.ready.append(begun[place].result())

    def _submit(self, apart: Callable[..., Any], *values: Any) -> Future[Any]:
        """Hand work over; a process that is not there yet begins with it."""
        assert self._executor is not None
        with _deaf_to_interrupts(), _without_first_file():
            return self._executor.submit(apart, *values)
