"""Bench: fitted parameters, taken over."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from bench import FEW, fill, load_capture

SCREEN = "Bench"
OPENS = "classroom-gated-interrupted.burstwise"


def prepare(window: Any, screen: Any, wait: Callable[[Callable[[], bool]], None]) -> None:
    """Fit a few readings and capture and take the result over."""
    load_capture(fill(window, wait, supplies=FEW), screen, wait)
    screen.tabs.setCurrentWidget(screen.calibrate)
    screen.calibrate.work.start.click()
    wait(lambda: screen.calibrate.result is not None)
    screen.calibrate.take_over.click()
    wait(lambda: not window.session.worker.busy)
