"""Time from a mouse move on a real slider to the painted frame, offscreen at 1366x768.

Drags the supply, duty and frequency sliders of the operating point screen with mouse moves and
prints medians and 99th percentiles in milliseconds, and the processor time that the window's thread
takes per frame, which a busy machine stretches less. Argument: moves per drag (300 by default).
"""

from __future__ import annotations

import os
import sys
import tempfile
import time
from pathlib import Path

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

import numpy as np
from PySide6.QtCore import QEvent, QObject, QPoint, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from burstwise.app.places import Places
from burstwise.app.screens.operating_point.screen import OperatingPoint
from burstwise.app.screens.registry import SCREENS
from burstwise.app.session import Session
from burstwise.app.theme import Theme
from burstwise.app.widgets.slider_field import SliderField
from burstwise.app.window import MainWindow
from burstwise.app.wiring import design_job

MOVES = int(sys.argv[1]) if len(sys.argv) > 1 else 300
GAP = 0.008
"""Time between two mouse moves [s], as a mouse at 125 Hz sends them."""


class Painted(QObject):
    """Notes when the plots' viewport has been painted."""

    def __init__(self, page: OperatingPoint) -> None:
        super().__init__()
        self.at = 0.0
        self._view = page.duty_plots.temperature.view.viewport()
        self._view.installEventFilter(self)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if event.type() == QEvent.Type.Paint:
            self.at = time.perf_counter()
        return False


def drag(field: SliderField, painted: Painted) -> tuple[list[float], float]:
    """Move the handle to and fro; time from each move to the end of the frame that shows it.

    Returns those times and the mean processor time per frame [s].
    """
    slider, seen, used = field.slider, [], 0.0
    middle = slider.height() // 2
    low, high = 0.25 * slider.width(), 0.85 * slider.width()
    start = QPoint(field.slider.handle_centre(), middle)
    QTest.mousePress(slider, Qt.MouseButton.LeftButton, pos=start)
    for move in range(MOVES):
        at = low + (high - low) * (0.5 + 0.5 * np.sin(move / 12.0))
        before = field.value
        began, busy = time.perf_counter(), time.thread_time()
        QTest.mouseMove(slider, QPoint(round(at), middle))
        while True:
            QApplication.processEvents()
            if painted.at > began or field.value == before:
                break
        ended = time.perf_counter()
        if field.value != before:
            seen.append(ended - began)
            used += time.thread_time() - busy
        while time.perf_counter() - began < GAP:
            QApplication.processEvents()
    QTest.mouseRelease(slider, Qt.MouseButton.LeftButton, pos=QPoint(round(at), middle))
    return seen, used / len(seen)


def report(name: str, seconds: list[float], used: float) -> None:
    median, late = np.percentile(np.array(seconds) * 1e3, [50, 99])
    print(
        f"{name:<26} {len(seconds):4d} frames  median {median:6.2f}   "
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
        titles = [screen.title for screen in SCREENS]
        window.show_screen(titles.index("Operating point"))
        page = window.screen_widget(window.current_screen)
        assert isinstance(page, OperatingPoint)
        session.refresh()
        while session.latest is None or session.worker.busy or session.preparer.busy:
            QTest.qWait(20)
        painted = Painted(page)
        controls = page.controls
        for view in range(page.waves.tabs.count()):
            page.waves.tabs.setCurrentIndex(view)
            print(f"with the view '{page.waves.tabs.tabText(view)}'")
            for field in (controls.supply, controls.duty, controls.frequency):
                report(f"  {field.slider.accessibleName()}", *drag(field, painted))
                while session.settling or session.worker.busy or session.preparer.busy:
                    QTest.qWait(20)
        session.document.undo_stack.setClean()
        window.close()


if __name__ == "__main__":
    main()
