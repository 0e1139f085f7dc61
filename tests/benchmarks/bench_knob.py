"""Time from a mouse move on the knob to the painted screen, offscreen at 1366x768.

The window runs on the real core with its evaluation thread at work. Prints median and 95th
percentile in milliseconds, and the GUI thread's own processor time (which other programs on the
machine do not lengthen): with timer parts in use (the stage is evaluated too) and with numbers.
"""

from __future__ import annotations

import math
import os
import sys
import tempfile
import time
from pathlib import Path

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

import numpy as np
from PySide6.QtCore import QPointF, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from burstwise.app.places import Places
from burstwise.app.screens.interrupter.knob import Knob, knob_angle
from burstwise.app.session import Session
from burstwise.app.theme import Theme
from burstwise.app.window import MainWindow
from burstwise.app.wiring import design_job

MOVES = 240
SWITCH_INTERVAL = 0.001
"""As the window itself sets it [s]."""


def place(knob: Knob, travel: float) -> QPointF:
    """Point on the knob's rim."""
    angle = math.radians(knob_angle(travel))
    middle = QPointF(knob.width() / 2, (knob.height() - 20) / 2)
    return QPointF(middle.x() + 48 * math.cos(angle), middle.y() - 48 * math.sin(angle))


def settle(application: QApplication, seconds: float) -> None:
    """Let the window work."""
    end = time.perf_counter() + seconds
    while time.perf_counter() < end:
        application.processEvents()
        time.sleep(0.005)


def drag(application: QApplication, knob: Knob) -> tuple[np.ndarray, np.ndarray]:
    """Wall and own processor times of the moves of one drag, each painted before the next [s]."""
    travels = 0.5 + 0.4 * np.sin(np.linspace(0, 4 * np.pi, MOVES))
    knob.set_travel(0.5)
    QTest.mousePress(knob, Qt.MouseButton.LeftButton, pos=place(knob, 0.5).toPoint())
    times, own = [], []
    for travel in travels:
        began, worked = time.perf_counter(), time.thread_time()
        QTest.mouseMove(knob, place(knob, float(travel)).toPoint())
        application.processEvents()
        times.append(time.perf_counter() - began)
        own.append(time.thread_time() - worked)
    QTest.mouseRelease(knob, Qt.MouseButton.LeftButton)
    return np.array(times), np.array(own)


def main() -> None:
    """Print the times."""
    sys.setswitchinterval(SWITCH_INTERVAL)
    application = QApplication([])
    with tempfile.TemporaryDirectory() as folder:
        session = Session(design_job())
        window = MainWindow(session, Theme(application), Places(Path(folder), Path(folder)))
        window.resize(1366, 768)
        window.show()
        titles = [window.screen_list.item(i).text() for i in range(window.screen_list.count())]
        index = titles.index("Interrupter")
        window.show_screen(index)
        screen = window.screen_widget(index)
        screen.tabs.setCurrentWidget(screen.knob_page)
        session.refresh()
        for given in ("parts", "numbers"):
            session.document.edit("interrupter.given_by", given)
            settle(application, 15.0)
            drag(application, screen.knob_page.knob)
            wall, own = drag(application, screen.knob_page.knob)
            median, late = np.percentile(1e3 * wall, [50, 95])
            print(
                f"given by {given:<8} median {median:6.2f} ms   95th percentile {late:6.2f} ms   "
                f"own processor time, median {1e3 * np.median(own):6.2f} ms"
            )
        session.document.undo_stack.setClean()
        window.close()


if __name__ == "__main__":
    main()
