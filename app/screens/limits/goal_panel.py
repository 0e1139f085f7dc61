"""Backwards: a wish in, the best designs out, applied as one step."""

from __future__ import annotations

import threading
from typing import Final

from PySide6.QtGui import QHideEvent, QShowEvent
from PySide6.QtWidgets import QComboBox, QHBoxLayout, QPushButton, QVBoxLayout, QWidget

from app.refusals import refusal, title_of
from app.screens.limits.goal_form import AIMS, GoalForm
from app.screens.limits.panel import Panel
from app.screens.limits.tables import PlainTable, margin_colour, margin_text
from app.session import Evaluated, Session
from app.theme import Theme
from app.widgets.restyle import set_style_property
from app.widgets.text_label import TextLabel
from app.worker import Task
from core.design.document import Design
from core.design.variants import variant_of
from core.errors import InputError
from core.evaluate.results import Results
from core.findings import Severity
from core.interrupter.resolve import DUTY
from core.search import Answer, Found, Free, Wish, search
from core.search.budget import Progress
from core.search.wish import in_words

_TRAVEL: Final = "interrupter.parts.travel"
TIMES: Final = (15.0, 30.0, 120.0)
"""Times that a search may be given [s]."""


class GoalPanel(Panel):
    """Form, search and what came back; nothing is computed until it is asked for.

    Parameters
    ----------
    session, theme
        Document with results, and look.
    """

    def __init__(self, session: Session, theme: Theme) -> None:
        self.form = GoalForm()
        self.answer: Answer | None = None
        self._asked: tuple[Design, Wish, tuple[Free, ...], float] | None = None
        self._halt = threading.Event()
        super().__init__(session, theme, name="goal")
        self.time = QComboBox(self)
        self.time.setAccessibleName("Time for the search")
        self.time.addItems([f"{seconds:g} s" for seconds in TIMES])
        self.time.setCurrentIndex(1)
        self.begin_button = QPushButton("Searc&h", self)
        self.begin_button.clicked.connect(self.search)
        ask = QHBoxLayout()
        ask.addWidget(TextLabel("May take", self))
        ask.addWidget(self.time)
        ask.addStretch(1)
        ask.addWidget(self.begin_button)
        left = QVBoxLayout()
        left.addWidget(self.form, 1)
        left.addLayout(ask)
        self.table = PlainTable(
            ("Change", "Reached", "Smallest margin", "That is"), name="Designs found", wide=0
        )
        self.table.itemActivated.connect(lambda _item: self.apply())
        self.table.currentCellChanged.connect(lambda *_: self._enable())
        self.reasons = TextLabel(self)
        self.reasons.setWordWrap(True)
        set_style_property(self.reasons, "role", "muted")
        self.button = QPushButton("&Apply the chosen design", self)
        self.button.clicked.connect(self.apply)
        self.keep_button = QPushButton("&Keep it as a variant", self)
        self.keep_button.clicked.connect(self.keep)
        right = QVBoxLayout()
        right.addWidget(self.table, 1)
        right.addWidget(self.reasons)
        acts = QHBoxLayout()
        acts.addStretch(1)
        acts.addWidget(self.keep_button)
        acts.addWidget(self.button)
        right.addLayout(acts)
        both = QHBoxLayout()
        both.setSpacing(20)
        both.addLayout(left, 5)
        both.addLayout(right, 7)
        box = QWidget(self)
        box.setLayout(both)
        self.layout_.addWidget(box, 1)
        self.finish_layout()
        self.say("Say what to reach, what must hold and what may move, then search.")
        self._enable()
        theme.changed.connect(self._write)

    def follow(self, evaluated: Evaluated) -> None:
        """Offer what the design in hand has."""
        if isinstance(evaluated.results, Results):
            self.results = evaluated.results
            self.form.show_design(evaluated.design)

    def showEvent(self, event: QShowEvent) -> None:
        """Nothing starts by itself here."""
        QWidget.showEvent(self, event)

    def hideEvent(self, event: QHideEvent) -> None:
        """A search goes on while another page is looked at."""
        QWidget.hideEvent(self, event)

    def search(self) -> None:
        """Search for what the form says."""
        if self.results is None:
            self.say("Waiting for the first evaluation.")
            return
        try:
            asked = self.form.wish(), self.form.free()
        except InputError as error:
            self.say(refusal(error))
            return
        seconds = TIMES[self.time.currentIndex()]
        self._asked = (self.session.document.design, *asked, seconds)
        self._halt.clear()
        self.start()

    def begin(self, results: Results) -> None:
        """Empty the list."""
        self.answer = None
        self._write()
        self.say("Starting the search …")

    def work(self, results: Results, task: Task) -> object:
        """The search; what it has is told whenever it gets better."""
        assert self._asked is not None
        design, wish, free, seconds = self._asked
        told: list[Found | None] = [None]

        def go_on(progress: Progress) -> bool:
            task.progress(progress.share)
            if progress.best is not told[0]:
                told[0] = progress.best
                task.deliver(progress)
            return not (self._halt.is_set() or task.cancelled)

        return search(design, wish, free, seconds=seconds, go_on=go_on)

    def take(self, part: Progress) -> None:
        """Tell the best so far."""
        if part.best is not None and self._asked is not None:
            name = self._asked[1].objective.name
            self.say(
                f"Best so far after {part.evaluations} evaluations: "
                f"{in_words(name, part.best.objective)}."
            )

    def done(self, value: Answer, seconds: float) -> None:
        """Show what was found."""
        self.answer = value
        self._write()
        if self.answer.found:
            self.table.setCurrentCell(0, 0)
            self._enable()
        stopped = "stopped; " if value.stopped else ""
        self.say(
            f"{stopped}{value.evaluations} evaluations in {value.seconds:.0f} s. The best that "
            "was found, not proven to be the best there is; undo takes it back."
        )

    def apply(self) -> None:
        """Make the chosen design the one in hand, as one step."""
        chosen = self._chosen()
        if chosen is None:
            return
        try:
            self.session.document.edit_many(dict(chosen.changed), text="Apply a found design")
        except InputError as error:
            self.say(refusal(error))

    def keep(self) -> None:
        """Keep the chosen design as a variant of the one in hand."""
        chosen = self._chosen()
        if chosen is None or self._asked is None:
            return
        document = self.session.document
        base: Design = document.design
        aim = AIMS[self.form.aim.currentIndex()].text.lower()
        name = f"Found: {aim} {in_words(self._asked[1].objective.name, chosen.objective)}"
        try:
            variant = variant_of(name, base, chosen.design)
            kept = [one.model_dump() for one in (*base.variants, variant)]
            document.edit_many({"variants": kept}, text="Keep a found design")
        except InputError as error:
            self.say(refusal(error))
            return
        self.say(f"Kept as variant '{name}'; Compare shows it.")

    def _chosen(self) -> Found | None:
        row = self.table.currentRow()
        if self.answer is None or not 0 <= row < len(self.answer.found):
            return None
        return self.answer.found[row]

    def _enable(self) -> None:
        chosen = self._chosen()
        self.button.setEnabled(chosen is not None and bool(chosen.changed))
        self.keep_button.setEnabled(chosen is not None and bool(chosen.changed))

    def _write(self, _changed: object = None) -> None:
        answer = self.answer
        tokens = self.theme.tokens
        self._enable()
        if answer is None or self._asked is None:
            self.table.show_rows([])
            self.reasons.setText("")
            return
        _, wish, free, _ = self._asked
        self.table.show_rows(
            [
                (
                    _change(item, free),
                    in_words(wish.objective.name, item.objective),
                    margin_text(item.results.first_limit.margin),
                    item.results.first_limit.title,
                )
                for item in answer.found
            ],
            colours=[
                margin_colour(item.results.first_limit.margin, tokens) for item in answer.found
            ],
            coloured=2,
        )
        lines = [f"Held back by: {item.text}." for item in answer.limited_by]
        lines += [item.text for item in answer.findings if item.severity is not Severity.NOTE]
        lines += [item.text for item in answer.findings if item.code == "moves-nothing"]
        self.reasons.setText("\n".join(lines))

    def _stop(self) -> None:
        self._halt.set()
        self.say("Stopping …")


def _change(found: Found, free: tuple[Free, ...]) -> str:
    """What differs from the design in hand, in words."""
    parts = [
        f"{title_of(one.path)} {one.text(found.values[one.path])}"
        for one in free
        if one.path in found.changed or (one.path == DUTY and _TRAVEL in found.changed)
    ]
    return "\n".join(parts) or "the design as it is"
