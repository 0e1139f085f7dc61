"""Interrupter: ranked sets for a wish."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

SCREEN = "Interrupter"


def prepare(window: Any, screen: Any, wait: Callable[[Callable[[], bool]], None]) -> None:
    """Wait for the sets."""
    wait(lambda: screen.size_page.table.sets_model.rowCount() > 0)
    wait(lambda: not window.session.worker.busy)
