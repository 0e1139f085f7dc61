"""The strip that always stands: what the stage does, what breaks first, the smallest margin."""

from __future__ import annotations

from typing import Final

from PySide6.QtCore import Qt, QTimer, Signal
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import (
    QFrame,
    QHBoxLayout,
    QProgressBar,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from burstwise.app.session import Summary
from burstwise.app.theme import mark
from burstwise.app.widgets.restyle import set_style_property
from burstwise.app.widgets.text_label import TextLabel, set_tip
from burstwise.app.widgets.words import unbroken
from burstwise.app.worker import Progress
from burstwise.core.findings import Severity

BUSY_DELAY_MS: Final = 300
"""Work that ends sooner than this shows no sign of being busy [ms]."""


_WIDE: Final = 1200
"""Below this the statements take smaller type [px]."""
_WORK_WIDTH: Final = 190
_MARGINS: Final = 14
_BEFORE: Final = "Last good design: "


class _Cell(QWidget):
    """Caption above a figure in words."""

    def __init__(self, caption: str, parent: QWidget) -> None:
        super().__init__(parent)
        self.text = ""
        head = TextLabel(caption, self, wraps=True, role="muted")
        self.figure = TextLabel("—", self, wraps=True)
        self.figure.setAccessibleName(caption)
        self.figure.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        set_style_property(self.figure, "role", "figure")
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(0)
        layout.addWidget(head)
        layout.addWidget(self.figure, 1)
        self.figure.setAlignment(Qt.AlignmentFlag.AlignTop)
        self.figure.ensurePolished()
        self._head = head

    @property
    def needed(self) -> int:
        """Height for the words at the present width, two lines at least [px]."""
        head = self._head.heightForWidth(max(self.width(), 1))
        two_lines = 2 * self.figure.fontMetrics().lineSpacing()
        return head + max(two_lines, self.figure.heightForWidth(max(self.width(), 1)))

    def write(self, text: str) -> None:
        """Show words, also as tool tip in case they are cut off."""
        self.text = text
        self.figure.setText(unbroken(text))
        set_tip(self.figure, text)


class SummaryStrip(QFrame):
    """Three statements and, for work that takes a while, its progress with a stop button."""

    stop_asked = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        set_style_property(self, "role", "strip")
        self.now = _Cell("Now", self)
        self.first_break = _Cell("First to break as the supply rises", self)
        self.margin = _Cell("Smallest margin now", self)
        self.progress = QProgressBar(self)
        self.progress.setTextVisible(False)
        self.progress.setAccessibleName("Progress")
        self.doing = TextLabel(self, wraps=True, role="muted")
        self.stop_button = QPushButton("Stop", self)
        self.stop_button.clicked.connect(self.stop_asked)
        self._work = QWidget(self)
        self._work.setFixedWidth(_WORK_WIDTH)
        work = QVBoxLayout(self._work)
        work.setContentsMargins(0, 0, 0, 0)
        work.setSpacing(3)
        line = QHBoxLayout()
        line.addWidget(self.doing, 1)
        line.addWidget(self.stop_button)
        work.addLayout(line)
        work.addWidget(self.progress)
        layout = QHBoxLayout(self)
        layout.setContentsMargins(16, 6, 16, 6)
        layout.setSpacing(24)
        for cell, stretch in ((self.now, 5), (self.first_break, 4), (self.margin, 5)):
            layout.addWidget(cell, stretch)
        layout.addWidget(self._work)
        self._cells = (self.now, self.first_break, self.margin)
        self.setFixedHeight(self.now.needed + _MARGINS)
        self._delay = QTimer(self)
        self._delay.setSingleShot(True)
        self._delay.setInterval(BUSY_DELAY_MS)
        self._delay.timeout.connect(self._show_work)
        self._keep_room()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Take the type and the height that the width asks for."""
        super().resizeEvent(event)
        if event.size().width() == event.oldSize().width():
            return
        role = "figure" if self.width() >= _WIDE else "small figure"
        for cell in self._cells:
            set_style_property(cell.figure, "role", role)
        self._work.setFixedWidth(min(_WORK_WIDTH, self.width() // 7))
        self._fit(least=0)

    def _fit(self, *, least: int | None = None) -> None:
        """Be as high as the words need; at one width the strip grows but does not shrink."""
        layout = self.layout()
        assert layout is not None
        layout.activate()
        now = self.height() if least is None else least
        self.setFixedHeight(max(now, *(cell.needed + _MARGINS for cell in self._cells)))

    def show_summary(self, summary: Summary) -> None:
        """Show the three statements of a design that was evaluated."""
        shape = mark(summary.severity)
        stop = mark(Severity.STOP)
        told = f"{stop.glyph} {stop.word}, see findings. " if summary.stopped else ""
        self.now.write(told + summary.now)
        set_style_property(self.now.figure, "severity", stop.word if summary.stopped else "")
        severity = summary.severity
        if summary.stopped and severity is None:  # nothing beside a stop looks sound
            self.margin.write(f"{summary.first_limit}; {summary.margin}")
            set_style_property(self.margin.figure, "severity", "note")
        else:
            self.margin.write(
                f"{shape.glyph} {shape.word}: {summary.first_limit}; {summary.margin}"
            )
            set_style_property(self.margin.figure, "severity", shape.word)
        self.first_break.write(summary.first_break or "—")
        quiet = "note" if summary.stopped else ""
        set_style_property(self.first_break.figure, "severity", quiet)
        self._fit()

    def show_stale(self, reason: str) -> None:
        """The design on screen has no results; what else stands here is the last good one's."""
        stop = mark(Severity.STOP)
        self.now.write(f"{stop.glyph} {stop.word}, the design cannot be evaluated: {reason}")
        set_style_property(self.now.figure, "severity", stop.word)
        for cell in (self.first_break, self.margin):
            text = cell.text
            if text and not text.startswith(_BEFORE):
                cell.write(_BEFORE + text.removeprefix(mark(None).glyph).strip())
            set_style_property(cell.figure, "severity", "note")
        self._fit()

    def set_busy(self, busy: bool) -> None:
        """Work began or ended."""
        if busy:
            self.progress.setRange(0, 0)
            self.doing.setText("Computing")
            self._delay.start()
        else:
            self._delay.stop()
            self._keep_room()

    def show_progress(self, progress: Progress) -> None:
        """How far the work is."""
        self.progress.setRange(0, 100)
        self.progress.setValue(round(100 * progress.share))
        self.doing.setText(progress.text or "Computing")

    @property
    def shows_work(self) -> bool:
        """Whether progress and stop button are in view."""
        return self.stop_button.isVisibleTo(self)

    def _show_work(self) -> None:
        for widget in (self.doing, self.stop_button, self.progress):
            widget.show()

    def _keep_room(self) -> None:
        for widget in (self.doing, self.stop_button, self.progress):
            widget.hide()
