"""A wait that lets the program's other threads work.

Qt's own `qWait` keeps Python's lock in this binding: evaluations that take a second then take
minutes.
"""

from __future__ import annotations

import time

from PySide6.QtWidgets import QApplication


def pause(seconds: float) -> None:
    """Handle events for a time."""
    end = time.perf_counter() + seconds
    while time.perf_counter() < end:
        QApplication.processEvents()
        time.sleep(0.002)
