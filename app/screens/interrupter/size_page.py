"""Page where a wish becomes ranked sets, and one of them goes into the design."""

from __future__ import annotations

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QHBoxLayout, QLabel, QPushButton, QVBoxLayout, QWidget

from app.screens.interrupter.sets_table import SetsTable
from app.screens.interrupter.wish_form import WishForm
from app.theme import MARKS, mark
from app.widgets.restyle import set_style_property
from app.worker import Outcome, Task, Worker
from core.design.interrupter import Interrupter
from core.errors import InputError
from core.findings import Severity
from core.interrupter.sets import TimerSet, TimerSets
from core.interrupter.sizing import size_timer


class SizePage(QWidget):
    """Wish on the left, sets on the right; the search runs in a thread of its own."""

    taken = Signal(object)

    def __init__(self, start: Interrupter, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.form = WishForm(start, self)
        self.form.setFixedWidth(self.form.whole_width())
        self.table = SetsTable(self)
        self.told = QLabel(self)
        self.told.setWordWrap(True)
        self.button = QPushButton("&Take into the design", self)
        self.button.setToolTip("Return in the table, or a double click, does the same.")
        self.worker = Worker(name="sizing")
        self._asked = False
        foot = QHBoxLayout()
        foot.addWidget(self.told, 1)
        foot.addWidget(self.button)
        right = QVBoxLayout()
        right.addWidget(self.table, 1)
        right.addLayout(foot)
        layout = QHBoxLayout(self)
        layout.setContentsMargins(0, 8, 0, 0)
        layout.setSpacing(12)
        layout.addWidget(self.form)
        layout.addLayout(right, 1)
        self.form.changed.connect(self.search)
        self.table.taken.connect(self.taken)
        self.button.clicked.connect(self._take_selected)
        self.worker.finished.connect(self._show)
        self.destroyed.connect(self.worker.close)

    def search(self) -> None:
        """Look for sets of the wish as it stands."""
        self._asked = True
        try:
            wish = self.form.wish()
        except InputError as error:
            self._tell(f"{error}.", Severity.STOP)
            return

        def work(task: Task) -> TimerSets:
            del task
            return size_timer(wish)

        self.worker.submit(work)

    def first_search(self) -> None:
        """Search once when the page is first seen."""
        if not self._asked:
            self.search()

    def _show(self, outcome: Outcome) -> None:
        if outcome.error is not None:
            self._tell(f"The search failed: {outcome.error}.", Severity.STOP)
            return
        answer: TimerSets = outcome.value
        sets = answer.sets or (() if answer.nearest is None else (answer.nearest,))
        self.table.show_sets(sets, answer.wish)
        self.button.setEnabled(bool(sets))
        heaviest = answer.findings[0] if answer.findings else None
        if not answer.sets and heaviest is not None:
            self._tell(heaviest.text, heaviest.severity)
            return
        best = f"{len(sets)} sets, the best first; searched in {1e3 * outcome.seconds:.0f} ms."
        more = f" {mark(heaviest.severity).glyph} {heaviest.text}" if heaviest else ""
        self._tell(best + more, None)

    def _tell(self, text: str, severity: Severity | None) -> None:
        glyph = f"{MARKS[severity].glyph} " if severity is not None else ""
        self.told.setText(glyph + text)
        set_style_property(self.told, "severity", mark(severity).word if severity else "note")

    def _take_selected(self) -> None:
        chosen: TimerSet | None = self.table.selected
        if chosen is not None:
            self.taken.emit(chosen)
