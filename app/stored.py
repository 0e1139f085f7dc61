"""Settings as they are read back: a file that was damaged costs a setting, not the window."""

from __future__ import annotations

from typing import TypeVar

from PySide6.QtCore import QByteArray, QSettings

T = TypeVar("T", bool, int, str, QByteArray, list[str])


def stored(settings: QSettings, key: str, default: T) -> T:
    """Value of a setting, or the default where what is stored is none of its kind.

    A file of settings holds texts; a list of one text comes back as that text.

    Parameters
    ----------
    settings : QSettings
        Where to look.
    key : str
        Name of the setting.
    default : bool, int, str, QByteArray or list of str
        Says the kind, too.
    """
    value = settings.value(key)
    if isinstance(default, list):
        texts = value if isinstance(value, list) else [value]
        value = [text for text in texts if isinstance(text, str) and text]
    elif isinstance(default, bool):
        value = (
            {"true": True, "false": False}.get(value, value) if isinstance(value, str) else value
        )
    elif isinstance(default, int) and isinstance(value, str) and value.isascii():
        value = int(value) if value.isdigit() and len(value) < 10 else value
    return value if type(value) is type(default) else default
