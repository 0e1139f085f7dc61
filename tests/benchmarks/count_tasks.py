"""Clicks, keys and seconds of six tasks of a new user, done by mouse and keys in the real window.

Each task begins where the program starts: a new design, the screen that a first start shows, all
pages closed. Prints clicks and keys, and the seconds that the program itself took; a hand needs
about a second a click and a fifth of a second a key on top of it. Argument: part of the names of
the tasks to be done (all by default).
"""

from __future__ import annotations

import os
import sys
import tempfile
import time
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass, field
from importlib import resources
from pathlib import Path
from typing import Any

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

from pause import pause, wait_until
from PySide6.QtCore import QPoint, Qt, QTimer
from PySide6.QtPrintSupport import QPrintDialog
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QComboBox, QTabWidget, QWidget

from burstwise.app.help.first_start import FirstStart
from burstwise.app.places import Places
from burstwise.app.session import Session
from burstwise.app.theme import Theme
from burstwise.app.widgets.quantity_field import QuantityField
from burstwise.app.window import MainWindow
from burstwise.app.wiring import design_job

LEFT = Qt.MouseButton.LeftButton
"""Longest wait for what a task asks for [s]."""
COIL = {
    "former_diameter": "63 mm",
    "wire_diameter": "0.25 mm",
    "turns": "950",
    "primary.inner_radius": "45 mm",
    "primary.turns": "7",
}
"""Coil of an invented build, as somebody has it on the table."""


@dataclass
class Hand:
    """Clicks and types in a window, and counts."""

    window: MainWindow
    clicks: int = 0
    keys: int = 0
    told: list[str] = field(default_factory=list)

    def click(self, widget: QWidget, at: QPoint | None = None) -> None:
        """One click, in the middle unless a place is given."""
        self.clicks += 1
        QTest.mouseClick(widget, LEFT, pos=widget.rect().center() if at is None else at)

    def screen(self, title: str) -> Any:
        """Go to a screen by its name in the list."""
        listed = self.window.screen_list
        item = listed.findItems(title, Qt.MatchFlag.MatchExactly)[0]
        if listed.currentItem() is not item:
            self.click(listed.viewport(), listed.visualItemRect(item).center())
        return self.window.screen_widget(self.window.current_screen)

    def tab(self, tabs: QTabWidget, page: QWidget) -> None:
        """Go to a page by its tab."""
        place = tabs.indexOf(page)
        if tabs.currentIndex() != place:
            self.click(tabs.tabBar(), tabs.tabBar().tabRect(place).center())

    def choose(self, box: QComboBox, place: int) -> None:
        """Open a list and take one of its lines."""
        self.click(box)
        view = box.view()
        view.scrollTo(view.model().index(place, 0))
        pause(50e-3)
        self.click(view.viewport(), view.visualRect(view.model().index(place, 0)).center())

    def enter(self, target: QuantityField, text: str) -> None:
        """Click into a field, which marks its text, and type over it."""
        self.click(target.entry)
        if not target.entry.hasSelectedText():
            self.press(target.entry, Qt.Key.Key_A, Qt.KeyboardModifier.ControlModifier)
        QTest.keyClicks(target.entry, text)
        self.keys += len(text)
        self.press(target.entry, Qt.Key.Key_Return)

    def press(
        self,
        widget: QWidget,
        key: Qt.Key,
        held: Qt.KeyboardModifier = Qt.KeyboardModifier.NoModifier,
    ) -> None:
        """One key, with what is held beside it."""
        self.keys += 1
        QTest.keyClick(widget, key, held)

    def rest(self, condition: Callable[[], bool] = lambda: True) -> None:
        """Wait until a condition holds and nothing is computed."""
        session = self.window.session
        wait_until(lambda: condition() and not session.settling and not session.worker.busy)


def own_coil(hand: Hand) -> None:
    """From the first start to the resonance of one's own coil."""
    window = hand.window
    dialog: FirstStart = window.help.show_start()
    pause(50e-3)
    hand.click(dialog.own)
    screen = window.screen_widget(window.current_screen)
    for name, text in COIL.items():
        path = name if "." in name else f"secondary.{name}"
        row = screen.row(f"coil.geometry.{path}")
        screen.scroller.ensureWidgetVisible(row)
        hand.enter(row.widget, text)
    hand.rest()
    hand.told.append(screen.drawing.caption.figures)


