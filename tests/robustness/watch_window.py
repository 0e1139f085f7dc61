"""The real window over long days: what grows, what is left, what Qt says.

`--kind events`: random events over all pages: screens, tabs, edits, undo, looks, sizes, keys,
wheel.
`--kind cycles`: open and close in one process, an edit just before the close, forced collections.
`--kind designs`: random designs over all that the fields allow, each shown on every page.
`--kind hands`: mouse and keys on whatever is shown: buttons, tables, plots, menus and dialogs.

    python tests/robustness/watch_window.py --kind cycles --count 60
    python tests/robustness/watch_window.py --kind events --count 100000
    python tests/robustness/watch_window.py --kind designs --count 100
    python tests/robustness/watch_window.py --kind hands --count 20000
"""

from __future__ import annotations

import argparse
import faulthandler
import gc
import logging
import os
import random
import resource
import sys
import tempfile
import threading
import time
import traceback
import warnings
import weakref
from collections.abc import Callable, Collection
from pathlib import Path

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

from attack_random import drawn
from fields import PATHS, any_value
from hands import Hands
from PySide6.QtCore import QCoreApplication, QEvent, QPoint, QPointF, Qt, qInstallMessageHandler
from PySide6.QtGui import QWheelEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QTabWidget

from burstwise.app.places import Places
from burstwise.app.process_memory import share_one_heap
from burstwise.app.screens.registry import SCREENS
from burstwise.app.session import Session
from burstwise.app.theme import Theme
from burstwise.app.window import MainWindow
from burstwise.app.wiring import design_job
from burstwise.app.worker import REST_MS, Worker
from burstwise.core.errors import InputError
from burstwise.core.storage import load, save

KEYS = (Qt.Key.Key_Tab, Qt.Key.Key_Down, Qt.Key.Key_Up, Qt.Key.Key_PageDown, Qt.Key.Key_Home)
EVERY = 100
TOLD = 1000
HANG_S = 2.0
"""Longest time that an action may keep the window from answering [s]."""
WORKERS: weakref.WeakSet[Worker] = weakref.WeakSet()
"""All there are; a list of all objects would break a tuple that another thread is filling."""
MOST_MEMORY = 4 * 2**30
"""Address space that the process may take [B]: what asks for more fails, and is a fault."""


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--kind", choices=tuple(KINDS), required=True)
    parser.add_argument("--count", type=int, default=1000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--seconds", type=float, default=1e9)
    parser.add_argument("--keep", type=Path, help="events: folder for designs on which work broke")
    parser.add_argument("--empty", action="store_true", help="cycles: show the first screen only")
    given = parser.parse_args()
    faulthandler.enable()
    made = Worker.__init__

    def noted(worker: Worker, *given: object, **named: object) -> None:
        made(worker, *given, **named)
        WORKERS.add(worker)

    Worker.__init__ = noted
    resource.setrlimit(resource.RLIMIT_AS, (MOST_MEMORY, MOST_MEMORY))
    share_one_heap()
    said: list[str] = []
    qInstallMessageHandler(lambda _kind, _where, text: _not_the_screen(text) and said.append(text))
    faults: list[object] = []
    broken = _Broken(faults, given.keep)
    logging.getLogger().addHandler(broken)
    warnings.simplefilter("always")
    warnings.showwarning = broken.warned
    sys.excepthook = lambda _kind, error, _trace: broken.note(error)
    application = QApplication(sys.argv[:1])
    theme = Theme(application)
    with tempfile.TemporaryDirectory() as folder:
        places = Places(Path(folder), Path(folder))
        KINDS[given.kind](application, theme, places, given, broken)
    settled(application)
    others = [thread for thread in threading.enumerate() if thread is not threading.main_thread()]
    for thread in others:
        thread.join(30.0)
    left = list(application.topLevelWidgets())
    alive = [thread.name for thread in others if thread.is_alive()]
    print(f"left: {len(left)} windows, threads {alive}; Qt said {said[:5]}; errors {faults[:5]}")
    return 1 if said or faults or left or alive else 0


def _not_the_screen(text: str) -> bool:
    """Whether a message of Qt's is of something else than what a screen in memory cannot do."""
    return not text.startswith("This plugin does not support")


class _Broken(logging.Handler):
    """What the window tells its log as an error, with the design that it happened on."""

    def __init__(self, faults: list[object], keep: Path | None) -> None:
        super().__init__(logging.ERROR)
        self.window: MainWindow | None = None
        self.faults, self._keep = faults, keep
        self.told: Collection[str] = ()

    def emit(self, record: logging.LogRecord) -> None:
        self.note(record.exc_info[1] if record.exc_info else record.getMessage())

    def warned(self, message: Warning | str, *_where: object) -> None:
        """Enter a warning as a fault, and say from where it came."""
        traceback.print_stack()
        self.note(message)

    def note(self, fault: object) -> None:
        """Enter a fault, and keep the design that stands."""
        print(f"fault: {fault}", flush=True)
        if isinstance(fault, BaseException):
            traceback.print_exception(fault)
        for act in self.told:
            print(f"  after: {act}")
        self.faults.append(fault)
        if self._keep is not None and self.window is not None:
            name = f"broken-{len(self.faults)}.burstwise"
            save(self.window.session.document.design, self._keep / name)


def memory() -> float:
    """Resident memory of this process [MB]."""
    return int(Path("/proc/self/statm").read_text().split()[1]) * os.sysconf("SC_PAGE_SIZE") / 1e6


def settled(application: QApplication) -> None:
    """Let waiting events pass, deferred deletions among them."""
    for _ in range(3):
        application.processEvents()
        QCoreApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)


