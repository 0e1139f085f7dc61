"""Random hands on whatever the window shows: clicks, drags, typing, pasting, menus and dialogs.

Dialogs of the system (files, print, links) are answered here, with good, damaged and odd files.
"""

from __future__ import annotations

import random
import shutil
from collections import deque
from collections.abc import Callable
from pathlib import Path
from typing import Any

from mutations import damaged_bytes, odd_word
from PySide6.QtCore import QModelIndex, QPoint, Qt, QTimer
from PySide6.QtGui import QAction, QContextMenuEvent, QDesktopServices, QGuiApplication
from PySide6.QtPrintSupport import QPrintDialog
from PySide6.QtTest import QTest
from PySide6.QtWidgets import (
    QAbstractButton,
    QAbstractItemView,
    QApplication,
    QComboBox,
    QDialog,
    QFileDialog,
    QListView,
    QMenu,
    QWidget,
)

from burstwise.app.window import MainWindow

Left, Right = Qt.MouseButton.LeftButton, Qt.MouseButton.RightButton
Key, Held = Qt.Key, Qt.KeyboardModifier
KEYS = (
    Key.Key_Tab, Key.Key_Backtab, Key.Key_Return, Key.Key_Escape, Key.Key_Delete, Key.Key_Space,
    Key.Key_Down, Key.Key_Up, Key.Key_Left, Key.Key_Right, Key.Key_Home, Key.Key_End, Key.Key_F2,
    Key.Key_PageDown, Key.Key_PageUp, Key.Key_F1,
)  # fmt: skip
WITH_CONTROL = (Key.Key_A, Key.Key_C, Key.Key_V, Key.Key_X, Key.Key_Z, Key.Key_Y, Key.Key_F)
LEAVES_ALONE = ("Quit", "Close", "Exit")
"""Menu entries that would end the window."""
MS_BETWEEN_ANSWERS = 30
LAST = 12
"""Actions told before a fault."""