def own_device(hand: Hand) -> None:
    """Nearest class, and one figure of one's own datasheet."""
    screen = hand.screen("Switch and drive")
    sheet = screen.sheet
    place = (sheet.classes.currentIndex() + 2) % sheet.classes.count()
    hand.choose(sheet.classes, place)
    hand.click(sheet.take_button)
    hand.enter(sheet.fields["device.on_resistance"], "0.35 ohm")
    hand.rest()
    hand.told.append(str(hand.window.session.document.value("device.on_resistance")))


def first_break(hand: Hand) -> None:
    """What breaks first as the supply rises, and where."""
    strip = hand.window.strip
    hand.rest(lambda: strip.first_break.text not in ("", "—"))
    hand.told.append(strip.first_break.text)


def interrupter(hand: Hand) -> None:
    """Parts for 15 Hz, and into the design."""
    screen = hand.screen("Interrupter")
    page = screen.size_page
    hand.tab(screen.tabs, page)
    hand.enter(page.form.frequency, "15")
    hand.rest(lambda: page.button.isEnabled() and not page.worker.busy)
    hand.click(page.button)
    hand.rest()
    hand.told.append(str(hand.window.session.document.value("interrupter.given_by")))


def sheet_printed(hand: Hand) -> None:
    """Build sheet to the printer; the system's dialog is answered by Return."""
    screen = hand.screen("Build")
    hand.rest(lambda: screen.ready)
    asked: list[str] = []

    def answer() -> None:
        dialog = QApplication.activeModalWidget()
        if isinstance(dialog, QPrintDialog):
            asked.append(dialog.windowTitle())
            hand.keys += 1
            dialog.reject()  # nothing is printed where there is no printer

    timer = QTimer()
    timer.timeout.connect(answer)
    timer.start(100)
    hand.click(screen.buttons["paper"])
    hand.rest()
    timer.stop()
    hand.told.append(", ".join(asked))


def forecast(hand: Hand) -> None:
    """Readings from the clipboard, and which rating they say is reached first."""
    text = resources.files("burstwise.resources") / "examples" / "readings.csv"
    QApplication.clipboard().setText(text.read_text(encoding="utf-8"))
    screen = hand.screen("Bench")
    hand.tab(screen.tabs, screen.readings)
    hand.click(screen.readings.paste_button)
    hand.rest()
    hand.tab(screen.tabs, screen.forecast)
    hand.rest(lambda: screen.forecast.result is not None and not screen.forecast.worker.busy)
    hand.told.append(screen.forecast.headline.text())


TASKS = {
    "own coil in": own_coil,
    "own device in": own_device,
    "first break found": first_break,
    "interrupter at 15 Hz from parts": interrupter,
    "sheet printed": sheet_printed,
    "readings in and forecast out": forecast,
}


def done(name: str, theme: Theme) -> None:
    """Do one task in a window of its own and print what it took."""
    with tempfile.TemporaryDirectory() as folder:
        session = Session(design_job())
        window = MainWindow(session, theme, Places(Path(folder) / "s", Path(folder) / "d"))
        window.resize(1366, 768)
        window.show()
        hand = Hand(window)
        session.refresh()
        hand.rest(lambda: session.latest is not None)
        began = time.monotonic()
        TASKS[name](hand)
        seconds = time.monotonic() - began
        print(
            f"{name:<32} {hand.clicks:2d} clicks {hand.keys:3d} keys {seconds:5.1f} s   "
            f"{'; '.join(hand.told)}",
            flush=True,
        )
        session.document.undo_stack.setClean()
        window.close()


def main(part: str = "") -> None:
    """Do the tasks whose names hold `part`."""
    application = QApplication([])
    theme = Theme(application)
    for name in TASKS:
        if part in name:
            with suppress(TimeoutError):
                done(name, theme)


if __name__ == "__main__":
    main(*sys.argv[1:2])
