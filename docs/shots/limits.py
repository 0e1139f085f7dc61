"""Limits: map of a stage whose drain is driven too far."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

SCREEN = "Limits"
OPENS = "classroom-gated-spiking.burstwise"
SAME_WINDOW = True


def prepare(window: Any, screen: Any, wait: Callable[[Callable[[], bool]], None]) -> None:
    """Wait for what the tab computes."""
    screen.tabs.setCurrentWidget(screen.map)
    wait(lambda: not screen.map.worker.busy)
