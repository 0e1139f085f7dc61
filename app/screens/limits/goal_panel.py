"""Backwards: a wish in, the best designs out, applied as one step."""

from __future__ import annotations

import threading
from collections.abc import Callable, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from math import isnan
from typing import Final

from PySide6.QtGui import QHideEvent, QShowEvent
from PySide6.QtWidgets import QComboBox, QHBoxLayout, QPushButton, QVBoxLayout, QWidget

from burstwise.app.refusals import refusal, title_of
from burstwise.app.screens.limits.choice_panel import ChoicePanel
from burstwise.app.screens.limits.goal_form import AIMS, GoalForm
from burstwise.app.screens.limits.sweeps import SWEPT
from burstwise.app.screens.limits.tables import PlainTable, margin_colour, margin_text
from burstwise.app.screens.limits.trade_plots import TradePlots
from burstwise.app.session import Evaluated, Session
from burstwise.app.theme import Theme
from burstwise.app.widgets.reflow import Reflow
from burstwise.app.widgets.text_label import TextLabel
from burstwise.app.worker import Task
from burstwise.core.design.document import Design
from burstwise.core.design.variants import variant_of
from burstwise.core.errors import InputError
from burstwise.core.evaluate.results import Results
from burstwise.core.findings import Finding, Severity
from burstwise.core.interrupter.resolve import DUTY
from burstwise.core.search import (
    Answer,
    Found,
    Free,
    Limiting,
    Sweep,
    TradeOff,
    Wish,
    search,
    trade_off,
)
from burstwise.core.search.budget import Progress
from burstwise.core.search.tolerance import Tolerance, tolerance
from burstwise.core.search.wish import in_words
from burstwise.core.stopping import StoppedError, stoppable
from burstwise.core.units import shown

_TRAVEL: Final = "interrupter.parts.travel"
TIMES: Final = (15.0, 30.0, 120.0)
"""Times that a search may be given [s]."""


_FOUND_WIDTH: Final = 440
_FORM_HEIGHT: Final = 240
_FOUND_HEIGHT: Final = 260


@dataclass(frozen=True, slots=True)
class _Asked:
    """What was asked when the search began."""

    design: Design
    wish: Wish
    free: tuple[Free, ...]
    seconds: float
    sweep: Sweep | None


