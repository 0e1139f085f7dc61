"""One pass through a lesson: start, prediction, move, answer; the document is the real one."""

from __future__ import annotations

from collections.abc import Mapping
from enum import IntEnum
from typing import Any

from PySide6.QtCore import QObject, Signal

from burstwise.app.session import Evaluated, Session
from burstwise.core.design.differences import compared
from burstwise.core.design.document import Design
from burstwise.core.evaluate import figures_object
from burstwise.core.lessons.lesson import Answer, Lesson, answered, reached, start_design


class Step(IntEnum):
    """Where the learner is."""

    PREDICT = 0
    MOVE = 1
    ANSWER = 2


class LessonRun(QObject):
    """State of a lesson; tells `changed` whenever something to show has changed.

    The lesson's design is a guest of the document: it has no file and its own undo history, and
    the learner's design comes back as it was left.

    Parameters
    ----------
    session : Session
        Document and results.
    """

    changed = Signal()

    def __init__(self, session: Session, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._session = session
        self._start: dict[str, Any] = {}
        self.lesson: Lesson | None = None
        self.step = Step.PREDICT
        self.chosen: int | None = None
        self.before: Mapping[str, Any] | None = None
        self.latest: Evaluated | None = None
        self.answer: Answer | None = None
        session.evaluated.connect(self._follow)
        session.document.guest_left.connect(self._end)

    def begin(self, lesson: Lesson, example: Design) -> None:
        """Put the lesson's design in hand and ask for a prediction.

        Raises
        ------
        InputError
            The lesson does not fit the example.
        """
        document = self._session.document
        start = start_design(lesson, example)
        self.lesson, self.step, self.chosen = lesson, Step.PREDICT, None
        self.before = self.answer = self.latest = None
        self._start = compared(start)
        document.receive(f"Lesson: {lesson.title}", start)
        if document.design == start or compared(document.design) == self._start:
            latest = self._session.latest
            if latest is not None and latest.design == document.design:
                self._follow(latest)
            else:
                self._session.refresh()
        self.changed.emit()

    def predict(self, choice: int) -> None:
        """Take the prediction; the control is free from here on."""
        if self.lesson is None or self.before is None or self.step is not Step.PREDICT:
            return
        self.chosen, self.step = choice, Step.MOVE
        self.changed.emit()

    def give_back(self) -> None:
        """Put the learner's own design back in hand."""
        self._session.document.send_off()

    def _end(self) -> None:
        self.lesson = None
        self.changed.emit()

    def _follow(self, evaluated: Evaluated) -> None:
        lesson = self.lesson
        if lesson is None:
            return
        self.latest = evaluated
        if self.before is None and compared(evaluated.design) == self._start:
            self.before = figures_object(evaluated.results)
        moved = self.step in (Step.MOVE, Step.ANSWER) and reached(lesson, evaluated.design)
        if moved and self.before is not None and self.chosen is not None:
            self.answer = answered(
                lesson, self.chosen, before=self.before, after=figures_object(evaluated.results)
            )
            self.step = Step.ANSWER
        self.changed.emit()
