"""Bench: one burst with the prediction laid over its begin."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from bench import fill, load_capture

SCREEN = "Bench"
OPENS = "classroom-gated-interrupted.burstwise"


def prepare(window: Any, screen: Any, wait: Callable[[Callable[[], bool]], None]) -> None:
    """Load the capture and look at the first cycles."""
    load_capture(fill(window, wait), screen, wait)
    screen.tabs.setCurrentWidget(screen.capture)
    screen.capture.measuring.start.click()
    wait(lambda: screen.capture.overlay is not None)
    box = screen.capture.plot.box
    box.setRange(xRange=(-2e-6, 22e-6), padding=0)
    box.sigRangeChangedManually.emit([True, True])
    wait(lambda: not window.session.worker.busy)
