"""Where to save what a screen shows, asked in the platform's own dialog."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from PySide6.QtWidgets import QWidget

from burstwise.app.file_dialogs import ask_save, tell_saved
from burstwise.app.messages import warn
from burstwise.core.errors import InputError

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
        tell_saved(parent, file)
