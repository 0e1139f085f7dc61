"""Interrupter: the best set of a wish is taken, the knob is turned up a little."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from PySide6.QtCore import Qt
from PySide6.QtTest import QTest

SCREEN = "Interrupter"


def prepare(window: Any, screen: Any, wait: Callable[[Callable[[], bool]], None]) -> None:
    """Take the first set and show the knob with all its figures."""
    table = screen.size_page.table
    wait(lambda: table.sets_model.rowCount() > 0)
    QTest.keyClick(table, Qt.Key.Key_Return)
    screen.tabs.setCurrentWidget(screen.knob_page)
    for _ in range(2):
        QTest.keyClick(screen.knob_page.knob, Qt.Key.Key_PageDown)
    wait(lambda: len(screen.knob_page.figures.groups) == 2)
    wait(lambda: not window.session.worker.busy)
