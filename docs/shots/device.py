"""Switch and drive: the datasheet form."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

SCREEN = "Switch and drive"


def prepare(window: Any, screen: Any, wait: Callable[[Callable[[], bool]], None]) -> None:
    """Show the sheet as it opens."""
    wait(lambda: window.session.latest is not None and not window.session.worker.busy)
