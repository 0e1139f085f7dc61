"""Undo by key reaches the design while a line has the focus but nothing is being typed in it."""

from __future__ import annotations

from PySide6.QtCore import QEvent, QObject
from PySide6.QtGui import QKeyEvent, QKeySequence
from PySide6.QtWidgets import QLineEdit

_STANDARD = (QKeySequence.StandardKey.Undo, QKeySequence.StandardKey.Redo)


class UndoKeys(QObject):
    """Filter on a line: its own undo serves only the text that is not yet taken.

    A line keeps the keys of undo and redo for itself even when it has nothing to undo, so that
    after an entry they would do nothing.

    Parameters
    ----------
    line : QLineEdit
        Line whose text is taken on Return or on leaving it.
    """

    def __init__(self, line: QLineEdit) -> None:
        super().__init__(line)
        self._line = line
        line.installEventFilter(self)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Leave the keys to the window."""
        if (
            event.type() == QEvent.Type.ShortcutOverride
            and isinstance(event, QKeyEvent)
            and any(event.matches(key) for key in _STANDARD)
            and not self._line.isModified()
        ):
            event.ignore()
            return True
        return super().eventFilter(watched, event)
