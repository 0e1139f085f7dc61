"""Bench: which rating is reached first."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from bench import fill

SCREEN = "Bench"
OPENS = "classroom-gated-interrupted.burstwise"


def prepare(window: Any, screen: Any, wait: Callable[[Callable[[], bool]], None]) -> None:
    """Fill the table and wait for the forecast."""
    fill(window, wait)
    screen.tabs.setCurrentWidget(screen.forecast)
    wait(lambda: screen.forecast.result is not None and not screen.forecast.worker.busy)
