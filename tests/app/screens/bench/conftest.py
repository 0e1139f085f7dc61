from collections.abc import Callable

import pytest

from burstwise.app.screens.bench.screen import BenchScreen


@pytest.fixture
def screen(qtbot, theme, session) -> BenchScreen:
    """Bench of a small measured coil, in a window of the smallest size it is made for."""
    made = BenchScreen(session, theme)
    qtbot.addWidget(made)
    made.resize(1114, 666)
    with qtbot.waitExposed(made):
        made.show()
    return made


@pytest.fixture
def paste(qapp) -> Callable[[BenchScreen, str], None]:
    """Paste a text with Ctrl+V into the readings, at the first cell."""
    from PySide6.QtCore import Qt
    from PySide6.QtTest import QTest

    def do(screen: BenchScreen, text: str) -> None:
        qapp.clipboard().setText(text)
        table = screen.readings.table
        table.setFocus()
        table.setCurrentIndex(screen.readings.model.index(0, 0))
        QTest.keyClick(table, Qt.Key.Key_V, Qt.KeyboardModifier.ControlModifier)

    return do
