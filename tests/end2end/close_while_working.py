"""Open the real window on an example, begin long work, close the window while it runs.

Not collected by pytest: `test_closing.py` starts it as a process of its own, since how a process
ends can only be seen from outside. Prints when the window was told to close and when it was gone.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Callable
from typing import Final

from PySide6.QtCore import QTimer

from burstwise.app import launch
from burstwise.app.screens.limits.screen import LimitsScreen
from burstwise.app.screens.registry import SCREENS
from burstwise.app.window import MainWindow

LIMITS: Final = [screen.title for screen in SCREENS].index("Limits")
BUSY_FOR_MS: Final = 500
LOOK_MS: Final = 20


def when(window: MainWindow, holds: Callable[[], bool], then: Callable[[], None]) -> None:
    """Call `then` once something holds."""
    if holds():
        then()
    else:
        QTimer.singleShot(LOOK_MS, window, lambda: when(window, holds, then))


def begin(window: MainWindow, kind: str) -> None:
    """Begin the work; close while it runs."""
    worker = window.session.worker
    if kind == "evaluation":
        window.session.document.edit("device.on_resistance", 0.31)
    else:
        window.show_screen(LIMITS)
        page = window.screen_widget(LIMITS)
        assert isinstance(page, LimitsScreen)
        panel = getattr(page, kind)
        page.tabs.setCurrentWidget(panel)
        if kind == "goal":
            panel.begin_button.click()
        worker = panel.worker
    begun = time.monotonic()
    wait = 0.0 if kind == "evaluation" else BUSY_FOR_MS / 1e3
    when(
        window,
        lambda: worker.busy and time.monotonic() - begun >= wait,
        lambda: leave(window),
    )


def leave(window: MainWindow) -> None:
    """Close the window as its user would who lets the edit go."""
    window.session.document.undo_stack.setClean()
    print(f"close {time.time()}", flush=True)
    window.close()
    print(f"gone {time.time()}", flush=True)


def main(kind: str, file: str) -> int:
    shown = MainWindow.show

    def show(window: MainWindow) -> None:
        shown(window)
        session = window.session

        def at_rest() -> bool:
            return session.latest is not None and not session.worker.busy

        when(window, at_rest, lambda: begin(window, kind))

    MainWindow.show = show  # type: ignore[method-assign]
    return launch.main([file])


if __name__ == "__main__":
    sys.exit(main(sys.argv[1], sys.argv[2]))
