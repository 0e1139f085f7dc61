"""Coil: the field around the coil that the window starts with, and the distances to keep."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

SCREEN = "Coil"


def prepare(window: Any, screen: Any, wait: Callable[[Callable[[], bool]], None]) -> None:
    """Open the tab and wait for its map."""
    wait(lambda: screen.work.latest is not None and not window.session.worker.busy)
    screen.tabs.setCurrentWidget(screen.field)
    wait(lambda: screen.field.drawing.picture is not None and not screen.field.busy)
