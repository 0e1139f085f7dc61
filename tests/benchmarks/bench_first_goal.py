"""From 'New' with a tube, a wire and a device at hand to an applied design: clicks and seconds.

Drives the real window by mouse and keys as a new user would: lists the three parts, asks for the
goal among them, waits for the answer and applies it. A click is a press of the mouse, an entry is
one text typed into a field. Time is that of the machine; a person needs some for reading.

    python tests/benchmarks/bench_first_goal.py [FOLDER FOR PICTURES]
"""

from __future__ import annotations

import os
import sys
import tempfile
import time
from pathlib import Path

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

from pause import pause, wait_until
from PySide6.QtCore import QPoint, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QComboBox, QLineEdit, QTabWidget, QWidget

from burstwise.app.drawer_dialog import DrawerDialog
from burstwise.app.places import Places
from burstwise.app.screens.limits.screen import LimitsScreen
from burstwise.app.session import Session
from burstwise.app.theme import Theme
from burstwise.app.window import MainWindow
from burstwise.app.wiring import design_job
from burstwise.core.drawer import KINDS

DEVICE = "600 V, 4 A planar, full-pack"


class Hand:
    """Mouse and keys, counted."""

    def __init__(self, folder: Path | None) -> None:
        self.clicks = self.entries = 0
        self.began = time.monotonic()
        self._folder = folder

    def click(self, widget: QWidget, at: QPoint | None = None) -> None:
        """Press the mouse on a widget."""
        QTest.mouseClick(widget, Qt.MouseButton.LeftButton, pos=at or widget.rect().center())
        self.clicks += 1
        pause(50e-3)

    def choose(self, box: QComboBox, text: str) -> None:
        """Open a list and press on one of its lines: two clicks."""
        box.setCurrentText(text)
        assert box.currentText() == text
        self.clicks += 2

    def type(self, entry: QLineEdit, text: str) -> None:
        """Click into a field and type."""
        self.click(entry)
        entry.selectAll()
        QTest.keyClicks(entry, text)
        self.entries += 1

    def told(self, what: str, widget: QWidget) -> None:
        """Print how far it is, and keep a picture."""
        seconds = time.monotonic() - self.began
        print(f"{what}: {self.clicks} clicks, {self.entries} entries, {seconds:.0f} s", flush=True)
        if self._folder is not None:
            name = what.replace(" ", "-")
            widget.grab().save(str(self._folder / f"{name}.png"))


def list_parts(hand: Hand, window: MainWindow) -> None:
    """Put the tube, the wire and the device into the drawer."""
    hand.clicks += 2  # the menu and its line, whose action is started here
    action = next(
        one
        for head in window.menuBar().actions()
        for one in head.menu().actions()  # type: ignore[attr-defined]
        if "dra" in one.text() and "holds" in one.text()
    )
    action.trigger()
    dialog = window.findChild(DrawerDialog)
    assert dialog is not None
    kinds = [kind.capitalize() for kind in KINDS]
    for kind, value in (("Tube", "63 mm"), ("Wire", "0.25 mm")):
        assert kind in kinds
        hand.choose(dialog.entry.kind, kind)
        hand.type(dialog.entry.values, value)
        hand.click(dialog.entry.add_button)
    hand.choose(dialog.entry.kind, "Device")
    hand.choose(dialog.entry.device, DEVICE)
    hand.click(dialog.entry.add_button)
    hand.told("parts listed", dialog)
    dialog.reject()
    hand.clicks += 1


def reach_goal(hand: Hand, window: MainWindow) -> None:
    """Ask for the highest top voltage from the parts, and apply what is found."""
    titles = [window.screen_list.item(row).text() for row in range(window.screen_list.count())]
    row = window.screen_list.item(titles.index("Limits"))
    hand.click(window.screen_list.viewport(), window.screen_list.visualItemRect(row).center())
    screen = window.screen_widget(window.current_screen)
    assert isinstance(screen, LimitsScreen)
    tabs: QTabWidget = screen.tabs
    bar, place = tabs.tabBar(), tabs.indexOf(screen.goal)
    hand.click(bar, bar.tabRect(place).center())
    panel = screen.goal
    assert tabs.currentWidget() is panel
    hand.told("goal page open", window)
    wait_until(lambda: bool(panel.form.rows))
    hand.told("design evaluated", window)
    hand.choose(panel.form.reach, "Everything")
    hand.click(panel.form.drawer.box, QPoint(10, panel.form.drawer.box.height() // 2))
    hand.choose(panel.time, "30 s")
    hand.told("goal asked", window)
    hand.click(panel.begin_button)
    wait_until(lambda: panel.answer is not None)
    answer = panel.answer
    assert answer is not None
    hand.told("search ended", window)
    if not answer.found and answer.nearest is not None:
        print(f"not all can be had; taken instead: {answer.nearest.text}")
        hand.click(panel.take_button)
        answer = panel.answer
    if not answer.found:
        print(f"nothing found in {answer.evaluations} evaluations: {panel.reasons.text()}")
        return
    hand.click(panel.button)
    wait_until(lambda: not window.session.worker.busy and not window.session.settling)
    hand.told("design applied", window)
    design = window.session.document.design
    coil = design.coil.geometry.secondary
    assert (coil.former_diameter, coil.wire_diameter) == (0.063, 0.25e-3)
    assert design.device.name == DEVICE
    best = answer.found[0]
    panel.search()
    pause(300e-3)  # processes have begun to come up
    asked = time.monotonic()
    panel.stop_button.click()
    wait_until(lambda: not panel.worker.busy)
    print(f"another search stopped at its start: {1e3 * (time.monotonic() - asked):.0f} ms")
    print(f"top voltage {best.objective / 1e3:.1f} kV, smallest margin", end=" ")
    print(f"{best.results.first_limit.margin:.0%} after {answer.evaluations} evaluations")


def main(folder: Path | None) -> None:
    """Print clicks and seconds."""
    sys.setswitchinterval(0.001)
    application = QApplication([])
    with tempfile.TemporaryDirectory() as home:
        session = Session(design_job())
        places = Places(Path(home) / "settings", Path(home) / "data")
        window = MainWindow(session, Theme(application), places)
        window.resize(1366, 768)
        window.show()
        session.refresh()
        hand = Hand(folder)
        window.files.begin_new()
        hand.clicks += 2
        list_parts(hand, window)
        reach_goal(hand, window)
        session.document.undo_stack.setClean()
        window.close()


if __name__ == "__main__":
    main(Path(sys.argv[1]) if len(sys.argv) > 1 else None)
    sys.stdout.flush()
    os._exit(0)  # what still runs in threads of the window is not waited for
