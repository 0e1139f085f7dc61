"""Computed remedies for the first limit, applied with one click."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from burstwise.app.drawer_dialog import show_drawer
from burstwise.app.screens.limits.choice_panel import ChoicePanel
from burstwise.app.screens.limits.panel import progress_callback
from burstwise.app.screens.limits.tables import PlainTable, margin_colour, margin_text
from burstwise.app.session import Session
from burstwise.app.theme import Theme
from burstwise.app.widgets.drawer_choice import DrawerChoice
from burstwise.app.widgets.text_label import TextLabel
from burstwise.app.worker import Task
from burstwise.core.evaluate.results import Results
from burstwise.core.limits.device_classes import devices_by_name
from burstwise.core.studies.remedies import Remedy, ranked, remedies
from burstwise.core.units import shown


class RemediesPanel(ChoicePanel):
    """Ranked remedies for the first limit.

    Parameters
    ----------
    session, theme
        Document with results, and look.
    """

    found: list[Remedy]

    def __init__(self, session: Session, theme: Theme) -> None:
        table = PlainTable(
            ("What to do", "Its margin", "Smallest", "That is", "Top voltage", "Power"),
            name="Remedies, best first",
            wide=0,
        )
        button = "&Apply the chosen remedy"
        super().__init__(session, theme, name="remedies", table=table, button=button)
        self.summary = TextLabel(" ", self, wraps=True, role="title")
        self.drawer = DrawerChoice(
            "Parts from the &drawer", session.drawer, show_drawer, parent=self
        )
        self.drawer.changed.connect(self._again)
        self.layout_.addWidget(self.summary)
        self.layout_.addWidget(self.drawer)
        self.layout_.addWidget(self.table, 1)
        self.foot.insertWidget(0, self.button)
        self.finish_layout()

    def step_of(self, offer: Remedy) -> tuple[Mapping[str, object], str]:
        """Apply a remedy."""
        return offer.edits, offer.text

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
        for found in remedies(
            results, classes=devices_by_name(), drawer=drawer, ask=progress_callback(task)
        ):
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
        self._choose()


def _change(value: float) -> str:
    return f"{'+' if value >= 0 else '−'}{shown(abs(value), '%', digits=2)}"
