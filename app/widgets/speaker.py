"""What a screen reader is told when the state of the design changes, and not more often."""

from __future__ import annotations

from typing import Final

from PySide6.QtCore import QObject, QTimer
from PySide6.QtWidgets import QWidget

from burstwise.app.session import Summary
from burstwise.app.theme import mark
from burstwise.app.widgets.announce import announce
from burstwise.app.widgets.words import plain

QUIET_MS: Final = 1500
"""Shortest time between two announcements [ms]."""


class Speaker(QObject):
    """Announces first limit, smallest margin and findings when they have changed.

    Of changes in quick succession, as a drag makes, the last is told.

    Parameters
    ----------
    widget : QWidget
        Widget in whose name it speaks.
    """

    def __init__(self, widget: QWidget) -> None:
        super().__init__(widget)
        self._widget = widget
        self._known: tuple[str, ...] = ()
        self._waiting: tuple[str, ...] | None = None
        self._pause = QTimer(self)
        self._pause.setSingleShot(True)
        self._pause.setInterval(QUIET_MS)
        self._pause.timeout.connect(self._end_pause)

    def follow(self, summary: Summary) -> None:
        """Take the summary of full results."""
        self._waiting = _statements(summary)
        if not self._pause.isActive():
            self._tell()

    def _end_pause(self) -> None:
        if self._waiting is not None:
            self._tell()

    def _tell(self) -> None:
        told, self._waiting = self._waiting, None
        if told is None or told == self._known:
            return
        fresh = [text for text in told if text not in self._known]
        gone = [text for text in self._known if text not in told and text.startswith(_FINDING)]
        self._known = told
        words = [*fresh, *(f"No longer: {text.removeprefix(_FINDING)}" for text in gone)]
        if words:
            announce(self._widget, ". ".join(plain(text) for text in words))
            self._pause.start()


_FINDING: Final = "Finding, "


def _statements(summary: Summary) -> tuple[str, ...]:
    """What is worth telling, one text each."""
    margin = f"{mark(summary.severity).word}: {summary.first_limit}; {summary.margin}"
    first = f"First to break: {summary.first_break}" if summary.first_break else ""
    findings = (
        f"{_FINDING}{mark(found.severity).word}: {found.text}" for found in summary.findings
    )
    return tuple(text for text in (margin, first, *findings) if text)