class Hands:
    """Random user of a window.

    Parameters
    ----------
    window : MainWindow
        Where they work.
    folder : Path
        Where they keep files.
    seed : int
        Of their choices.
    """

    def __init__(self, window: MainWindow, folder: Path, seed: int) -> None:
        self.window, self.folder = window, folder
        self.draw = random.Random(seed)
        self.done: deque[str] = deque(maxlen=LAST)
        self._files = self._supplied()
        self._stand_in_for_the_system()
        self._stopped = False
        self._answer()
        self._acts: tuple[Callable[[QWidget], None], ...] = (
            self._press_button, self._press_button, self._press_button, self._press_anywhere,
            self._press_anywhere, self._cell, self._cell, self._choice, self._type, self._type,
            self._key, self._key, self._paste, self._drag, self._menu, self._right_click,
        )  # fmt: skip

    def act(self) -> None:
        """Do one thing to one of the windows that stand open."""
        open_ones = [
            one for one in QApplication.topLevelWidgets()
            if one.isVisible() and one is not self.window and not isinstance(one, QMenu)
        ]  # fmt: skip
        target: QWidget = self.window
        if open_ones and self.draw.random() < 0.3:
            target = self.draw.choice(open_ones)
            if self.draw.random() < 0.2:
                self._tell("close", target)
                target.close()
                return
        try:
            self.draw.choice(self._acts)(target)
        except RuntimeError as error:
            if "already deleted" not in str(error):  # by what the hands did; they let go of it
                raise
        if not self.window.isVisible():
            self.window.show()

    def stop(self) -> None:
        """Answer nothing any more, and close what else stands open."""
        self._stopped = True
        for one in QApplication.topLevelWidgets():
            if one is not self.window and one.isVisible():
                one.close()

    def _tell(self, what: str, widget: QWidget | None, more: object = "") -> None:
        name = "" if widget is None else f"{type(widget).__name__} {widget.accessibleName()!r}"
        if isinstance(widget, QAbstractButton):
            name += f" {widget.text()!r}"
        self.done.append(f"{what} {name} {str(more)[:60]!r}")

    def _visible(self, target: QWidget, kind: type[Any]) -> list[Any]:
        return [one for one in target.findChildren(kind) if one.isVisible() and one.isEnabled()]

    def _somewhere(self, widget: QWidget) -> QPoint:
        area = widget.visibleRegion().boundingRect()
        if area.isEmpty():
            return widget.rect().center()
        return QPoint(
            self.draw.randint(area.left(), area.right()),
            self.draw.randint(area.top(), area.bottom()),
        )

    def _spot(self, what: str, target: QWidget) -> tuple[QWidget, QPoint]:
        """What stands at some place of a window, told as what is done there, and where in it."""
        at = self._somewhere(target)
        widget = target.childAt(at) or target
        self._tell(what, widget, at)
        return widget, widget.mapFrom(target, at)

    def _press_button(self, target: QWidget) -> None:
        if found := self._visible(target, QAbstractButton):
            button = self.draw.choice(found)
            self._tell("press", button)
            QTest.mouseClick(button, Left)

    def _press_anywhere(self, target: QWidget) -> None:
        widget, here = self._spot("click", target)
        click = QTest.mouseDClick if self.draw.random() < 0.2 else QTest.mouseClick
        held = self.draw.choice((Held.NoModifier,) * 4 + (Held.ShiftModifier, Held.ControlModifier))
        click(widget, Left, held, here)

    def _cell(self, target: QWidget) -> None:
        if not (found := self._visible(target, QAbstractItemView)):
            return
        view = self.draw.choice(found)
        model = view.model()
        top = QModelIndex()
        rows = model.rowCount(top)
        columns = 1 if isinstance(view, QListView) else model.columnCount(top)
        if not rows or not columns:
            return
        index = model.index(self.draw.randrange(rows), self.draw.randrange(columns), top)
        view.setCurrentIndex(index)
        self._tell("cell", view, (index.row(), index.column()))
        press = self.draw.choice((QTest.mouseClick, QTest.mouseDClick))
        press(view.viewport(), Left, Held.NoModifier, view.visualRect(index).center())

    def _choice(self, target: QWidget) -> None:
        if found := self._visible(target, QComboBox):
            box = self.draw.choice(found)
            box.setFocus()
            key = self.draw.choice((Key.Key_Down, Key.Key_Up, Key.Key_End, Key.Key_Home))
            self._tell("choice", box, key)
            QTest.keyClick(box, key)

    def _focus(self, target: QWidget) -> QWidget:
        return QApplication.focusWidget() or target.focusWidget() or target

    def _type(self, target: QWidget) -> None:
        focus = self._focus(target)
        words = odd_word(self.draw) if self.draw.random() < 0.4 else self._usual()
        self._tell("type", focus, words)
        if self.draw.random() < 0.7:
            QTest.keyClick(focus, Key.Key_A, Held.ControlModifier)
        # Qt's hand types what Latin-1 has; the rest is pasted.
        plain = "".join(mark for mark in words[:40] if " " <= mark <= "~")
        QTest.keyClicks(focus, plain)
        QTest.keyClick(focus, self.draw.choice((Key.Key_Return, Key.Key_Tab, Key.Key_Escape)))

    def _usual(self) -> str:
        number = self.draw.choice(("0", "1", "2", "3.3", "10", "24", "47", "100", "0.5", "12"))
        return number + self.draw.choice(("", "", " m", "k", "u", "n", " V", " ohm", " %", " mm"))

    def _key(self, target: QWidget) -> None:
        focus = self._focus(target)
        if self.draw.random() < 0.3:
            key, held = self.draw.choice(WITH_CONTROL), Held.ControlModifier
        else:
            key = self.draw.choice(KEYS)
            held = self.draw.choice((Held.NoModifier, Held.NoModifier, Held.ShiftModifier))
        self._tell("key", focus, (key, held))
        for _ in range(self.draw.choice((1, 1, 5))):
            QTest.keyClick(focus, key, held)

    def _paste(self, target: QWidget) -> None:
        words = odd_word(self.draw)
        if self.draw.random() < 0.5:
            table = self.draw.choice([file for file in self._files if file.is_file()])
            words = table.read_bytes()[:20_000].decode("utf-8", "replace").replace(",", "\t")
        QGuiApplication.clipboard().setText(words.encode("utf-8", "replace").decode())
        focus = self._focus(target)
        self._tell("paste", focus, words)
        QTest.keyClick(focus, Key.Key_V, Held.ControlModifier)

    def _drag(self, target: QWidget) -> None:
        widget, here = self._spot("drag", target)
        QTest.mousePress(widget, Left, Held.NoModifier, here)
        for _ in range(self.draw.choice((1, 3, 8))):
            here += QPoint(self.draw.randint(-80, 80), self.draw.randint(-60, 60))
            QTest.mouseMove(widget, here)
            QApplication.processEvents()
        QTest.mouseRelease(widget, Left, Held.NoModifier, here)

    def _menu(self, _target: QWidget) -> None:
        menus = self.window.menuBar().findChildren(QMenu)
        if actions := self._harmless([one for menu in menus for one in menu.actions()]):
            action = self.draw.choice(actions)
            self._tell("menu", None, action.text())
            action.trigger()

    def _harmless(self, actions: list[QAction]) -> list[QAction]:
        """Entries that can be taken and do not end the window."""
        return [
            one
            for one in actions
            if one.isEnabled()
            and one.menu() is None
            and not one.text().replace("&", "").startswith(LEAVES_ALONE)
        ]

    def _right_click(self, target: QWidget) -> None:
        widget, here = self._spot("right", target)
        QTest.mouseClick(widget, Right, Held.NoModifier, here)
        event = QContextMenuEvent(QContextMenuEvent.Reason.Mouse, here, widget.mapToGlobal(here))
        QApplication.sendEvent(widget, event)

    def _answer(self) -> None:
        """Take an entry of a menu that stands open, press something in a dialog that waits.

        What comes next is another timer: one that is answered does not fire, and what is pressed
        may open a further dialog.
        """
        if self._stopped:
            return
        QTimer.singleShot(MS_BETWEEN_ANSWERS, self._answer)
        popup = QApplication.activePopupWidget()
        if popup is not None:
            actions = self._harmless(popup.actions()) if isinstance(popup, QMenu) else []
            popup.close()
            if actions and self.draw.random() < 0.5:
                action = self.draw.choice(actions)
                self._tell("entry", None, action.text())
                action.trigger()
            return
        waits = QApplication.activeModalWidget()
        if waits is None:
            return
        buttons = self._visible(waits, QAbstractButton)
        if buttons and self.draw.random() < 0.9:
            button = self.draw.choice(buttons)
            self._tell("answer", button, waits.windowTitle())
            QTest.mouseClick(button, Left)
        elif isinstance(waits, QDialog):
            waits.reject()

    def _supplied(self) -> list[Path]:
        """Files that a dialog may name: good ones, damaged ones, none, and a folder."""
        found = []
        for file in sorted(Path("resources/examples").iterdir()):
            if file.is_file():
                copied = self.folder / file.name
                shutil.copy(file, copied)
                bad = self.folder / f"bad-{file.name}"
                bad.write_bytes(damaged_bytes(file.read_bytes(), self.draw))
                found += [copied, bad]
        empty = self.folder / "empty.csv"
        empty.write_bytes(b"")
        return [*found, empty, self.folder / "not-there.csv", self.folder]

    def _stand_in_for_the_system(self) -> None:
        def to_read(*_given: Any) -> tuple[str, str]:
            return ("" if self.draw.random() < 0.2 else str(self.draw.choice(self._files))), ""

        def to_write(_parent: Any, _title: str, _start: str, kinds: str) -> tuple[str, str]:
            ending = self.draw.choice((".burstwise", ".pdf", ".csv", ".html", ".cir", ".svg", ""))
            name = self.draw.choice(("out", "no/such/folder", "x" * 300, ""))
            chosen = self.draw.choice(kinds.split(";;"))
            return (str(self.folder / f"{name}{ending}") if name else ""), chosen

        QFileDialog.getOpenFileName = staticmethod(to_read)
        QFileDialog.getSaveFileName = staticmethod(to_write)
        QFileDialog.getExistingDirectory = staticmethod(
            lambda *_given: self.draw.choice(("", str(self.folder)))
        )
        QDesktopServices.openUrl = staticmethod(lambda _link: True)
        QPrintDialog.exec = lambda _dialog: 0
