"""Pictures for the guide: `python docs/make_screenshots.py [NAME]...` writes docs/images/NAME.png.

Each file in docs/shots describes one picture: `SCREEN`, the title in the list of screens, and
`prepare(window, screen, wait)`, which brings the screen into the state to be shown and may return a
dialog that is shown instead of the window. `OPENS` names
the example that the window opens; without it the window starts with a new design. Pictures of one
screen and one example share a window where `SAME_WINDOW` is set, so that what one has computed
serves the next. Two processes share the work.
"""

from __future__ import annotations

import importlib.util
import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from itertools import groupby
from pathlib import Path
from types import ModuleType
from typing import Any

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import numpy as np
from PySide6.QtCore import Qt
from PySide6.QtGui import QImage
from PySide6.QtWidgets import QApplication

from burstwise.app.places import Places
from burstwise.app.session import Job, Session
from burstwise.app.theme import Theme
from burstwise.app.window import MainWindow
from burstwise.app.wiring import design_job, examples_folder

DOCS = Path(__file__).parent
sys.path.insert(0, str(DOCS / "shots"))  # pictures of one screen share what they show
SIZE = (1366, 768)
PATIENCE = 300.0
"""Longest wait for a state of the window [s]."""
REST = 0.15
"""Time for which a window is left to itself after a wait [s]."""
ALONE = "classroom-gated-spiking.burstwise"
"""Example whose pictures cost as much as all others together: a process of its own."""
Wait = Callable[[Callable[[], bool]], None]


def waiter(application: QApplication) -> Wait:
    """Function that runs the window until a condition holds, then until it is at rest."""

    def wait(condition: Callable[[], bool]) -> None:
        end = time.monotonic() + PATIENCE
        while not condition():
            if time.monotonic() > end:
                raise TimeoutError("the window did not come to the state to be shown")
            application.processEvents()
            time.sleep(0.005)
        rest = time.monotonic() + REST
        while time.monotonic() < rest:
            application.processEvents()
            time.sleep(0.005)

    return wait


def remembering(job: Job) -> Job:
    """The same job, which evaluates no design twice."""
    kept: list[tuple[Any, Any]] = []

    def evaluate(design: Any, task: Any) -> Any:
        for known, results in kept:
            if known == design:
                return results
        results = job.evaluate(design, task)
        kept.append((design, results))
        return results

    return replace(job, evaluate=evaluate)


def at_rest(session: Session) -> bool:
    """Whether nothing is evaluated or looked ahead for any more."""
    return not (session.settling or session.worker.busy or session.preparer.busy)


def indexed(picture: QImage) -> QImage:
    """Picture in its 256 most frequent colours, without dither: a third of the size as PNG."""
    plain = picture.convertToFormat(QImage.Format.Format_RGB32)
    pixels = np.frombuffer(plain.constBits(), np.uint32)
    colours, counts = np.unique(pixels, return_counts=True)
    kept = colours[np.argsort(-counts)][:256]
    how = Qt.ImageConversionFlag.ThresholdDither | Qt.ImageConversionFlag.AvoidDither
    return plain.convertToFormat(QImage.Format.Format_Indexed8, [int(c) for c in kept], how)


def shot(path: Path) -> ModuleType:
    """Module of one picture."""
    spec = importlib.util.spec_from_file_location(f"shot_{path.stem}", path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def opened(module: ModuleType) -> str:
    """Example that a picture opens, empty for a new design."""
    return str(getattr(module, "OPENS", ""))


def windows(modules: list[ModuleType]) -> list[list[ModuleType]]:
    """Pictures by the window that they are taken in."""

    def place(module: ModuleType) -> tuple[str, str, str]:
        own = "" if getattr(module, "SAME_WINDOW", False) else module.__name__
        return (module.SCREEN, opened(module), own)

    return [list(group) for _, group in groupby(sorted(modules, key=place), key=place)]


@contextmanager
def window_of(module: ModuleType, job: Job, theme: Theme, wait: Wait) -> Iterator[MainWindow]:
    """Window with the design of a picture, evaluated; what is looked ahead for has ended."""
    with tempfile.TemporaryDirectory() as place:
        session = Session(job)
        window = MainWindow(session, theme, Places(Path(place), Path(place)))
        window.resize(*SIZE)
        window.show()
        if opened(module):
            window.files.open_example(examples_folder() / opened(module))
        else:
            session.refresh()
        wait(lambda: session.latest is not None and at_rest(session))
        yield window
        session.document.undo_stack.setClean()
        window.close()
        window.deleteLater()


def take(window: MainWindow, module: ModuleType, wait: Wait) -> None:
    """Bring a window into the state of a picture and store it."""
    began = time.monotonic()
    titles = [window.screen_list.item(i).text() for i in range(window.screen_list.count())]
    index = titles.index(module.SCREEN)
    window.show_screen(index)
    shown = module.prepare(window, window.screen_widget(index), wait) or window
    name = module.__name__.removeprefix("shot_")
    indexed(shown.grab().toImage()).save(str(DOCS / "images" / f"{name}.png"))
    print(f"docs/images/{name}.png after {time.monotonic() - began:.1f} s", flush=True)


def take_all(modules: list[ModuleType]) -> None:
    """Take some pictures in this process."""
    application = QApplication([])
    theme, wait = Theme(application), waiter(application)
    jobs: dict[str, Job] = {}
    for group in windows(modules):
        theme.set_dark(False)
        first = group[0]
        job = jobs.setdefault(opened(first), remembering(design_job()))
        with window_of(first, job, theme, wait) as window:
            for module in group:
                take(window, module, wait)
        application.processEvents()


def main(names: list[str]) -> int:
    """Take the named pictures, or all in two processes; returns the exit status."""
    modules = [shot(path) for path in sorted((DOCS / "shots").glob("*.py"))]
    (DOCS / "images").mkdir(exist_ok=True)
    if names:
        take_all([module for module in modules if module.__name__.removeprefix("shot_") in names])
        return 0
    halves: list[list[str]] = [[], []]
    for module in modules:
        halves[opened(module) == ALONE].append(module.__name__.removeprefix("shot_"))
    running = [subprocess.Popen([sys.executable, __file__, *half]) for half in halves]
    return max(abs(process.wait()) for process in running)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
