"""Trials side by side in processes of their own, so that a window stays live meanwhile."""

from __future__ import annotations

import os
import threading
import time
from collections.abc import Callable, Mapping, Sequence
from concurrent.futures import Future, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool
from multiprocessing import get_context, parent_process
from types import TracebackType
from typing import Any, Final

from burstwise.core.search.sample import Sample
from burstwise.core.search.trial import Ground, confirmed, sampled
from burstwise.core.stopping import StoppedError, check_stop, stoppable

_LOOK: Final = 0.05
"""Time between two looks whether to go on [s]."""
_ground: Ground | None = None


def _take_ground(ground: Ground) -> None:
    global _ground
    _ground = ground
    threading.Thread(target=_end_with_parent, daemon=True).start()


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
        self._executor = (
            ProcessPoolExecutor(
                processes,
                mp_context=get_context("spawn"),
                initializer=_take_ground,
                initargs=(ground,),
            )
            if processes
            else None
        )

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
        self, beside: Callable[..., Any], here: Callable[..., Any], many: Sequence[Any]
    ) -> list[Any]:
        self.done: list[Any] = []
        if self._executor is None:
            with stoppable(seldom(self._go_on)):
                for values in many:
                    check_stop()
                    self.done.append(here(self._ground, values))
            return self.done
        self._gathered([self._executor.submit(beside, values) for values in many])
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
