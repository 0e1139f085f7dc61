"""Trials side by side in processes of their own, so that a window stays live meanwhile.

Nothing here waits for a process, or for work in a thread, once somebody wants to stop: processes
are told to end, a thread ends by itself at its next check.
"""

from __future__ import annotations

import os
import pickle
import signal
import threading
import time
from collections.abc import Callable, Iterator, Mapping, Sequence
from concurrent.futures import Future, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager, suppress
from multiprocessing import get_context, parent_process
from multiprocessing.connection import Connection
from multiprocessing.synchronize import Lock as LockType
from types import TracebackType
from typing import Any, Final, TypeVar

from burstwise.core.search.sample import Sample
from burstwise.core.search.trial import Ground, confirmed, sampled
from burstwise.core.stopping import StoppedError, check_stop, stoppable

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


def _sampled(values: Mapping[str, Any]) -> Sample:
    assert _ground is not None
    return sampled(_ground, values)


def _confirmed(values: Mapping[str, Any]) -> tuple[Sample, Any]:
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
def _deaf_to_interrupts() -> Iterator[None]:
    """Processes begun inside leave Ctrl+C to this one, which ends them."""
    if not hasattr(signal, "pthread_sigmask"):
        yield
        return
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


class Pool:
    """Processes that try designs.

    Parameters
    ----------
    ground : Ground
        What all trials share.
    processes : int
        Number of processes; with 0 everything runs here.
    go_on : callable
        Answers whether to go on.
    """

    def __init__(self, ground: Ground, processes: int, go_on: Callable[[], bool]) -> None:
        self._ground = ground
        self._go_on = go_on
        self._executor: ProcessPoolExecutor | None = None
        if not processes:
            return
        context = get_context("spawn")
        # A new process reads after seconds of imports. What it is started with must fit into a
        # pipe, or its start would wait for that; the rest goes through another one, by a thread.
        self._given, giving = context.Pipe(duplex=False)
        self._executor = ProcessPoolExecutor(
            processes,
            mp_context=context,
            initializer=_take_ground,
            initargs=(self._given, context.Lock()),
        )
        threading.Thread(
            target=_give, args=(giving, ground, processes), name="to the search", daemon=True
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
        executor.shutdown(wait=False, cancel_futures=True)
        for process in running:
            process.terminate()
        self._given.close()  # whoever still writes has no reader any more

    def sampled(self, many: Sequence[Mapping[str, Any]]) -> list[Sample]:
        """Trials of several combinations, in their order.

        Raises
        ------
        StoppedError
            Asked to stop meanwhile; `done` holds the first that were ready.
        """
        return self._all(_sampled, sampled, many)

    def confirmed(self, many: Sequence[Mapping[str, Any]]) -> list[tuple[Sample, Any]]:
        """Full evaluations of several combinations, in their order.

        Raises
        ------
        StoppedError
            Asked to stop meanwhile; `done` holds the first that were ready.
        """
        return self._all(_confirmed, confirmed, many)

    def _all(
        self, apart: Callable[..., Any], here: Callable[..., Any], many: Sequence[Any]
    ) -> list[Any]:
        self.done: list[Any] = []
        if not self._go_on():
            raise StoppedError("asked to stop")
        if self._executor is None:
            with stoppable(seldom(self._go_on)):
                for values in many:
                    check_stop()
                    self.done.append(here(self._ground, values))
            return self.done
        with _deaf_to_interrupts():
            futures = [self._executor.submit(apart, values) for values in many]
        self._gathered(futures)
        return self.done

    def _gathered(self, futures: list[Future[Any]]) -> None:
        try:
            for future in futures:
                while not future.done():
                    if not self._go_on():
                        raise StoppedError("asked to stop")
                    wait([future], timeout=_LOOK)
                self.done.append(future.result())
        except BrokenProcessPool as error:
            raise RuntimeError("a process of the search ended by itself") from error
        finally:
            for future in futures:
                future.cancel()
