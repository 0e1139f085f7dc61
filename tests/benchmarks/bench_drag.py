"""Time from a mouse move on a real slider to the painted frame, offscreen at 1366x768.

Drags the supply, duty and frequency sliders of the operating point screen with mouse moves and
tells medians and 99th percentiles, and the processor time that the window's thread takes per frame,
which a busy machine stretches less. Argument: moves per drag (300 by default). With `beside` as a
second argument the supply is dragged alone, then beside a search in the same window. With `--json`
there are 100 moves and one of the lower views is in sight, otherwise each in turn.
"""

from __future__ import annotations

import os
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

import numpy as np
from figures import Figure, least_time, tell
from pause import wait_until
from PySide6.QtCore import QEvent, QObject, QPoint, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from burstwise.app.places import Places
from burstwise.app.screens.limits.screen import LimitsScreen
from burstwise.app.screens.operating_point.screen import OperatingPoint
from burstwise.app.screens.registry import SCREENS
from burstwise.app.session import Session
from burstwise.app.theme import Theme
from burstwise.app.widgets.slider_field import SliderField
from burstwise.app.window import MainWindow
from burstwise.app.wiring import design_job
from burstwise.core.evaluate import evaluate
from burstwise.core.studies.quick import near_table, quick

PAGE = "--json" in sys.argv
WORDS = [word for word in sys.argv[1:] if word != "--json"]
MOVES = int(WORDS[0]) if WORDS else 100 if PAGE else 300
BESIDE = WORDS[1:] == ["beside"]
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


def frame(what: str, seconds: list[float], used: float, floor: float, peer: float) -> Figure:
    """Median frame of a drag beside what it has to compute, and the whole evaluation."""
    median, late = np.percentile(np.array(seconds), [50, 99])
    return Figure(
        f"a frame of a drag, {what}; 99 of 100 of {len(seconds)} within {1e3 * late:.1f} ms, "
        f"processor {1e3 * used:.1f} ms",
        float(median),
        floor=floor,
        floor_is="the quick figures of that point alone",
        peer=peer,
        peer_is="its full evaluation, unpainted",
    )


def beside_a_search(
    window: MainWindow, page: OperatingPoint, painted: Painted, floor: float, peer: float
) -> Iterator[Figure]:
    """What a search in the same window makes of the frames."""
    titles = [screen.title for screen in SCREENS]
    limits = window.screen_widget(titles.index("Limits"))
    assert isinstance(limits, LimitsScreen)
    goal, field = limits.goal, page.controls.supply
    yield frame("supply", *drag(field, painted), floor, peer)
    wait_until(lambda: at_rest(window.session))
    goal.form.show_design(window.session.document.design)
    goal.time.setCurrentIndex(goal.time.count() - 1)
    goal.search()
    wait_until(lambda: goal.status.text().startswith("Best so far"))
    yield frame("supply, beside a search", *drag(field, painted), floor, peer)
    assert goal.worker.busy, "the search ended too soon"
    goal.stop_button.click()
    wait_until(lambda: not goal.worker.busy)


def at_rest(session: Session) -> bool:
    """Whether nothing is evaluated or looked ahead for."""
    return not (session.settling or session.worker.busy or session.preparer.busy)


def figures() -> Iterator[Figure]:
    """Frames of each slider's drag, with what they have to compute as a floor."""
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
        wait_until(lambda: session.latest is not None and at_rest(session))
        painted = Painted(page)
        design = session.document.design
        ready = near_table(evaluate(design))
        floor, peer = least_time(lambda: quick(design, ready)), least_time(lambda: evaluate(design))
        if BESIDE:
            yield from beside_a_search(window, page, painted, floor, peer)
        controls, tabs = page.controls, page.waves.tabs
        for view in range(0 if BESIDE else 1 if PAGE else tabs.count()):
            tabs.setCurrentIndex(view)
            for field in (controls.supply, controls.duty, controls.frequency):
                what = f"{field.slider.accessibleName()}, view '{tabs.tabText(view)}'"
                yield frame(what, *drag(field, painted), floor, peer)
                wait_until(lambda: at_rest(session))
        session.document.undo_stack.setClean()
        window.close()


if __name__ == "__main__":
    tell(figures())
