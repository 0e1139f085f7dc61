"""Limits: the remedies tab of a stage whose drain is driven too far."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from app.wiring import examples_folder

SCREEN = "Limits"


def prepare(window: Any, screen: Any, wait: Callable[[Callable[[], bool]], None]) -> None:
    """Open the example and wait for what the tab computes."""
    window.files.open(examples_folder() / "classroom-gated-spiking.burstwise")
    wait(lambda: window.session.latest is not None and not window.session.worker.busy)
    wait(lambda: window.session.latest.design.supply.voltage == 56.0)
    screen.tabs.setCurrentWidget(screen.remedies)
    wait(lambda: not screen.remedies.worker.busy)
