"""Limits: the goal tab with what a short search found."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from app.wiring import examples_folder

SCREEN = "Limits"


def prepare(window: Any, screen: Any, wait: Callable[[Callable[[], bool]], None]) -> None:
    """Open the example, search for more top voltage and wait for the answer."""
    window.files.open(examples_folder() / "classroom-gated-interrupted.burstwise")
    wait(lambda: window.session.latest is not None and not window.session.worker.busy)
    wait(lambda: bool(screen.goal.form.rows))
    screen.tabs.setCurrentWidget(screen.goal)
    screen.goal.time.setCurrentIndex(1)
    screen.goal.search()
    wait(lambda: screen.goal.answer is not None)
