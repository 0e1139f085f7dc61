"""Splitters that stand where the user left them, also after the next start."""

from __future__ import annotations

from typing import Final

from PySide6.QtCore import QByteArray, QSettings
from PySide6.QtWidgets import QSplitter, QWidget

from burstwise.app.stored import stored

_KEY: Final = "splits"


def keep_splits(root: QWidget, settings: QSettings) -> None:
    """Put the named splitters within a widget where they were left, and note moves.

    Parameters
    ----------
    root : QWidget
        Holder of the splitters; one without an object name is left alone.
    settings : QSettings
        Where the places are kept.
    """
    for splitter in root.findChildren(QSplitter):
        name = splitter.objectName()
        if name:
            _keep(splitter, f"{_KEY}/{name}", settings)


def _keep(splitter: QSplitter, key: str, settings: QSettings) -> None:
    splitter.restoreState(stored(settings, key, QByteArray()))
    splitter.splitterMoved.connect(lambda: settings.setValue(key, splitter.saveState()))
