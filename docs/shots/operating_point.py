"""Operating point of the interrupted classroom coil."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

SCREEN = "Operating point"


def prepare(window: Any, screen: Any, wait: Callable[[Callable[[], bool]], None]) -> None:
    """The new design as it comes."""
    wait(lambda: not window.session.preparer.busy)
