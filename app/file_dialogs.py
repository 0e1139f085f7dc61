"""Dialogs for files: they begin in the folder used last, and a save is told of in the window."""

from __future__ import annotations

from pathlib import Path
from typing import Final

from PySide6.QtCore import QCoreApplication
from PySide6.QtWidgets import QFileDialog, QWidget

from burstwise.app.widgets.notice import tell

_FOLDER: Final = "last_folder"
"""Property of the application that holds the folder; the window keeps it in its settings."""


def last_folder() -> str:
    """Folder of the file opened or saved last; the user's own where it is gone or not known."""
    application = QCoreApplication.instance()
    known = None if application is None else application.property(_FOLDER)
    usable = isinstance(known, str) and known and Path(known).is_dir()
    return str(known) if usable else str(Path.home())


def set_last_folder(folder: str) -> None:
    """Begin the next dialog there."""
    application = QCoreApplication.instance()
    if application is not None:
        application.setProperty(_FOLDER, folder)


def ask_open(parent: QWidget, title: str, kinds: str) -> Path | None:
    """Ask for a file to read; None where the dialog is left."""
    name, _ = QFileDialog.getOpenFileName(parent, title, last_folder(), kinds)
    return _remembered(name)


def ask_save(parent: QWidget, title: str, kinds: str, name: str = "") -> tuple[Path, str] | None:
    """Ask for a file to write: its path and the kind chosen; None where the dialog is left."""
    start = str(Path(last_folder()) / name) if name else last_folder()
    chosen, kind = QFileDialog.getSaveFileName(parent, title, start, kinds)
    file = _remembered(chosen)
    return None if file is None else (file, kind)


def ask_folder(parent: QWidget, title: str) -> Path | None:
    """Ask for a folder; None where the dialog is left."""
    name = QFileDialog.getExistingDirectory(parent, title, last_folder())
    if name:
        set_last_folder(name)
    return Path(name) if name else None


def show_saved(parent: QWidget, file: Path) -> None:
    """Say in the window where a file went."""
    tell(parent, f"Saved: {file.absolute()}")


def _remembered(name: str) -> Path | None:
    if not name:
        return None
    set_last_folder(str(Path(name).absolute().parent))
    return Path(name)
