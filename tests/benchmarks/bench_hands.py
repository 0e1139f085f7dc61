"""Time from a mouse move to the painted frame where a hand drags in a picture, offscreen.

Drags the point in the map of supply and duty, and the primary in the coil's drawing, at 1366x768
in the program's own window with its evaluation running; prints median and 99th percentile in
milliseconds, and the processor time of the window's thread per frame.
Argument: moves per drag (300 by default).
"""

from __future__ import annotations

import os
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

import numpy as np
from pause import pause, wait_until
from PySide6.QtCore import QEvent, QObject, QPointF, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QWidget

from burstwise.app.places import Places
from burstwise.app.screens.coil.screen import CoilScreen
from burstwise.app.screens.limits.screen import LimitsScreen
from burstwise.app.session import Session
from burstwise.app.theme import Theme
from burstwise.app.window import MainWindow
from burstwise.app.wiring import design_job

MOVES = int(sys.argv[1]) if len(sys.argv) > 1 else 300
GAP = 0.008
"""Time between two mouse moves [s], as a mouse at 125 Hz sends them."""


class Painted(QObject):
    """Notes when a widget has been painted."""

    def __init__(self, widget: QWidget) -> None:
        super().__init__()
        self.at = 0.0
        widget.installEventFilter(self)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if event.type() == QEvent.Type.Paint:
            self.at = time.perf_counter()
        return False


def drag(
    widget: QWidget, start: QPointF, way: QPointF, design: Callable[[], object]
) -> tuple[list[float], float]:
    """Move to and fro; time from each move that changed the design to the end of its frame.

    Returns those times and the mean processor time of the window's thread per frame [s].
    """
    painted, seen, used = Painted(widget), [], 0.0
    QTest.mousePress(widget, Qt.MouseButton.LeftButton, pos=start.toPoint())
    for move in range(MOVES):
        at = start + way * float(np.sin(move / 12.0))
        before = design()
        began, busy = time.perf_counter(), time.thread_time()
        QTest.mouseMove(widget, at.toPoint())
        if design() != before:
            while painted.at < began:
                QApplication.processEvents()
            QApplication.processEvents()
            seen.append(time.perf_counter() - began)
            used += time.thread_time() - busy
        while time.perf_counter() - began < GAP:
            QApplication.processEvents()
    QTest.mouseRelease(widget, Qt.MouseButton.LeftButton, pos=start.toPoint())
    return seen, used / max(len(seen), 1)


def report(name: str, seconds: list[float], used: float) -> None:
    median, late = np.percentile(np.array(seconds) * 1e3, [50, 99])
    print(
        f"{name:<24} {len(seconds):4d} frames  median {median:6.2f}   "
        f"99th percentile {late:6.2f}   processor {used * 1e3:6.2f}"
    )


def main() -> None:
    sys.setswitchinterval(0.001)
    application = QApplication([])
    with tempfile.TemporaryDirectory() as folder:
        session = Session(design_job())
        window = MainWindow(
            session, Theme(application), Places(Path(folder) / "s", Path(folder) / "d")
        )
        window.resize(1366, 768)
        window.show()

        def rest() -> None:
            pause(50e-3)
            wait_until(
                lambda: not (session.settling or session.worker.busy or session.preparer.busy)
            )

        def design() -> object:
            return session.document.design

        session.document.edit("coil.given_by", "geometry")
        window.show_titled("Coil")
        rest()
        coil = window.screen_widget(window.current_screen)
        assert isinstance(coil, CoilScreen)
        start = coil.drawing.place_of("primary")
        report("primary in the drawing", *drag(coil.drawing, start, QPointF(24, 10), design))
        rest()
        window.show_titled("Limits")
        limits = window.screen_widget(window.current_screen)
        assert isinstance(limits, LimitsScreen)
        panel = limits.map
        limits.tabs.setCurrentWidget(panel)
        wait_until(lambda: panel.map is not None and not panel.worker.busy)
        rest()
        assert panel.plot.point is not None
        start = panel.plot.pixel(*panel.plot.point)
        report("point in the map", *drag(panel.plot, start, QPointF(60, 40), design))
        rest()
        session.document.undo_stack.setClean()
        window.close()


if __name__ == "__main__":
    main()
