"""Operating point of the example without a snubber: a stop, and one interrupter period."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

SCREEN = "Operating point"


def prepare(window: Any, screen: Any, wait: Callable[[Callable[[], bool]], None]) -> None:
    """Open the example and show its interrupter period in the dark look."""
    window.theme.set_dark(True)
    file = next(
        path
        for title, path in window.session.job.examples().items()
        if title.endswith("no snubber")
    )
    window.files.open_example(file)
    session = window.session
    wait(lambda: session.latest.design is session.document.design)
    screen.waves.tabs.setCurrentIndex(2)
    wait(lambda: not session.preparer.busy)
