"""A button that starts long work, its progress, and a button that stops it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QHBoxLayout, QProgressBar, QPushButton, QVBoxLayout, QWidget

from burstwise.app.refusals import refusal
from burstwise.app.theme import MARKS
from burstwise.app.widgets.restyle import hide_at_rest, set_style_property
from burstwise.app.widgets.text_label import TextLabel
from burstwise.app.worker import BusyPolicy, Outcome, Progress, Task, Worker
from burstwise.core.errors import InputError
from burstwise.core.findings import Severity


class LongWork(QWidget):
    """Runs one piece of work at a time off the GUI thread; `done` carries its value.

    Parameters
    ----------
    words : str
        On the start button.
    name : str
        Name of the thread.
    beside : sequence of widgets
        More buttons in the row.
    stacked : bool
        Progress and message below the buttons, the message in plain text, not beside and muted.
    refusal : callable
        Words for input that the work cannot take.
    stopped : str
        Words after a stop.
    """

    asked = Signal()
    done = Signal(object)

    def __init__(
        self,
        words: str,
        *,
        name: str,
        beside: Sequence[QWidget] = (),
        stacked: bool = False,
        refusal: Callable[[InputError], str] = refusal,
        stopped: str = "Stopped.",
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self._plain = "" if stacked else "muted"
        self._refusal, self._stopped = refusal, stopped
        self.start = QPushButton(words, self)
        self.stop = QPushButton("Stop", self)
        self.bar = QProgressBar(self)
        self.bar.setRange(0, 1000)
        self.bar.setTextVisible(False)
        self.bar.setAccessibleName(f"Progress: {words}")
        self.message = TextLabel(self, wraps=True)
        self.worker = worker = Worker(self, when_busy=BusyPolicy.CANCEL, name=name)
        worker.finished.connect(self._take)
        worker.progressed.connect(self._tell)
        worker.busy_changed.connect(self._busy)
        self.start.clicked.connect(self.asked)
        self.stop.clicked.connect(self._give_up)
        buttons = QHBoxLayout()
        for button in (self.start, self.stop, *beside):
            buttons.addWidget(button)
        if stacked:
            buttons.addStretch(1)
            layout = QVBoxLayout(self)
            layout.addLayout(buttons)
            layout.addWidget(self.bar)
            layout.addWidget(self.message)
            hide_at_rest(self.bar)
        else:
            self.setLayout(buttons)
            buttons.addWidget(self.bar)
            buttons.addWidget(self.message, 1)
            self.bar.setFixedWidth(120)
        whole = self.layout()
        assert whole is not None
        whole.setContentsMargins(0, 0, 0, 0)
        self._busy(False)

    def submit(self, work: Callable[[Task], Any]) -> None:
        """Start work; what runs is told to stop."""
        self.say("")
        self.worker.submit(work)

    def say(self, text: str, *, bad: bool = False) -> None:
        """Message beside the buttons; a bad one is marked."""
        set_style_property(self.message, "role", "error" if bad else self._plain)
        self.message.setText(f"{MARKS[Severity.STOP].glyph} {text}" if bad else text)

    def _take(self, outcome: Outcome) -> None:
        if outcome.error is None:
            self.done.emit(outcome.value)
        elif isinstance(outcome.error, InputError):
            self.say(self._refusal(outcome.error), bad=True)
        else:
            self.say(outcome.complaint(), bad=True)

    def _tell(self, progress: Progress) -> None:
        self.bar.setValue(round(1000 * progress.share))

    def _busy(self, busy: bool) -> None:
        for widget in (self.stop, self.bar):
            widget.setVisible(busy)
        if busy:
            self.bar.setValue(0)

    def _give_up(self) -> None:
        self.worker.stop()
        self.say(self._stopped)
