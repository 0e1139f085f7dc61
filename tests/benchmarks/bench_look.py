"""Time of a change of the look, and until a lesson is presented, with all screens made.

Prints processor seconds from the request until everything is painted, and the parts of it.
"""

from __future__ import annotations

import os
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

from PySide6.QtWidgets import QApplication

from burstwise.app.places import Places
from burstwise.app.screens.lessons.screen import LessonsScreen
from burstwise.app.screens.registry import SCREENS
from burstwise.app.session import Session
from burstwise.app.theme import Theme
from burstwise.app.window import MainWindow
from burstwise.app.wiring import design_job

TURNS = 6


def settled(application: QApplication) -> None:
    """Let all events pass that wait."""
    for _ in range(5):
        application.processEvents()


def seconds(application: QApplication, work: Callable[[], None]) -> float:
    """Processor time of a piece of work with the painting that it causes [s]."""
    began = time.process_time()
    work()
    settled(application)
    return time.process_time() - began


def ready_window(application: QApplication, folder: Path) -> MainWindow:
    """Window with all screens made and results shown."""
    session = Session(design_job())
    window = MainWindow(session, Theme(application), Places(folder, folder))
    window.show()
    for index in range(len(SCREENS)):
        window.show_screen(index)
        settled(application)
    session.refresh()
    while session.latest is None or session.worker.busy or session.preparer.busy:
        application.processEvents()
        time.sleep(0.01)
    settled(application)
    return window


def main() -> None:
    application = QApplication(sys.argv[:1])
    with tempfile.TemporaryDirectory() as folder:
        window = ready_window(application, Path(folder))
        print(f"{len(window.findChildren(object))} objects, {len(SCREENS)} screens")
        for index in (0, len(SCREENS) - 1):
            window.show_screen(index)
            settled(application)
            took = [
                seconds(application, lambda dark=turn % 2 == 0: window.set_dark(dark))
                for turn in range(TURNS)
            ]
            print(f"look, {SCREENS[index].title}:", *(f"{each:.2f}" for each in took), "s")
        lessons = next(
            window.screen_widget(index)
            for index in range(len(SCREENS))
            if isinstance(window.screen_widget(index), LessonsScreen)
        )
        window.show_screen([each.title for each in SCREENS].index("Lessons"))
        settled(application)
        for _ in range(3):
            took_shown = seconds(application, lessons.show_presentation)
            took_closed = seconds(application, lambda: lessons.presentation.close())
            print(f"present: {took_shown:.2f} s, closed {took_closed:.2f} s")
        window.session.document.mark_saved(Path(folder) / "none")
        window.close()


if __name__ == "__main__":
    main()
