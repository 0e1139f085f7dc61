"""Interrupter: circuit of the best set with the values of its parts."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from PySide6.QtCore import Qt
from PySide6.QtTest import QTest

SCREEN = "Interrupter"


def prepare(window: Any, screen: Any, wait: Callable[[Callable[[], bool]], None]) -> None:
    """Take the first set and show its circuit."""
    table = screen.size_page.table
    wait(lambda: table.sets_model.rowCount() > 0)
    QTest.keyClick(table, Qt.Key.Key_Return)
    screen.tabs.setCurrentWidget(screen.circuit_page)
    wait(lambda: not window.session.worker.busy)
