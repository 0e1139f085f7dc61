"""Page where a wish becomes ranked sets, and one of them goes into the design."""

from __future__ import annotations

from typing import Any, Final

from PySide6.QtCore import Signal
from PySide6.QtGui import QShowEvent
from PySide6.QtWidgets import QHBoxLayout, QPushButton, QVBoxLayout, QWidget

from burstwise.app.document import Document
from burstwise.app.own_drawer import OwnDrawer
from burstwise.app.screens.interrupter.sets_table import SetsTable
from burstwise.app.screens.interrupter.wish_form import WishForm
from burstwise.app.theme import MARKS, mark
from burstwise.app.widgets.reflow import Reflow
from burstwise.app.widgets.restyle import set_style_property
from burstwise.app.widgets.text_label import TextLabel
from burstwise.app.worker import Outcome, Task, Worker
from burstwise.core.design.timer_wish import TimerWish
from burstwise.core.drawer import Drawer
from burstwise.core.findings import Severity
from burstwise.core.interrupter.from_drawer import cost_of, from_drawer
from burstwise.core.interrupter.sets import TimerSet, TimerSets
from burstwise.core.interrupter.sizing import size_timer

_FOUND_WIDTH: Final = 520
_FOUND_HEIGHT: Final = 260
COUNT: Final = 12
"""Most sets that are asked for."""


class SizePage(QWidget):
    """Wish on the left, sets on the right; the search runs in a thread of its own."""

    chosen = Signal(object)

    def __init__(
        self, document: Document[Any], drawer: OwnDrawer, parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self.form = WishForm(document, drawer, self)
        self.table = SetsTable(self)
        self.status = TextLabel(self, wraps=True)
        self.button = QPushButton("&Take into the design", self)
        self.button.setToolTip("Return in the table, or a double click, does the same.")
        self.worker = Worker(self, name="sizing")
        self._asked: tuple[TimerWish, Drawer | None] | None = None
        self._answer: tuple[str, Severity | None] = ("", None)
        foot = QHBoxLayout()
        foot.addWidget(self.status, 1)
        foot.addWidget(self.button)
        found = QWidget(self)
        found.setMinimumSize(_FOUND_WIDTH, _FOUND_HEIGHT)
        right = QVBoxLayout(found)
        right.setContentsMargins(0, 0, 0, 0)
        right.addWidget(self.table, 1)
        right.addLayout(foot)
        both = self._both = Reflow(parent=self)
        both.add(self.form, 0, width=self.form.whole_width())
        both.add(found)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 8, 0, 0)
        layout.addWidget(both)
        self.form.changed.connect(self.search_when_visible)
        self.form.refused.connect(self._complain)
        self.table.chosen.connect(self.chosen)
        self.button.clicked.connect(self._take_selected)
        self.worker.finished.connect(self._show)

    def showEvent(self, event: QShowEvent) -> None:
        """Measure the form as the window's look has it."""
        super().showEvent(event)
        self._both.set_width(self.form, self.form.whole_width())

    def search(self) -> None:
        """Look for sets of the wish as it stands."""
        wish, drawer = self._asked = self._wanted

        def work(task: Task) -> TimerSets:
            del task
            stock = None if drawer is None else from_drawer(wish, drawer)
            return size_timer(wish, stock, count=COUNT)

        self.worker.submit(work)

    def search_when_visible(self) -> None:
        """Search for a wish that has not been searched for, once the page is seen."""
        if self.isVisible() and self._asked != self._wanted:
            self.search()

    @property
    def _wanted(self) -> tuple[TimerWish, Drawer | None]:
        """Wish, and the drawer where nothing else is in stock."""
        return self.form.wish, self.form.from_drawer.parts

    def _show(self, outcome: Outcome) -> None:
        if outcome.error is not None:
            self._tell(outcome.complaint(), Severity.STOP)
            return
        answer: TimerSets = outcome.value
        sets = answer.sets or (() if answer.nearest is None else (answer.nearest,))
        drawer = None if self._asked is None else self._asked[1]
        costs = [None if drawer is None else cost_of(one, drawer) for one in sets]
        self.table.show_sets(sets, answer.wish, costs)
        self.button.setEnabled(bool(sets))
        heaviest = answer.findings[0] if answer.findings else None
        if not answer.sets and heaviest is not None:
            self._tell(heaviest.text, heaviest.severity)
            return
        best = f"{len(sets)} sets, the best first; searched in {1e3 * outcome.seconds:.0f} ms."
        more = f" {mark(heaviest.severity).glyph} {heaviest.text}" if heaviest else ""
        self._tell(best + more, None)

    def _complain(self, reason: str) -> None:
        """Say why an edit was not taken, or what the last search found once one is."""
        if reason:
            self._write(reason, Severity.STOP)
        else:
            self._write(*self._answer)

    def _tell(self, text: str, severity: Severity | None) -> None:
        self._answer = (text, severity)
        self._write(text, severity)

    def _write(self, text: str, severity: Severity | None) -> None:
        glyph = f"{MARKS[severity].glyph} " if severity is not None else ""
        self.status.setText(glyph + text)
        set_style_property(self.status, "severity", mark(severity).word if severity else "note")

    def _take_selected(self) -> None:
        chosen: TimerSet | None = self.table.selected
        if chosen is not None:
            self.chosen.emit(chosen)
