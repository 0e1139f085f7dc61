"""The user's own folder damaged, settings, drawer and recovery copies: the window opens and closes.

python tests/robustness/attack_settings.py --count 300
"""

from __future__ import annotations

import gc
import logging
import os
import random
import sys
import tempfile
from functools import partial
from pathlib import Path

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

from harness import Book, options, turns
from mutations import damaged_bytes
from PySide6.QtCore import QCoreApplication, QEvent, qInstallMessageHandler
from PySide6.QtWidgets import QApplication

from burstwise.app.places import Places
from burstwise.app.recovery import left_behind
from burstwise.app.session import Session
from burstwise.app.stored import stored
from burstwise.app.theme import Theme
from burstwise.app.window import DARK_KEY, MainWindow, stored_symbols
from burstwise.app.wiring import design_job

VALUES = (
    b"", b"nonsense", b"-1", b"9" * 30, b"@ByteArray(\\x1\\xd9)", b"@Variant(\\0\\0\\0\\x7f\\0)",
    b"true, false, 3", b"@Invalid()", b"1e999", b"@Size(1 2)", b"\\x0\\x1", b"/dev/zero", b"7",
)  # fmt: skip
HANG_S = 10.0


def main() -> int:
    given = options(__doc__ or "", 300)
    book = Book("settings", given.keep)
    qInstallMessageHandler(lambda _kind, _where, _text: None)  # Qt names unknown kinds of values
    logging.disable()
    raised: list[BaseException] = []
    sys.excepthook = lambda _kind, error, _trace: raised.append(error)
    application = QApplication(sys.argv[:1])
    theme = Theme(application)
    with tempfile.TemporaryDirectory() as name:
        places = Places(Path(name), Path(name))
        case = partial(opened, application, theme, places, raised)
        case()
        theme.set_dark(True)
        files = {file: file.read_bytes() for file in places.data.iterdir() if file.is_file()}
        files[places.drawer] = b"kind,value,name,price\nresistor,4k7,,0.1\n"
        files[places.recovery / "left.json"] = b'{"origin": null, "stamp": null, "design": "{}"}'
        for number, draw in turns(given):
            content = b""
            for file, good in files.items():
                bad = spoiled(good, draw) if draw.random() < 0.7 else good
                file.write_bytes(bad)
                content += bad + b"\n"
            book.run(str(number), case, content=content, hang=HANG_S)
    return book.close()


def spoiled(content: bytes, draw: random.Random) -> bytes:
    """Content of a file with bytes damaged, or with values of its lines exchanged."""
    if draw.random() < 0.5:
        return damaged_bytes(content, draw)
    lines = content.split(b"\n")
    for place in draw.sample(range(len(lines)), min(len(lines), 4)):
        key, apart, _ = lines[place].partition(b"=")
        if apart:
            lines[place] = key + apart + draw.choice(VALUES)
    return b"\n".join(lines)


def opened(
    application: QApplication, theme: Theme, places: Places, raised: list[BaseException]
) -> str:
    """Do what a start does, show a screen, close."""
    settings = places.open_settings()
    theme.set_dark(stored(settings, DARK_KEY, False))
    theme.set_symbols(stored_symbols(settings))
    left_behind(places.recovery)
    window = MainWindow(Session(design_job()), theme, places)
    window.show()
    application.processEvents()
    assert window.current_screen >= 0, "no screen is shown"
    window.show_screen(0)
    window.session.document.undo_stack.setClean()
    window.close()
    window.deleteLater()
    del window
    application.processEvents()
    QCoreApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)
    gc.collect()
    if raised:
        raise raised.pop()
    return "opened"


if __name__ == "__main__":
    sys.exit(main())
