"""A button that starts long work, its progress, and a button that stops it."""

from __future__ import annotations

import logging
from collections.abc import Callable
from typing import Any

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QHBoxLayout, QLabel, QProgressBar, QPushButton, QWidget

from app.theme import MARKS
from app.widgets.restyle import set_style_property
from app.worker import Outcome, Overtake, Progress, Task, Worker
from core.errors import InputError
from core.findings import Severity

_log = logging.getLogger(__name__)


class LongWork(QWidget):
    """Runs one piece of work at a time off the GUI thread; `done` carries its value.

    Parameters
    ----------
    words : str
        On the start button.
    name : str
        Name of the thread.
    """

    asked = Signal()
    done = Signal(object)

    def __init__(self, words: str, *, name: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.start = QPushButton(words, self)
        self.stop = QPushButton("Stop", self)
        self.bar = QProgressBar(self)
        self.bar.setRange(0, 1000)
        self.bar.setTextVisible(False)
        self.bar.setAccessibleName(f"Progress: {words}")
        self.message = QLabel(self)
        self.message.setWordWrap(True)
        worker = Worker(overtake=Overtake.CANCEL, name=name)
        self.worker = worker
        self.destroyed.connect(lambda: worker.close())
        worker.finished.connect(self._take)
        worker.progressed.connect(self._tell)
        worker.busy_changed.connect(self._busy)
        self.start.clicked.connect(self.asked)
        self.stop.clicked.connect(self._give_up)
        layout = QHBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.addWidget(self.start)
        layout.addWidget(self.stop)
        layout.addWidget(self.bar)
        layout.addWidget(self.message, 1)
        self.bar.setFixedWidth(120)
        self._busy(False)

    def submit(self, work: Callable[[Task], Any]) -> None:
        """Start work; what runs is told to stop."""
        self.say("")
        self.worker.submit(work)

    def say(self, text: str, *, bad: bool = False) -> None:
        """Message beside the buttons; a bad one is marked."""
        set_style_property(self.message, "role", "error" if bad else "muted")
        self.message.setText(f"{MARKS[Severity.STOP].glyph} {text}" if bad else text)

    def _take(self, outcome: Outcome) -> None:
        if outcome.error is None:
            self.done.emit(outcome.value)
        elif isinstance(outcome.error, InputError):
            self.say(str(outcome.error), bad=True)
        else:
            _log.error("bench work failed", exc_info=outcome.error)
            self.say(f"It failed ({outcome.error!r}); the log file holds the details.", bad=True)

    def _tell(self, progress: Progress) -> None:
        self.bar.setValue(round(1000 * progress.share))

    def _busy(self, busy: bool) -> None:
        for widget in (self.stop, self.bar):
            widget.setVisible(busy)
        if busy:
            self.bar.setValue(0)

    def _give_up(self) -> None:
        self.worker.stop()
        self.say("Stopped.")
