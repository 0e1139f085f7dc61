"""What the drawer holds: an invented list, with a kind chosen to add more."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from PySide6.QtWidgets import QDialog

from burstwise.app.drawer_dialog import show_drawer
from burstwise.app.wiring import examples_folder
from burstwise.core.drawer import drawer_from_text

SCREEN = "Interrupter"


def prepare(window: Any, screen: Any, wait: Callable[[Callable[[], bool]], None]) -> QDialog:
    """Take the example's list into the drawer and open it."""
    text = (examples_folder() / "drawer.csv").read_text(encoding="utf-8")
    parts = drawer_from_text(text).parts
    window.session.drawer.keep(window.session.drawer.parts.with_parts(parts))
    dialog = show_drawer(window.session.drawer, window)
    dialog.table.scrollToBottom()
    wait(lambda: not window.session.worker.busy)
    return dialog
