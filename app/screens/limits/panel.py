"""Panel that computes in the background while it is in view, and shows what it has so far."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Final

from PySide6.QtGui import QHideEvent, QShowEvent
from PySide6.QtWidgets import QHBoxLayout, QProgressBar, QPushButton, QVBoxLayout, QWidget

from burstwise.app.session import Evaluated, Session
from burstwise.app.theme import Theme
from burstwise.app.widgets.text_label import TextLabel
from burstwise.app.worker import BusyPolicy, Outcome, Progress, Task, Worker
from burstwise.core.evaluate.results import Results

_OLDER: Final = " What is shown belongs to an earlier design."


class Panel(QWidget):
    """Base of the panels: one computation per state of the design, begun when in view.

    A subclass gives `begin` (forget what is shown), `work` (in the worker's thread, delivering
    parts as they come) and `take` (show one part).

    Parameters
    ----------
    session, theme
        Document with results, and look.
    name : str
        Name of the worker's thread.
    """

    def __init__(self, session: Session, theme: Theme, *, name: str) -> None:
        super().__init__()
        self.session, self.theme = session, theme
        self.results: Results | None = None
        self._stale = True
        self._shows = False
        self.worker = Worker(self, when_busy=BusyPolicy.CANCEL, name=name)
        self.worker.finished.connect(self._finished)
        self.worker.progressed.connect(self._progressed)
        self.worker.busy_changed.connect(self._busy)
        self.worker.part.connect(self.take)
        self.layout_ = QVBoxLayout(self)
        self.layout_.setContentsMargins(0, 8, 0, 0)
        self.status = TextLabel(self, wraps=True, role="muted")
        self.bar = QProgressBar(self)
        self.bar.setTextVisible(False)
        self.bar.setFixedWidth(120)
        self.stop_button = QPushButton("Stop", self)
        self.stop_button.clicked.connect(self._stop)
        self.foot = QHBoxLayout()
        self.foot.addWidget(self.status, 1)
        self.foot.addWidget(self.bar)
        self.foot.addWidget(self.stop_button)
        self._busy(False)
        session.evaluated.connect(self.follow)
        if session.latest is not None:
            self.follow(session.latest)

    def finish_layout(self) -> None:
        """Put the status line below what the subclass has laid out."""
        self.layout_.addLayout(self.foot)

    def follow(self, evaluated: Evaluated) -> None:
        """Take new results; compute now if in view, else when next shown."""
        if not isinstance(evaluated.results, Results):
            return
        self.results = evaluated.results
        self._stale = True
        if self.isVisible():
            self.start()

    def start(self) -> None:
        """Compute for the present results."""
        results = self.results
        if results is None:
            self.say("Waiting for the first evaluation.")
            return
        self._stale = False
        self.begin(results)
        self.worker.submit(lambda task: self.work(results, task))

    def say(self, text: str) -> None:
        """Write the status line."""
        self.status.setText(text)

    def begin(self, results: Results) -> None:
        """Forget what is shown."""

    def work(self, results: Results, task: Task) -> object:
        """Compute; runs in the worker's thread."""
        raise NotImplementedError

    def take(self, part: Any) -> None:
        """Show one part."""
        raise NotImplementedError

    def done(self, value: Any, seconds: float) -> None:
        """Show that all is there."""

    def showEvent(self, event: QShowEvent) -> None:
        """Compute what was put off."""
        super().showEvent(event)
        if self._stale:
            self.start()

    def hideEvent(self, event: QHideEvent) -> None:
        """Leave the processor to the panel in view."""
        super().hideEvent(event)
        if self.worker.busy:
            self.worker.stop()
            self._stale = True

    def _finished(self, outcome: Outcome) -> None:
        if outcome.error is None:
            self._shows = True
            self.done(outcome.value, outcome.seconds)
        else:
            self.say(f"{outcome.complaint()}.{_OLDER if self._shows else ''}")

    def _progressed(self, progress: Progress) -> None:
        if progress.share > 0.0:
            self.bar.setRange(0, 100)
        self.bar.setValue(round(100 * progress.share))

    def _busy(self, busy: bool) -> None:
        self.bar.setVisible(busy)
        self.stop_button.setVisible(busy)
        if busy:
            self.bar.setRange(0, 0)  # moves by itself until a share is known

    def _stop(self) -> None:
        self.worker.stop()
        self.say("Stopped.")


def progress_callback(task: Task) -> Callable[[float], bool]:
    """Callback for the core: tells the share done and answers whether to go on."""

    def ask(share: float) -> bool:
        if task.cancelled:
            return False
        task.progress(share)
        return True

    return ask
