"""Waits that let the program's other threads work.

Qt's own `qWait` keeps Python's lock in this binding: evaluations that take a second then take
minutes.
"""

from __future__ import annotations

import time
from collections.abc import Callable

from PySide6.QtWidgets import QApplication

PATIENCE = 300.0
"""Longest wait for a state of the window [s]."""


def pause(seconds: float) -> None:
    """Handle events for a time."""
    end = time.perf_counter() + seconds
    while time.perf_counter() < end:
        QApplication.processEvents()
        time.sleep(0.002)


def wait_until(done: Callable[[], bool], *, limit: float = PATIENCE, between: float = 2e-3) -> None:
    """Handle events until a state is reached.

    Parameters
    ----------
    done : callable
        Whether it is.
    limit, between : float
        Longest wait, and time between two looks [s].

    Raises
    ------
    TimeoutError
        It is not reached in time.
    """
    end = time.perf_counter() + limit
    while not done():
        QApplication.processEvents()
        if time.perf_counter() > end:
            raise TimeoutError("the window did not come to what was asked for")
        time.sleep(between)
