"""Switch and drive: curves of a datasheet as points."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

SCREEN = "Switch and drive"


def prepare(window: Any, screen: Any, wait: Callable[[Callable[[], bool]], None]) -> None:
    """Enter points of all three curves."""
    screen.tabs.setCurrentWidget(screen.curves)
    screen.curves.impedance.paste(
        "10us 0.08\n100us 0.25\n1ms 0.7\n10ms 1.4\n100ms 2.2\n1s 3.4\n10s 3.8"
    )
    screen.curves.capacitance.paste("0 1.2n\n10 400p\n25 150p\n50 80p\n100 55p\n400 45p")
    screen.curves.area.paste("1m 10 38\n1m 60 11\n1m 500 0.3\n10m 10 15\n10m 60 4\n10m 500 0.1")
    wait(lambda: window.session.latest is not None and not window.session.worker.busy)
