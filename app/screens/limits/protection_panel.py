"""Protection sized from the stage's waveforms, with what the engine says of each."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from burstwise.app.screens.limits.choice_panel import ChoicePanel
from burstwise.app.screens.limits.panel import progress_callback
from burstwise.app.screens.limits.tables import PlainTable
from burstwise.app.session import Session
from burstwise.app.theme import Theme, mark
from burstwise.app.widgets.text_label import TextLabel
from burstwise.app.widgets.words import unbroken
from burstwise.app.worker import Task
from burstwise.core.evaluate.results import Results
from burstwise.core.findings import Severity
from burstwise.core.studies.protection import Proposal, proposals
from burstwise.core.units import shown


class ProtectionPanel(ChoicePanel):
    """Proposals in a table, with a sentence on the chosen one.

    Parameters
    ----------
    session, theme
        Document with results, and look.
    """

    found: list[Proposal]

    def __init__(self, session: Session, theme: Theme) -> None:
        table = PlainTable(
            ("Protection", "Peak", "Worst case", "Allowed", "Heat", "Worst heat"),
            name="Protection proposals",
            wide=0,
        )
        button = "Fi&t the chosen protection"
        super().__init__(session, theme, name="protection", table=table, button=button)
        self.sentence = TextLabel(" ", self, wraps=True, role="title")
        self.layout_.addWidget(self.table, 1)
        self.layout_.addWidget(self.sentence)
        self.foot.insertWidget(0, self.button)
        self.finish_layout()

    def step_of(self, offer: Proposal) -> tuple[Mapping[str, object], str]:
        """Fit a protection."""
        return offer.edits, offer.title

    def begin(self, results: Results) -> None:
        """Empty the list."""
        self.found = []
        self.say("Sizing, with engine runs at the corners of the tolerances …")
        self._write()

    def work(self, results: Results, task: Task) -> object:
        """One proposal after the other."""
        for found in proposals(results, ask=progress_callback(task)):
            task.deliver(found)
        return None

    def take(self, part: Proposal) -> None:
        """Add one proposal."""
        self.found.append(part)
        self._write()

    def done(self, value: Any, seconds: float) -> None:
        """Tell what the worst case is."""
        self.say(
            "Worst case: parts and coupling 5 % off, capacitors 10 %, supply 5 % up, from engine "
            "runs. A clamp needs a short, wide way from drain to source; a lead of 20 mm adds "
            "20 nH that it does not catch."
        )

    def _write(self, _changed: object = None) -> None:
        tokens = self.theme.tokens
        severities = [None if item.holds else Severity.STOP for item in self.found]
        self.table.show_rows(
            [
                (
                    unbroken(f"{item.title}: " + ", ".join(part.text for part in item.parts)),
                    shown(item.peak, item.unit, digits=3),
                    f"{mark(severity).glyph} {shown(item.worst_peak, item.unit, digits=3)}",
                    shown(item.limit, item.unit, digits=3),
                    shown(item.heat, "W", digits=2),
                    shown(item.worst_heat, "W", digits=2),
                )
                for item, severity in zip(self.found, severities, strict=True)
            ],
            colours=[tokens.severity(severity) for severity in severities],
            coloured=2,
        )
        self._choose()

    def _choose(self) -> None:
        super()._choose()
        item = self.chosen
        if item is None:
            self.sentence.setText(" ")
            return
        word = "stays below" if item.holds else "exceeds"
        notes = " ".join(finding.text for finding in item.findings)
        self.sentence.setText(
            f"The {item.quantity} {word} {shown(item.limit, item.unit, digits=3)} at the worst "
            f"corner ({shown(item.worst_peak, item.unit, digits=3)}). {notes}"
        )
