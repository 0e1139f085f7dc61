"""Coil: a sweep of the secondary's turns."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from PySide6.QtCore import Qt
from PySide6.QtTest import QTest

SCREEN = "Coil"


def prepare(window: Any, screen: Any, wait: Callable[[Callable[[], bool]], None]) -> None:
    """Run the sweep as it is offered."""
    wait(lambda: screen.work.latest is not None and not window.session.worker.busy)
    screen.tabs.setCurrentWidget(screen.sweep)
    QTest.mouseClick(screen.sweep.work.start, Qt.MouseButton.LeftButton)
    wait(lambda: screen.sweep.sweep is not None)
