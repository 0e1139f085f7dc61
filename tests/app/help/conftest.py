from __future__ import annotations

import pytest

from burstwise.app.places import Places
from burstwise.app.session import Session
from burstwise.app.theme import Theme
from burstwise.app.window import MainWindow
from burstwise.app.wiring import design_job


@pytest.fixture
def still_window(qtbot, theme: Theme, places: Places, monkeypatch) -> MainWindow:
    """Window on real designs that evaluates nothing."""
    monkeypatch.setattr(Session, "_submit", lambda self: None)
    made = MainWindow(Session(design_job()), theme, places)
    qtbot.addWidget(
        made, before_close_func=lambda window: window.session.document.undo_stack.setClean()
    )
    with qtbot.waitActive(made):
        made.show()
    return made
