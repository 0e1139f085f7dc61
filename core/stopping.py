"""A wish to stop that travels with long work, not through the arguments of every function.

Whoever starts work says by `stoppable` how to learn that nobody wants it any more; what takes long
asks by `check_stop` in between. Without `stoppable` nothing is ever stopped.
"""

from __future__ import annotations

import signal
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from typing import Final, TypeVar

Asked = Callable[[], bool]
"""Answers whether the work was asked to stop; may be called from several threads."""
END_SIGNALS: Final = (signal.SIGINT, signal.SIGTERM)
"""Signals that ask a command to end: Ctrl+C, and the system's request."""
Given = TypeVar("Given")
Made = TypeVar("Made")

_asked: Final[ContextVar[Asked | None]] = ContextVar("asked to stop", default=None)


class StoppedError(Exception):
    """The work was asked to stop and has no result."""


@contextmanager
def stoppable(asked: Asked | None) -> Iterator[None]:
    """Work inside can be stopped, in this thread and where `carried` takes it.

    A wish that holds around it goes on holding.

    Parameters
    ----------
    asked : callable or None
        Answers whether to stop; None lets the work run to its end, whatever holds around it.

    Examples
    --------
    >>> with stoppable(lambda: True):
    ...     check_stop()
    Traceback (most recent call last):
        ...
    burstwise.core.stopping.StoppedError: asked to stop
    """
    around = _asked.get()
    both = asked if asked is None or around is None else lambda: asked() or around()
    before = _asked.set(both)
    try:
        yield
    finally:
        _asked.reset(before)


def check_stop() -> None:
    """Go on, or not.

    Raises
    ------
    StoppedError
        The work was asked to stop.
    """
    asked = _asked.get()
    if asked is not None and asked():
        raise StoppedError("asked to stop")


def carried(work: Callable[[Given], Made]) -> Callable[[Given], Made]:
    """The same work for another thread, stopped by the wish that holds in this one.

    Parameters
    ----------
    work : callable
        Function of one argument, as a pool of threads takes it.
    """
    asked = _asked.get()

    def stopped_alike(given: Given) -> Made:
        with stoppable(asked):
            return work(given)

    return stopped_alike
