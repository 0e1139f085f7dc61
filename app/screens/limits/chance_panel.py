"""Chance that each limit holds over random builds, and the inputs that decide it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from burstwise.app.screens.limits.panel import Panel, progress_callback
from burstwise.app.screens.limits.tables import PlainTable, margin_colour, margin_text
from burstwise.app.session import Session
from burstwise.app.theme import Theme
from burstwise.app.widgets.text_label import TextLabel
from burstwise.app.widgets.words import unbroken
from burstwise.app.worker import Task
from burstwise.core.evaluate.results import Results
from burstwise.core.studies.chance import BUILDS, Chance, chance
from burstwise.core.units import shown


class ChancePanel(Panel):
    """Table of chances with the band of the margins.

    Parameters
    ----------
    session, theme
        Document with results, and look.
    """

    def __init__(self, session: Session, theme: Theme) -> None:
        super().__init__(session, theme, name="chance")
        self.chance: Chance | None = None
        self.summary = TextLabel(" ", self, wraps=True, role="title")
        self.table = PlainTable(
            ("Rating", "Holds in", "Margin, low 5 %", "Middle", "High 5 %", "Decided by"),
            name="Chance that each rating holds",
            wide=5,
        )
        self.layout_.addWidget(self.summary)
        self.layout_.addWidget(self.table, 1)
        self.finish_layout()
        theme.changed.connect(self._write)

    def begin(self, results: Results) -> None:
        """Tell that it is on its way."""
        self.say(f"{BUILDS} random builds …")

    def work(self, results: Results, task: Task) -> object:
        """Random builds."""
        return chance(results, ask=progress_callback(task))

    def take(self, part: Any) -> None:
        """All comes at once, in `done`."""

    def done(self, value: Chance, seconds: float) -> None:
        """Show the chances."""
        self.chance = value
        self._write()
        scatter = ", ".join(
            f"{item.title.lower()} {item.deviation:g} K"
            if item.name == "ambient"
            else f"{item.title.lower()} {shown(item.deviation, '%', digits=2)}"
            for item in value.spreads
        )
        self.say(
            f"{value.builds} builds in {seconds:.1f} s; carrier figures from a surface through "
            f"engine runs, off by {shown(value.response_error, '%', digits=1)} (RMS) where it was "
            f"checked. Standard deviations assumed: {unbroken(scatter)}."
        )

    def _write(self, _changed: object = None) -> None:
        found = self.chance
        if found is None:
            return
        tokens = self.theme.tokens
        deciding = _shares(found.inputs[:3]).lower()
        start = (
            ""
            if found.starts > 0.999
            else f" {shown(found.starts, '%', digits=2)} of builds start at all."
        )
        self.summary.setText(
            f"All limits hold in {shown(found.all_hold, '%', digits=3)} of builds "
            f"(± {shown(2 * found.standard_error, '%', digits=1)}).{start} "
            + (f"The smallest margin is decided by {deciding}." if deciding else "")
        )
        self.table.show_rows(
            [
                (
                    item.title,
                    shown(item.chance, "%", digits=3),
                    margin_text(item.low),
                    margin_text(item.middle),
                    margin_text(item.high),
                    _shares(item.inputs[:2]),
                )
                for item in found.ratings
            ],
            colours=[margin_colour(item.low, tokens) for item in found.ratings],
            coloured=2,
        )


def _shares(inputs: Sequence[tuple[str, float]]) -> str:
    return unbroken(", ".join(f"{title} {shown(share, '%', digits=2)}" for title, share in inputs))
