"""Operating point of the interrupted classroom coil."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

SCREEN = "Operating point"


def prepare(window: Any, screen: Any, wait: Callable[[Callable[[], bool]], None]) -> None:
    """The new design as it comes, with the bands of build tolerance that follow when all rests."""
    wait(lambda: not window.session.preparer.busy)
    wait(lambda: window.session.bands is not None)
