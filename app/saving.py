"""Where to save what a screen shows, asked in the platform's own dialog; sheets written."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from PySide6.QtWidgets import QWidget

from burstwise.app.file_dialogs import ask_save, show_saved
from burstwise.app.messages import warn
from burstwise.core.disk import write_whole
from burstwise.core.errors import FileError, InputError
from burstwise.core.report.command import html_bytes
from burstwise.core.report.sheet import Sheet

Saver = Callable[[Path], None]


def ask_and_save(parent: QWidget, title: str, kinds: str, name: str, save: Saver) -> None:
    """Ask for a file and save there; an error is shown, not raised."""
    asked = ask_save(parent, title, kinds, name)
    if asked is None:
        return
    file, kind = asked
    if not file.suffix:
        file = file.with_suffix(kind[kind.index("*.") + 1 : kind.rindex(")")])
    try:
        save(file)
    except InputError as error:
        warn(parent, "Not saved", str(error))
    else:
        show_saved(parent, file)


def write_sheet(sheet: Sheet, file: Path) -> None:
    """Write a sheet as PDF or HTML.

    Raises
    ------
    FileError
        Another suffix, or the file cannot be written.
    """
    if file.suffix.lower() == ".html":
        write_whole(file, html_bytes(sheet))
    elif file.suffix.lower() == ".pdf":
        from burstwise.app.sheet import pdf_bytes

        write_whole(file, pdf_bytes(sheet))
    else:
        raise FileError(file, file.suffix or "no suffix", "a file ending in .pdf or .html")
