from __future__ import annotations

import pytest

from app.places import Places
from app.session import Session
from app.theme import Theme
from app.window import MainWindow
from app.wiring import design_job


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
