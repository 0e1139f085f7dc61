"""Interrupter: circuit of the best set with its chain to the driver."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from PySide6.QtCore import Qt
from PySide6.QtTest import QTest

SCREEN = "Interrupter"


def prepare(window: Any, screen: Any, wait: Callable[[Callable[[], bool]], None]) -> None:
    """Take the first set, fit buffer and LED before an active-low enable, show the circuit."""
    table = screen.size_page.table
    wait(lambda: table.sets_model.rowCount() > 0)
    QTest.keyClick(table, Qt.Key.Key_Return)
    chain = "interrupter.chain"
    window.session.document.edit_many(
        {f"{chain}.buffer": {}, f"{chain}.indicator": {}, f"{chain}.active_level": "low"}
    )
    screen.tabs.setCurrentWidget(screen.circuit_page)
    wait(lambda: not window.session.worker.busy)