def rested(application: QApplication) -> None:
    """Let the window stand until it has done what it does when nothing else is to be done."""
    limit = time.monotonic() + 60.0
    last = time.monotonic()
    while time.monotonic() < min(last + 2.0 * REST_MS / 1000.0, limit):
        application.processEvents()
        time.sleep(0.01)
        if any(worker.busy for worker in WORKERS):
            last = time.monotonic()


def opened(theme: Theme, places: Places, broken: _Broken) -> MainWindow:
    """A window that is shown; what breaks in it is told with its design."""
    window = broken.window = MainWindow(Session(design_job()), theme, places)
    window.show()
    return window


def closed(window: MainWindow, broken: _Broken) -> None:
    """Close a window without its question whether to save."""
    window.session.document.undo_stack.setClean()
    broken.window = None
    window.close()
    window.deleteLater()


def cycles(
    application: QApplication, theme: Theme, places: Places, given: argparse.Namespace,
    _broken: _Broken,
) -> None:  # fmt: skip
    """Open, show some screens, edit, close, collect."""
    end = time.monotonic() + given.seconds
    for number in range(given.count):
        draw = random.Random(given.seed + number)
        window = MainWindow(Session(design_job()), theme, places)
        window.show()
        settled(application)
        window.session.refresh()
        if not given.empty:
            for index in draw.sample(range(len(SCREENS)), 3):
                window.show_screen(index)
                settled(application)
        time.sleep(draw.uniform(0.0, 0.3))
        settled(application)
        window.session.document.edit("supply.voltage", draw.uniform(5.0, 90.0))
        window.session.document.undo_stack.setClean()
        window.close()
        window.deleteLater()
        del window
        gc.collect()
        settled(application)
        gc.collect()
        if number % 10 == 9 or number < 3:
            print(f"{number + 1} cycles, {memory():.0f} MB", flush=True)
        if time.monotonic() > end:
            return


def events(
    application: QApplication, theme: Theme, places: Places, given: argparse.Namespace,
    broken: _Broken,
) -> None:  # fmt: skip
    """Random events; every so often the last state entered must be the one that is shown."""
    draw = random.Random(given.seed)
    window = opened(theme, places, broken)
    for index in range(len(SCREENS)):
        window.show_screen(index)
        settled(application)
    end, agreed = time.monotonic() + given.seconds, 0
    kinds: tuple[Callable[[MainWindow, random.Random], None], ...] = (
        _edit, _edit, _edit, _screen, _tab, _undo, _redo, _look, _size, _key, _key, _wheel, _wheel,
    )  # fmt: skip
    for number in range(1, given.count + 1):
        draw.choice(kinds)(window, draw)
        application.processEvents()
        QCoreApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)  # as a loop does
        if number % EVERY == 0:
            agreed += _agrees(application, window, broken)
        if number % TOLD == 0:
            rested(application)
            print(
                f"{number} events, {memory():.0f} MB, last state shown {agreed} of "
                f"{number // EVERY}", flush=True,
            )  # fmt: skip
        if time.monotonic() > end:
            break
    closed(window, broken)


