"""Operating point of the example without a snubber: a stop, and one interrupter period."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

SCREEN = "Operating point"
OPENS = "classroom-gated-spiking.burstwise"


def prepare(window: Any, screen: Any, wait: Callable[[Callable[[], bool]], None]) -> None:
    """Show its interrupter period in the dark look."""
    window.theme.set_dark(True)
    screen.waves.tabs.setCurrentIndex(2)
    wait(lambda: not window.session.preparer.busy)
