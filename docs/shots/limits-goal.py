"""Limits: the goal tab with what a short search found."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

SCREEN = "Limits"
OPENS = "classroom-gated-interrupted.burstwise"


def prepare(window: Any, screen: Any, wait: Callable[[Callable[[], bool]], None]) -> None:
    """Search for more top voltage and wait for the answer."""
    wait(lambda: bool(screen.goal.form.rows))
    screen.tabs.setCurrentWidget(screen.goal)
    screen.goal.time.setCurrentIndex(0)
    screen.goal.search()
    wait(lambda: screen.goal.answer is not None and not screen.goal.worker.busy)
