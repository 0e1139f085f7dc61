"""Solve-for panel: the geometry that reaches a wanted value, applied as one undo step."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Final

from PySide6.QtWidgets import (
    QComboBox,
    QFormLayout,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from burstwise.app.refusals import refusal
from burstwise.app.screens.coil.work import CoilState
from burstwise.app.session import Session
from burstwise.app.widgets.long_work import LongWork
from burstwise.app.widgets.quantity_field import QuantityField
from burstwise.app.widgets.text_label import TextLabel
from burstwise.app.worker import Task
from burstwise.core.design.document import Design, field_info
from burstwise.core.errors import InputError
from burstwise.core.studies.coil_proposals import Edit, Goal, Proposal, proposal
from burstwise.core.units import shown

_STAGE_RUNS: Final = 36
"""Runs of the stage that a search for a current usually takes, for the progress bar."""


@dataclass(frozen=True, slots=True)
class Wish:
    """One thing to solve for.

    Parameters
    ----------
    words : str
        What is free and what is wanted.
    unit : str
        Unit of the wanted value.
    low, high : float
        Limits of the wanted value.
    first : callable
        A value to start with, from the present coil.
    find : callable
        The solve.
    """

    words: str
    unit: str
    low: float
    high: float
    first: Callable[[Session, CoilState], float | None]
    find: Callable[[Design, float, Task], Proposal]


def _goal(goal: Goal) -> Callable[[Design, float, Task], Proposal]:
    return lambda design, wanted, task: proposal(design, goal, wanted, check=task.check)


def _stage(current: str) -> Callable[[Design, float, Task], Proposal]:
    def find(design: Design, wanted: float, task: Task) -> Proposal:
        # The stage's compiled engine is heavy, so it is imported when first asked for.
        from burstwise.core.studies.solve_stage import StageCurrent, primary_turns_for_current

        runs = 0

        def check() -> None:
            nonlocal runs
            runs += 1
            task.progress(min(runs / _STAGE_RUNS, 0.99), "Running the stage")

        return primary_turns_for_current(design, wanted, StageCurrent[current], check=check)

    return find


def _computed(name: str) -> Callable[[Session, CoilState], float | None]:
    def read(_session: Session, state: CoilState) -> float | None:
        found = state.coil.constants
        return None if found is None else float(getattr(found, name))

    return read


def _carrier(name: str) -> Callable[[Session, CoilState], float | None]:
    def read(session: Session, _state: CoilState) -> float | None:
        latest = session.latest
        run = getattr(latest.results, "carrier", None) if latest is not None else None
        return None if run is None else float(getattr(run, name))

    return read


WISHES: Final = (
    Wish(
        "Secondary turns for a resonance",
        "Hz",
        1e3,
        2e7,
        _computed("resonance"),
        _goal(Goal.RESONANCE_BY_TURNS),
    ),
    Wish(
        "Primary turns for a coupling",
        "",
        0.005,
        0.9,
        _computed("coupling"),
        _goal(Goal.COUPLING_BY_TURNS),
    ),
    Wish(
        "Primary start height for a coupling",
        "",
        0.005,
        0.9,
        _computed("coupling"),
        _goal(Goal.COUPLING_BY_HEIGHT),
    ),
    Wish(
        "Primary turns for a mean supply current",
        "A",
        1e-3,
        1e3,
        _carrier("supply_current_mean"),
        _stage("SUPPLY_MEAN"),
    ),
    Wish(
        "Primary turns for a peak drain current",
        "A",
        1e-3,
        1e4,
        _carrier("drain_current_peak"),
        _stage("DRAIN_PEAK"),
    ),
    Wish(
        "Top load for a breakout voltage",
        "V",
        100.0,
        3e6,
        _computed("breakout_voltage"),
        _goal(Goal.BREAKOUT_BY_TOP_LOAD),
    ),
)


class SolvePanel(QWidget):
    """What to solve for, the wanted value, the proposal and a button that applies it.

    Parameters
    ----------
    session : Session
        Holder of the design.
    """

    def __init__(self, session: Session, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._session = session
        self._state: CoilState | None = None
        self.found: Proposal | None = None
        self._asked_for: Any = None
        self.wish = QComboBox(self)
        self.wish.setAccessibleName("Solve for")
        for wish in WISHES:
            self.wish.addItem(wish.words)
        self.wanted = QuantityField("Hz", name="Wanted")
        self.apply = QPushButton("Take into the design", self)
        self.apply.setEnabled(False)
        self.work = LongWork(
            "Solve", name="solve", beside=(self.apply,), stacked=True, refusal=_refusal, parent=self
        )
        self.remark = TextLabel(self, wraps=True, role="muted")
        self._lay_out()
        self.wish.currentIndexChanged.connect(self._choose)
        self.work.asked.connect(self.start)
        self.work.done.connect(self._take)
        self.apply.clicked.connect(self.take_over)
        session.document.changed.connect(self._outdate)
        self._choose()

    def show_state(self, state: CoilState) -> None:
        """Take the present coil as the start of the wanted value."""
        first = self._state is None
        self._state = state
        if first:
            self._start_value()

    def start(self) -> None:
        """Look for the geometry that reaches the wanted value."""
        wish, design, wanted = self._present, self._session.document.design, self.wanted.value
        self._forget()
        self._asked_for = design
        self.work.submit(lambda task: wish.find(design, wanted, task))

    def take_over(self) -> None:
        """Apply the proposal as one undo step."""
        if self.found is None:
            return
        values = {edit.path: edit.value for edit in self.found.edits}
        try:
            self._session.document.edit_many(values, text=self._present.words)
        except InputError as error:
            self.work.say(refusal(error), bad=True)

    @property
    def _present(self) -> Wish:
        return WISHES[self.wish.currentIndex()]

    def _lay_out(self) -> None:
        self._form = QFormLayout()
        self._form.addRow("Solve for", self.wish)
        self._form.addRow("Wanted", self.wanted)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 6, 0, 0)
        layout.addLayout(self._form)
        layout.addWidget(self.work)
        layout.addWidget(self.remark)
        layout.addStretch(1)

    def _choose(self, _index: int = 0) -> None:
        wish = self._present
        self.work.worker.stop()
        self._forget()
        old = self.wanted
        self.wanted = QuantityField(
            wish.unit, name="Wanted value", value=wish.low, low=wish.low, high=wish.high
        )
        self._form.replaceWidget(old, self.wanted)
        old.hide()
        old.deleteLater()
        self._start_value()

    def _start_value(self) -> None:
        if self._state is not None:
            first = self._present.first(self._session, self._state)
            if first is not None:
                self.wanted.set_value(float(f"{first:.3g}"))

    def _forget(self) -> None:
        self.found = None
        self.apply.setEnabled(False)
        self.remark.setText("")
        self.work.say("")

    def _outdate(self, design: object) -> None:
        if self.found is not None and design is not self._asked_for:
            self.found = None
            self.apply.setEnabled(False)
            self.remark.setText("The design has changed since; solve again.")

    def _take(self, found: Proposal) -> None:
        if self._session.document.design is not self._asked_for:
            self.work.say("The design has changed since; solve again.")
            return
        self.found = found
        self.apply.setEnabled(True)
        self._show(found)

    def _show(self, found: Proposal) -> None:
        changes = "\n".join(_change(edit) for edit in found.edits)
        reached = shown(found.reached, found.unit)
        now = shown(found.now, found.unit)
        self.work.say(f"{changes}\n{found.quantity}: {reached} (now {now}).")
        self.remark.setText(found.remark)


def _refusal(error: InputError) -> str:
    return f"No answer: {refusal(error)}"


def _change(edit: Edit) -> str:
    title = field_info(edit.path)["title"]
    now = "none" if edit.now is None else shown(edit.now, edit.unit)
    value = "none" if edit.value is None else shown(edit.value, edit.unit)
    return f"{title}: {now} → {value}"
