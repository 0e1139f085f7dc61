"""Supply and cooling: fields, the way of the heat, warm-up and other heat sinks."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

SCREEN = "Supply and cooling"
OPENS = "classroom-gated-interrupted.burstwise"


def prepare(window: Any, screen: Any, wait: Callable[[Callable[[], bool]], None]) -> None:
    """Show the screen with results."""
    wait(lambda: window.session.latest is not None and not window.session.worker.busy)
