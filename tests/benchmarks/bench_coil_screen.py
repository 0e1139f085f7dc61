"""Delay from a real mouse move on a slider of the coil screen to the painted picture.

Prints medians and 95th percentiles in milliseconds, with the whole evaluation running in the
background as in the window: until the drawing shows the new geometry, and until the resonance of
just that geometry stands in it. On a machine with other work the processor time of the window's
thread tells more than the delay; the load is printed with it.
"""

from __future__ import annotations

import os
import sys
import tempfile
import time
from functools import partial
from pathlib import Path

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

import numpy as np
from pause import wait_until
from PySide6.QtCore import QPoint, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from burstwise.app.places import Places
from burstwise.app.screens.coil.screen import CoilScreen
from burstwise.app.screens.coil.work import CoilState
from burstwise.app.session import Session
from burstwise.app.theme import Theme
from burstwise.app.widgets.slider_field import SliderField
from burstwise.app.window import MainWindow
from burstwise.app.wiring import design_job, examples_folder
from burstwise.core.design.document import Design

MOVES = 60
PAUSE = 0.03
"""Pause between two moves [s], about that of a hand."""
EXAMPLES = ("classroom-direct-continuous", "demonstration-gated-large")


soon = partial(wait_until, limit=20.0, between=2e-4)


def report(name: str, seconds: list[float]) -> None:
    median, late = np.percentile(np.array(seconds) * 1e3, [50, 95])
    print(f"{name:<56} median {median:6.1f} ms   95th percentile {late:6.1f} ms")


def _moved_on(screen: CoilScreen, before: Design, paints: int) -> bool:
    return screen.work.design is not before and screen.drawing.paints > paints


def drag(application: QApplication, screen: CoilScreen, field: SliderField, name: str) -> None:

    slider, button = field.slider, Qt.MouseButton.LeftButton
    start = QPoint(slider.handle_centre(), slider.height() // 2)
    QTest.mousePress(slider, button, pos=start)
    picture, figure, effort = [], [], []
    known: list[int] = []

    def resolved(state: CoilState) -> None:
        if state.design.coil == screen.work.design.coil:
            known.append(screen.drawing.paints)

    screen.work.resolved.connect(resolved)
    for move in range(1, MOVES + 1):
        time.sleep(PAUSE)
        application.processEvents()
        before, paints = screen.work.design, screen.drawing.paints
        known.clear()
        began, worked = time.perf_counter(), time.thread_time()
        offset = move if move <= MOVES // 2 else MOVES - move
        QTest.mouseMove(slider, start + QPoint(2 * offset, 0))
        soon(partial(_moved_on, screen, before, paints))
        picture.append(time.perf_counter() - began)
        wait_until(
            lambda: bool(known) and screen.drawing.paints > known[0], limit=20.0, between=2e-4
        )
        figure.append(time.perf_counter() - began)
        effort.append(time.thread_time() - worked)
    QTest.mouseRelease(slider, button, pos=start)
    screen.work.resolved.disconnect(resolved)
    report(f"{name}: drawing", picture)
    report(f"{name}: resonance in the drawing", figure)
    report(f"{name}: processor time of the window", effort)


def main() -> None:
    sys.setswitchinterval(0.001)
    application = QApplication([])
    folder = Path(tempfile.mkdtemp())
    places = Places(settings=folder / "settings", data=folder / "data")
    window = MainWindow(Session(design_job()), Theme(application), places)
    window.resize(1366, 768)
    window.show()
    window.show_screen(0)
    screen = window.screen_widget(0)
    assert isinstance(screen, CoilScreen)
    for example in EXAMPLES:
        window.session.document.undo_stack.setClean()
        window.files.open_example(examples_folder() / f"{example}.burstwise")
        wait_until(lambda: not window.session.worker.busy, limit=60.0)
        drag(application, screen, screen.sliders.turns, f"{example}, turns")
        drag(application, screen, screen.sliders.primary_height, f"{example}, primary height")
    window.session.document.undo_stack.setClean()
    window.close()
    print(f"load average {os.getloadavg()[0]:.1f} on {os.cpu_count()} processors")


if __name__ == "__main__":
    main()
