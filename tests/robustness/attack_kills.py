"""Kills at a random moment of saving, of autosave, and of taking a recovery over.

What is checked afterwards: the file is whole and holds one of the two designs; where unsaved work
has been copied once, a copy of it can be recovered; nothing is left after the next save.

    python tests/robustness/attack_kills.py --count 200
"""

from __future__ import annotations

import os
import random
import signal
import sys
import tempfile
import time
from collections.abc import Callable
from functools import partial
from pathlib import Path

from harness import Book, options, turns
from PySide6.QtCore import QCoreApplication

from burstwise.app.document import Document
from burstwise.app.recovery import Autosave, left_behind
from burstwise.core.design.document import Design, value_at, with_value, with_values
from burstwise.core.storage import design_from_text, load, save, text_of

FILE = Path("resources/examples/classroom-gated-interrupted.burstwise")
LONGEST_S = 0.05
"""Latest moment of a kill after the child said that it begins [s]."""
Work = Callable[[Callable[[], None]], None]


def main() -> int:
    given = options(__doc__ or "", 200)
    book = Book("kills", given.keep)
    one = load(FILE)
    two = with_value(one, "notes", "changed " * 400)
    for number, draw in turns(given):
        for kind in (killed_save, killed_autosave, killed_recovery):
            with tempfile.TemporaryDirectory() as folder:
                case = partial(kind, Path(folder), (one, two), draw)
                book.run(f"{number}-{kind.__name__}", case)
    return book.close()


def killed(work: Work, draw: random.Random) -> None:
    """Let a child work, kill it at some moment after it said that it begins."""
    reader, writer = os.pipe()
    child = os.fork()
    if child == 0:
        try:
            work(partial(_begun, writer))
        finally:
            os._exit(1)
    os.read(reader, 1)
    time.sleep(draw.uniform(0.0, LONGEST_S))
    os.kill(child, signal.SIGKILL)
    _, status = os.waitpid(child, 0)
    os.close(reader)
    os.close(writer)
    assert os.WIFSIGNALED(status), "the child ended by itself"


def _begun(writer: int) -> None:
    os.write(writer, b"x")


def killed_save(folder: Path, designs: tuple[Design, Design], draw: random.Random) -> str:
    """Save two designs by turns into one file."""
    file = folder / "coil.burstwise"
    save(designs[0], file)

    def work(begin: Callable[[], None]) -> None:
        begin()
        for turn in range(10**9):
            save(designs[turn % 2], file)

    killed(work, draw)
    assert load(file) in designs, "neither the old design nor the new one"
    save(designs[0], file)
    assert [item.name for item in folder.iterdir()] == [file.name], "something is left"
    return "save"


def opened(design: Design, folder: Path) -> tuple[Document[Design], Autosave]:
    """Document of a window and its autosave."""
    if QCoreApplication.instance() is None:
        opened.application = QCoreApplication([])  # type: ignore[attr-defined]
    document = Document(design, with_values=with_values, value_at=value_at)
    return document, Autosave(document, folder, to_text=text_of)


def killed_autosave(folder: Path, designs: tuple[Design, Design], draw: random.Random) -> str:
    """Write copies of unsaved work over and over, the first before the kill."""
    mark = folder / "copied"

    late = draw.random() < 0.8

    def work(begin: Callable[[], None]) -> None:
        document, autosave = opened(designs[0], folder)
        for turn in range(10**9):
            if turn == late:
                begin()
            document.edit("supply.voltage", 20.5 + turn % 7)
            autosave.flush()
            mark.touch()

    killed(work, draw)
    found = left_behind(folder)
    assert not mark.exists() or len(found) == 1, "the work is lost"
    for copy in found:
        assert not copy.problem, copy.problem
        assert 20.5 <= design_from_text(copy.text).supply.voltage <= 26.5
    return "autosave" if found else "autosave, before its first copy"


def killed_recovery(folder: Path, designs: tuple[Design, Design], draw: random.Random) -> str:
    """Take work over that a crash left; the work stands in a copy before, in between and after."""

    def crash(begin: Callable[[], None]) -> None:
        document, autosave = opened(designs[0], folder)
        document.edit("notes", designs[1].notes)
        autosave.flush()
        begin()
        time.sleep(60.0)

    killed(crash, draw)

    def work(begin: Callable[[], None]) -> None:
        document, autosave = opened(designs[0], folder)
        (found, *_) = left_behind(folder)
        document.open(design_from_text(found.text), found.origin, unsaved=True, stamp=found.stamp)
        begin()
        autosave.take_over(found)
        time.sleep(60.0)

    killed(work, draw)
    found = left_behind(folder)
    assert found, "the work is lost"
    for copy in found:
        assert design_from_text(copy.text).notes == designs[1].notes
    return f"recovery, {len(found)} copies"


if __name__ == "__main__":
    sys.exit(main())
