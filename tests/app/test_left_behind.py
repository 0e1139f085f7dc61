"""What a closed window leaves in the process: nothing."""

from __future__ import annotations

import gc
import weakref

import pytest
from PySide6.QtCore import QCoreApplication, QEvent

from burstwise.app.places import Places
from burstwise.app.screens.registry import SCREENS
from burstwise.app.session import Session
from burstwise.app.window import MainWindow
from burstwise.app.wiring import design_job


@pytest.fixture
def settled(qapp):
    def settle() -> None:
        gc.collect()
        for _ in range(3):
            qapp.processEvents()
            QCoreApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)
        gc.collect()

    return settle


def test_a_closed_window_leaves_neither_session_nor_screens(settled, theme, tmp_path) -> None:
    """A function of the window tied to a signal of its session would keep both for ever."""
    window = MainWindow(Session(design_job()), theme, Places(tmp_path / "s", tmp_path / "d"))
    window.show()
    for number in range(len(SCREENS)):
        window.show_screen(number)
    settled()
    alive = {
        "session": weakref.ref(window.session),
        "document": weakref.ref(window.session.document),
    }
    for number, screen in enumerate(SCREENS):
        alive[screen.title] = weakref.ref(window.screen_widget(number))
    window.session.document.undo_stack.setClean()
    window.close()
    window.deleteLater()
    del window
    settled()
    assert [name for name, reference in alive.items() if reference() is not None] == []