class GoalPanel(ChoicePanel):
    """Form, search and what came back; nothing is computed until it is asked for.

    Parameters
    ----------
    session, theme
        Document with results, and look.
    """

    def __init__(self, session: Session, theme: Theme) -> None:
        self.form = GoalForm(session.drawer)
        self.answer: Answer | None = None
        self.trade: TradeOff | None = None
        self._asked: _Asked | None = None
        self._halt = threading.Event()
        table = PlainTable(
            ("Change", "Reached", "Margin", "Builds hold"),
            name="Designs found",
            wide=0,
        )
        button = "&Apply the chosen design"
        super().__init__(session, theme, name="goal", table=table, button=button)
        self.time = QComboBox(self)
        self.time.setAccessibleName("Time for the search")
        self.time.addItems([f"{seconds:g} s" for seconds in TIMES])
        self.time.setCurrentIndex(1)
        self.curve = QComboBox(self)
        self.curve.setAccessibleName("One answer or a trade-off")
        self.curve.addItems([swept.text for swept in SWEPT])
        self.begin_button = QPushButton("Search", self)
        self.begin_button.clicked.connect(self.search)
        ask = QHBoxLayout()
        ask.addWidget(TextLabel("May take", self))
        ask.addWidget(self.time)
        ask.addWidget(self.curve)
        ask.addStretch(1)
        ask.addWidget(self.begin_button)
        asking, telling = QWidget(self), QWidget(self)
        self.form.setMinimumHeight(_FORM_HEIGHT)
        left = QVBoxLayout(asking)
        left.setContentsMargins(0, 0, 0, 0)
        left.addWidget(self.form, 1)
        left.addLayout(ask)
        self.reasons = TextLabel(self, wraps=True, role="muted")
        self.keep_button = QPushButton("&Keep it as a variant", self)
        self.keep_button.clicked.connect(self.keep)
        telling.setMinimumSize(_FOUND_WIDTH, _FOUND_HEIGHT)
        right = QVBoxLayout(telling)
        right.setContentsMargins(0, 0, 0, 0)
        self.plot = TradePlots(theme, self)
        self.plot.picked.connect(self._pick)
        right.addWidget(self.plot, 1)
        right.addWidget(self.table, 2)
        right.addWidget(self.reasons)
        self.take_button = QPushButton("&Take what can be had", self)
        self.take_button.clicked.connect(self.take_nearest)
        acts = QHBoxLayout()
        acts.addWidget(self.take_button)
        acts.addStretch(1)
        acts.addWidget(self.keep_button)
        acts.addWidget(self.button)
        right.addLayout(acts)
        both = Reflow(spacing=20, parent=self)
        both.add(asking, 5)
        both.add(telling, 7)
        self.layout_.addWidget(both, 1)
        self.finish_layout()
        self.form.refused.connect(self.say)
        self.say("Say what to reach, what must hold and what may move, then search.")
        self._choose()

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
            wish, free = self.form.wish(), self.form.free()
            sweep = SWEPT[self.curve.currentIndex()].sweep(wish, free)
        except InputError as error:
            self.say(refusal(error))
            return
        seconds = TIMES[self.time.currentIndex()]
        self._asked = _Asked(self.session.document.design, wish, free, seconds, sweep)
        self._halt.clear()
        self.start()

    def begin(self, results: Results) -> None:
        """Empty the list."""
        self.answer = self.trade = None
        self._write()
        self.say("Starting the search …")

    def work(self, results: Results, task: Task) -> object:
        """The search; what it has is told whenever it gets better."""
        assert self._asked is not None
        asked = self._asked
        told: list[Found | None] = [None]

        def go_on(progress: Progress) -> bool:
            task.progress(progress.share)
            if progress.best is not told[0]:
                told[0] = progress.best
                task.deliver(progress)
            return not (self._halt.is_set() or task.cancelled)

        value = self._searched(asked, go_on)
        task.deliver(value)
        designs = _designs_of(value, asked.wish)
        if isinstance(value, Answer) and value.nearest is not None:
            designs = [(value.nearest.found, value.nearest.wish)]
        for place, (found, wish) in enumerate(designs):
            if found is None or self._halt.is_set():
                continue
            with suppress(StoppedError), stoppable(self._halt.is_set):
                scatter = tolerance(found.results, wish)
                task.deliver((place, replace(found, tolerance=scatter)))
        return value.seconds

    def _searched(self, asked: _Asked, go_on: Callable[[Progress], bool]) -> Answer | TradeOff:
        if asked.sweep is not None:
            return trade_off(
                asked.design,
                asked.wish,
                asked.free,
                asked.sweep,
                seconds=asked.seconds,
                go_on=go_on,
            )
        return search(asked.design, asked.wish, asked.free, seconds=asked.seconds, go_on=go_on)

    def take(self, part: Progress | Answer | TradeOff | tuple[int, Found]) -> None:
        """Tell the best so far, show what was found, then what scatter does to it."""
        if isinstance(part, Answer | TradeOff):
            self._show(part)
        elif isinstance(part, tuple):
            self._scatter(*part)
        elif part.best is not None and self._asked is not None:
            name = self._asked.wish.objective.name
            self.say(
                f"Best so far after {part.evaluations} evaluations: "
                f"{in_words(name, part.best.objective)}."
            )

    def _show(self, value: Answer | TradeOff) -> None:
        """Show what was found."""
        if isinstance(value, TradeOff):
            self.trade = value
        else:
            self.answer = value
        self._write()
        first = next((row for row, one in enumerate(self.offers) if one is not None), None)
        if first is not None:
            self.table.setCurrentCell(first, 0)
            self._choose()
        self._tell_end(value, first is not None and not value.stopped)

    def _tell_end(self, value: Answer | TradeOff, goes_on: bool) -> None:
        stopped = "stopped; " if value.stopped else ""
        self.say(
            f"{stopped}{value.evaluations} evaluations in {value.seconds:.0f} s. The best that "
            "was found, not proven to be the best there is; undo takes it back."
            + (" Now random builds of each …" if goes_on else "")
        )

    def _scatter(self, place: int, found: Found) -> None:
        """Show what scatter does to one of the designs."""
        if self.trade is not None:
            points = list(self.trade.points)
            points[place] = replace(points[place], found=found)
            self.trade = replace(self.trade, points=tuple(points))
        elif self.answer is not None and self.answer.nearest is not None:
            nearest = replace(self.answer.nearest, found=found)
            self.answer = replace(self.answer, nearest=nearest)
        elif self.answer is not None:
            designs = list(self.answer.found)
            designs[place] = found
            self.answer = replace(self.answer, found=tuple(designs))
        self._write()

    def done(self, value: float, seconds: float) -> None:
        """Tell the end."""
        told = self.trade or self.answer
        if told is not None:
            self._tell_end(told, goes_on=False)

    def step_of(self, offer: Found) -> tuple[Mapping[str, object], str]:
        """Make a found design the one that is edited."""
        return dict(offer.changed), "Apply a found design"

    def take_nearest(self) -> None:
        """Wish for what can be had instead, and show the design that does it."""
        if self.answer is None or self.answer.nearest is None or self._asked is None:
            return
        nearest = self.answer.nearest
        self.form.ease(nearest.eased)
        self._asked = replace(self._asked, wish=nearest.wish)
        self.answer = self.answer.of_nearest
        self._write()
        self.table.setCurrentCell(0, 0)
        self._choose()
        self.say(
            f"The wish is now: {nearest.text}. Apply the design that does it, or search again for "
            "a better one."
        )

    def keep(self) -> None:
        """Keep the chosen design as a variant of the one in hand."""
        chosen = self.chosen
        if chosen is None or self._asked is None:
            return
        document = self.session.document
        base: Design = document.design
        aim = AIMS[self.form.aim.currentIndex()].text.lower()
        name = f"Found: {aim} {in_words(self._asked.wish.objective.name, chosen.objective)}"
        try:
            variant = variant_of(name, base, chosen.design)
            kept = [one.model_dump() for one in (*base.variants, variant)]
            document.edit_many({"variants": kept}, text="Keep a found design")
        except InputError as error:
            self.say(refusal(error))
            return
        self.say(f"Kept as variant '{name}'; Compare shows it.")

    @property
    def offers(self) -> list[Found | None]:
        """Designs by row of the table; None where there is none."""
        told = self.trade or self.answer
        if told is None or self._asked is None:
            return []
        return [found for found, _ in _designs_of(told, self._asked.wish)]

    def _pick(self, row: int) -> None:
        self.table.setCurrentCell(row, 0)
        self.table.setFocus()

    def _choose(self) -> None:
        """Follow the chosen row."""
        self.take_button.setVisible(self.answer is not None and self.answer.nearest is not None)
        super()._choose()
        self.keep_button.setEnabled(self.button.isEnabled())
        row = self.table.currentRow()
        if self.trade is not None and 0 <= row < len(self.trade.points):
            self.plot.mark(row)
            self._tell_reasons(self.trade.points[row].limited_by, self.trade.findings)
        elif self.answer is not None:
            self._tell_reasons(self.answer.limited_by, self.answer.findings)

    def _write(self, _changed: object = None) -> None:
        asked = self._asked
        self.plot.show_trade(None if asked is None else asked.wish, self.trade)
        if asked is None or (self.answer is None and self.trade is None):
            self.table.show_rows([])
            self.reasons.setText("")
        else:
            designs, tokens = self.offers, self.theme.tokens
            self.table.show_rows(
                [self._row(asked, place, found) for place, found in enumerate(designs)],
                colours=[
                    None if one is None else margin_colour(one.results.first_limit.margin, tokens)
                    for one in designs
                ],
                coloured=2,
            )
        self._choose()

    def _row(self, asked: _Asked, place: int, found: Found | None) -> tuple[str, ...]:
        at = ""
        if self.trade is not None:
            sweep = self.trade.sweep
            title = sweep.title[:1].upper() + sweep.title[1:]
            at = f"{title} {sweep.text(self.trade.points[place].value)}"
        if found is None:
            return (f"{at}: nothing holds everything", "", "", "")
        first = found.results.first_limit
        return (
            "\n".join(part for part in (at, _change(found, asked.free)) if part),
            in_words(asked.wish.objective.name, found.objective),
            margin_text(first.margin),
            _holds(found.tolerance),
        )

    def _tell_reasons(self, limited: Sequence[Limiting], findings: Sequence[Finding]) -> None:
        chosen = self.chosen
        lines = [f"Held back by: {item.text}." for item in limited]
        if chosen is not None:
            first = chosen.results.first_limit
            lines.append(f"Smallest margin: {first.title.lower()}.")
            if chosen.tolerance is not None:
                lines.append(chosen.tolerance.text)
        lines += [item.text for item in findings if item.severity is not Severity.NOTE]
        told = ("moves-nothing", "no-design-there", "nearest-wish")
        lines += [item.text for item in findings if item.code in told]
        self.reasons.setText("\n".join(lines))

    def _stop(self) -> None:
        self._halt.set()
        self.say("Stopping …")


def _holds(scatter: Tolerance | None) -> str:
    """Share of builds that exceed no rating; what stands there while or where it is not known."""
    if scatter is None:
        return "…"
    return "few start" if isnan(scatter.holds) else shown(scatter.holds, "%", digits=3)


def _designs_of(value: Answer | TradeOff, wish: Wish) -> list[tuple[Found | None, Wish]]:
    """Designs by row, each with the wish that it was found for."""
    if isinstance(value, TradeOff):
        at = value.sweep.wish_at
        return [(point.found, at(wish, point.value)) for point in value.points]
    return [(found, wish) for found in value.found]


def _change(found: Found, free: tuple[Free, ...]) -> str:
    """What differs from the design in hand, in words."""
    parts = [
        f"{title_of(one.path)} {one.text(found.values[one.path])}"
        for one in free
        if one.path in found.changed or (one.path == DUTY and _TRAVEL in found.changed)
    ]
    return "\n".join(parts) or "the design as it is"
