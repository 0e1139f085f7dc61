"""Pictures for the guide: `python docs/make_screenshots.py [NAME]...` writes docs/images/NAME.png.

Each file in docs/shots describes one picture: `SCREEN`, the title in the list of screens, and
`prepare(window, screen, wait)`, which brings the screen into the state to be shown.
"""

from __future__ import annotations

import importlib.util
import os
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from types import ModuleType

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import numpy as np
from PySide6.QtCore import Qt
from PySide6.QtGui import QImage
from PySide6.QtWidgets import QApplication

from app.places import Places
from app.session import Session
from app.theme import Theme
from app.window import MainWindow
from app.wiring import design_job

DOCS = Path(__file__).parent
sys.path.insert(0, str(DOCS / "shots"))  # pictures of one screen share what they show
SIZE = (1366, 768)
PATIENCE = 60.0
"""Longest wait for a state of the window [s]."""


def waiter(application: QApplication) -> Callable[[Callable[[], bool]], None]:
    """Function that runs the window until a condition holds, then until it is at rest."""

    def wait(condition: Callable[[], bool]) -> None:
        end = time.monotonic() + PATIENCE
        while not condition():
            if time.monotonic() > end:
                raise TimeoutError("the window did not come to the state to be shown")
            application.processEvents()
            time.sleep(0.005)
        rest = time.monotonic() + 0.5
        while time.monotonic() < rest:
            application.processEvents()
            time.sleep(0.005)

    return wait


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


def main(names: list[str]) -> None:
    """Take the named pictures, or all."""
    application = QApplication([])
    theme = Theme(application)
    wait = waiter(application)
    (DOCS / "images").mkdir(exist_ok=True)
    for path in sorted((DOCS / "shots").glob("*.py")):
        if names and path.stem not in names:
            continue
        module = shot(path)
        theme.set_dark(False)
        with tempfile.TemporaryDirectory() as place:
            session = Session(design_job())
            window = MainWindow(session, theme, Places(Path(place), Path(place)))
            window.resize(*SIZE)
            window.show()
            session.refresh()
            titles = [window.screen_list.item(i).text() for i in range(window.screen_list.count())]
            index = titles.index(module.SCREEN)
            window.show_screen(index)
            wait(lambda session=session: session.latest is not None)
            module.prepare(window, window.screen_widget(index), wait)
            indexed(window.grab().toImage()).save(str(DOCS / "images" / f"{path.stem}.png"))
            session.document.undo_stack.setClean()
            window.close()
            window.deleteLater()
            application.processEvents()
        print(f"docs/images/{path.stem}.png")


if __name__ == "__main__":
    main(sys.argv[1:])
