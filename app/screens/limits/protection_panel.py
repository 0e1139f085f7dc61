"""Protection sized from the stage's waveforms, with what the engine says of each."""

from __future__ import annotations

from typing import Any

from PySide6.QtWidgets import QPushButton

from burstwise.app.refusals import refusal
from burstwise.app.screens.limits.panel import Panel, asker
from burstwise.app.screens.limits.tables import PlainTable
from burstwise.app.session import Session
from burstwise.app.theme import Theme, mark
from burstwise.app.widgets.text_label import TextLabel
from burstwise.app.widgets.words import unbroken
from burstwise.app.worker import Task
from burstwise.core.errors import InputError
from burstwise.core.evaluate.results import Results
from burstwise.core.findings import Severity
from burstwise.core.studies.protection import Proposal, proposals
from burstwise.core.units import shown


class ProtectionPanel(Panel):
    """Proposals in a table; Return, a double click or the button fits one.

    Parameters
    ----------
    session, theme
        Document with results, and look.
    """

    def __init__(self, session: Session, theme: Theme) -> None:
        super().__init__(session, theme, name="protection")
        self.found: list[Proposal] = []
        self.sentence = TextLabel(" ", self, wraps=True, role="title")
        self.table = PlainTable(
            ("Protection", "Peak", "Worst case", "Allowed", "Heat", "Worst heat"),
            name="Protection proposals",
            wide=0,
        )
        self.table.itemActivated.connect(lambda _item: self.apply())
        self.table.currentCellChanged.connect(lambda *_: self._tell())
        self.button = QPushButton("Fi&t the chosen protection", self)
        self.button.clicked.connect(self.apply)
        self.button.setEnabled(False)
        self.layout_.addWidget(self.table, 1)
        self.layout_.addWidget(self.sentence)
        self.foot.insertWidget(0, self.button)
        self.finish_layout()
        theme.changed.connect(self._write)

    def begin(self, results: Results) -> None:
        """Empty the list."""
        self.found = []
        self.say("Sizing, with engine runs at the corners of the tolerances …")
        self._write()

    def work(self, results: Results, task: Task) -> object:
        """One proposal after the other."""
        for found in proposals(results, ask=asker(task)):
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

    def apply(self) -> None:
        """Fit the chosen protection."""
        row = self.table.currentRow()
        if not 0 <= row < len(self.found) or not self.found[row].edits:
            return
        try:
            self.session.document.edit_many(self.found[row].edits, text=self.found[row].title)
        except InputError as error:
            self.say(refusal(error))

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
        self._tell()

    def _tell(self) -> None:
        row = self.table.currentRow()
        if not 0 <= row < len(self.found):
            self.sentence.setText(" ")
            self.button.setEnabled(False)
            return
        item = self.found[row]
        self.button.setEnabled(bool(item.edits))
        word = "stays below" if item.holds else "exceeds"
        notes = " ".join(finding.text for finding in item.findings)
        self.sentence.setText(
            f"The {item.quantity} {word} {shown(item.limit, item.unit, digits=3)} at the worst "
            f"corner ({shown(item.worst_peak, item.unit, digits=3)}). {notes}"
        )
