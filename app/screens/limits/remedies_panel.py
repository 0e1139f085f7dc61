"""Computed remedies for the first limit, applied with one click."""

from __future__ import annotations

from typing import Any

from PySide6.QtWidgets import QPushButton

from burstwise.app.drawer_dialog import show_drawer
from burstwise.app.refusals import refusal
from burstwise.app.screens.limits.panel import Panel, asker
from burstwise.app.screens.limits.tables import PlainTable, margin_colour, margin_text
from burstwise.app.session import Session
from burstwise.app.theme import Theme
from burstwise.app.widgets.drawer_choice import DrawerChoice
from burstwise.app.widgets.text_label import TextLabel
from burstwise.app.worker import Task
from burstwise.core.errors import InputError
from burstwise.core.evaluate.results import Results
from burstwise.core.limits.device_classes import devices_by_name
from burstwise.core.studies.remedies import Remedy, ranked, remedies
from burstwise.core.units import shown


class RemediesPanel(Panel):
    """Ranked remedies; Return, a double click or the button applies one as one undo step.

    Parameters
    ----------
    session, theme
        Document with results, and look.
    """

    def __init__(self, session: Session, theme: Theme) -> None:
        super().__init__(session, theme, name="remedies")
        self.found: list[Remedy] = []
        self.summary = TextLabel(" ", self, wraps=True, role="title")
        self.table = PlainTable(
            ("What to do", "Its margin", "Smallest", "That is", "Top voltage", "Power"),
            name="Remedies, best first",
            wide=0,
        )
        self.table.itemActivated.connect(lambda _item: self.apply())
        self.button = QPushButton("&Apply the chosen remedy", self)
        self.button.setEnabled(False)
        self.button.clicked.connect(self.apply)
        self.drawer = DrawerChoice(
            "Parts from the &drawer", session.drawer, show_drawer, parent=self
        )
        self.drawer.changed.connect(self._again)
        self.layout_.addWidget(self.summary)
        self.layout_.addWidget(self.drawer)
        self.layout_.addWidget(self.table, 1)
        self.foot.insertWidget(0, self.button)
        self.finish_layout()
        self.table.currentCellChanged.connect(
            lambda row, *_: self.button.setEnabled(0 <= row < len(self.found))
        )
        theme.changed.connect(self._write)

    def begin(self, results: Results) -> None:
        """Empty the list; name the limit in question."""
        self.found = []
        first = results.first_limit
        self.summary.setText(f"{first.text} Margin {margin_text(first.margin)}.")
        self.say("Trying remedies, each with an evaluation of its own …")
        self._write()

    def _again(self) -> None:
        """Compute anew with other parts, now or when next seen."""
        self._stale = True
        if self.isVisible():
            self.start()

    def work(self, results: Results, task: Task) -> object:
        """One remedy after the other."""
        drawer = self.drawer.parts
        for found in remedies(results, classes=devices_by_name(), drawer=drawer, ask=asker(task)):
            task.deliver(found)
        return None

    def take(self, part: Remedy) -> None:
        """Put one remedy in its place."""
        self.found = ranked([*self.found, part])
        self._write()

    def done(self, value: Any, seconds: float) -> None:
        """Tell that all have been tried."""
        if not self.found:
            self.say("None of the remedies tried raises this margin.")
            return
        self.say(
            f"{len(self.found)} remedies computed in {seconds:.0f} s; ranked by the smallest "
            "margin they leave, then by what they take from the top voltage. Undo takes one back."
        )

    def apply(self) -> None:
        """Apply the chosen remedy."""
        row = self.table.currentRow()
        if not 0 <= row < len(self.found):
            return
        chosen = self.found[row]
        try:
            self.session.document.edit_many(chosen.edits, text=chosen.text)
        except InputError as error:
            self.say(refusal(error))

    def _write(self, _changed: object = None) -> None:
        tokens = self.theme.tokens
        self.table.show_rows(
            [
                (
                    item.text,
                    margin_text(item.margin),
                    margin_text(item.smallest_margin),
                    item.first_title,
                    _change(item.top_voltage_change),
                    _change(item.power_change),
                )
                for item in self.found
            ],
            colours=[margin_colour(item.smallest_margin, tokens) for item in self.found],
            coloured=2,
        )


def _change(value: float) -> str:
    return f"{'+' if value >= 0 else '−'}{shown(abs(value), '%', digits=2)}"