def designs(
    application: QApplication, theme: Theme, places: Places, given: argparse.Namespace,
    broken: _Broken,
) -> None:  # fmt: skip
    """Show random designs on every page, and let each page end what it computes."""
    sources = [load(file) for file in sorted(Path("resources/examples").glob("*.burstwise"))]
    window = opened(theme, places, broken)
    for number in range(given.seed, given.seed + given.count):
        draw = random.Random(number)
        window.session.document.open(drawn(draw.choice(sources), draw), None)
        slowest, most = 0.0, 0.0
        for index in range(len(SCREENS)):
            window.show_screen(index)
            books = window.screen_widget(index).findChildren(QTabWidget)
            for book in books or [None]:
                for place in range(book.count() if book is not None else 1):
                    if book is not None:
                        book.setCurrentIndex(place)
                    slowest = max(slowest, _worked(application, 60.0))
                    most = max(most, memory())
        shown = window.strip.now.figure.text()
        print(f"design {number}: {shown!r}, {slowest:.1f} s, {most:.0f} MB", flush=True)
    closed(window, broken)


def hands(
    application: QApplication, theme: Theme, places: Places, given: argparse.Namespace,
    broken: _Broken,
) -> None:  # fmt: skip
    """Use the window by mouse and keys at random; each fault is told with what was done last."""
    window = opened(theme, places, broken)
    window.session.refresh()
    user = Hands(window, places.data, given.seed)
    broken.told = user.done
    end = time.monotonic() + given.seconds
    for number in range(1, given.count + 1):
        began = time.thread_time()
        user.act()
        settled(application)
        if (took := time.thread_time() - began) > HANG_S:
            broken.note(f"the window's thread computed for {took:.1f} s")
        if number % TOLD == 0:
            rested(application)
            print(f"{number} actions, {memory():.0f} MB, {len(broken.faults)} faults", flush=True)
        if time.monotonic() > end:
            break
    user.stop()
    closed(window, broken)


def _worked(application: QApplication, patience: float) -> float:
    """Time until no worker has anything to do, or that is enough [s]."""
    began = time.monotonic()
    while time.monotonic() < began + patience:
        application.processEvents()
        time.sleep(0.005)
        if not any(worker.busy for worker in WORKERS):
            break
    return time.monotonic() - began


def _agrees(application: QApplication, window: MainWindow, broken: _Broken) -> bool:
    """Whether the results that stand after a rest belong to the design as entered."""
    session = window.session
    wait = time.monotonic() + 300.0
    while time.monotonic() < wait:
        application.processEvents()
        if not session.settling and not session.worker.busy:
            break
        time.sleep(0.005)
    shown, latest = window.strip.now.figure.text(), session.latest
    if "cannot be evaluated" in shown or (
        latest is not None and latest.design == session.document.design
    ):
        return True
    waits = f"settling {session.settling}, busy {session.worker.busy}"
    broken.note(f"not the last state: {waits}, shown {shown!r}")
    return False


def _edit(window: MainWindow, draw: random.Random) -> None:
    path = draw.choice(PATHS)
    try:
        window.session.document.edit(path, any_value(path, draw), live=draw.random() < 0.3)
    except (InputError, LookupError):
        return
    if draw.random() < 0.5:  # most values at random are absurd: keep the design about usual
        window.session.document.undo()


def _screen(window: MainWindow, draw: random.Random) -> None:
    window.show_screen(draw.randrange(len(SCREENS)))


def _tab(window: MainWindow, draw: random.Random) -> None:
    books = [book for book in window.findChildren(QTabWidget) if book.isVisible()]
    if books:
        book = draw.choice(books)
        book.setCurrentIndex(draw.randrange(book.count()))


def _undo(window: MainWindow, _draw: random.Random) -> None:
    window.session.document.undo()


def _redo(window: MainWindow, _draw: random.Random) -> None:
    window.session.document.redo()


def _look(window: MainWindow, draw: random.Random) -> None:
    if draw.random() < 0.1:
        window.set_dark(draw.random() < 0.5)


def _size(window: MainWindow, draw: random.Random) -> None:
    window.resize(draw.randint(960, 1920), draw.randint(600, 1080))


def _key(window: MainWindow, draw: random.Random) -> None:
    QTest.keyClick(window.focusWidget() or window, draw.choice(KEYS))


def _wheel(window: MainWindow, draw: random.Random) -> None:
    at = QPoint(draw.randrange(window.width()), draw.randrange(window.height()))
    target = window.childAt(at)
    if target is None:
        return
    event = QWheelEvent(
        QPointF(target.mapFrom(window, at)), QPointF(window.mapToGlobal(at)), QPoint(),
        QPoint(0, draw.choice((-120, 120))), Qt.MouseButton.NoButton,
        Qt.KeyboardModifier.NoModifier, Qt.ScrollPhase.NoScrollPhase, False,
    )  # fmt: skip
    QApplication.sendEvent(target, event)


KINDS = {"events": events, "cycles": cycles, "designs": designs, "hands": hands}


if __name__ == "__main__":
    sys.exit(main())
