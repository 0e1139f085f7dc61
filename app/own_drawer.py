"""The parts that the user has: one list for all designs, kept in the folder of the user's data."""

from __future__ import annotations

from pathlib import Path

from PySide6.QtCore import QObject, Signal

from burstwise.core.disk import read_text, write_whole
from burstwise.core.drawer import Drawer, drawer_from_text, drawer_text
from burstwise.core.errors import FileError, InputError, one_line


class OwnDrawer(QObject):
    """Holds the list and writes each change of it at once; without a file it lasts as the window.

    `changed` comes after each change. `complaint` says why the file could not be read; such a file
    is put aside, never written over.
    """

    changed = Signal()

    def __init__(self) -> None:
        super().__init__()
        self.parts = Drawer()
        self.file: Path | None = None
        self.complaint = ""

    def keep_in(self, file: Path) -> None:
        """Take a file for the place of the list, and what it holds."""
        self.file = file
        self.read()

    def read(self) -> None:
        """Read the file again: another window, or a hand, may have changed it."""
        if self.file is None or not self.file.exists():
            return
        before, self.complaint = self.parts, ""
        try:
            self.parts = drawer_from_text(read_text(self.file))
        except InputError as error:
            self.complaint = f"{self.file} cannot be read: {one_line(error)}"
        if self.parts != before:
            self.changed.emit()

    def keep(self, parts: Drawer) -> None:
        """Take another list.

        Raises
        ------
        InputError
            The file cannot be written; the list stays as it was.
        """
        if self.file is not None:
            try:
                self.file.parent.mkdir(parents=True, exist_ok=True)
                if self.complaint:
                    self.file.rename(_aside(self.file))
            except OSError as error:
                raise FileError(self.file, error.strerror, "a file that can be written") from error
            write_whole(self.file, drawer_text(parts.parts).encode("utf-8"))
        self.parts, self.complaint = parts, ""
        self.changed.emit()


def _aside(file: Path) -> Path:
    """Free name beside a file that could not be read."""
    number = 1
    while (found := file.with_name(f"{file.stem}-not-read-{number}{file.suffix}")).exists():
        number += 1
    return found
