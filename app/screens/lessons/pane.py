"""What a learner sees of a lesson: question, choices, control, numbers, one plot, answer."""

from __future__ import annotations

from functools import partial
from typing import Any

import numpy as np
from PySide6.QtCore import QSignalBlocker, Qt
from PySide6.QtGui import QFont, QKeyEvent
from PySide6.QtWidgets import (
    QButtonGroup,
    QComboBox,
    QFrame,
    QGridLayout,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QRadioButton,
    QSizePolicy,
    QVBoxLayout,
    QWidget,
)

from burstwise.app.binding import Binding, bind_in_use
from burstwise.app.plots.axis import Axis
from burstwise.app.plots.duty_curves import CURVES
from burstwise.app.plots.line_plot import LinePlot
from burstwise.app.screens.lessons.run import LessonRun, Step
from burstwise.app.session import Session
from burstwise.app.theme import OK, Theme, mark
from burstwise.app.widgets.restyle import set_style_property
from burstwise.app.widgets.scale import POSITIONS, SliderScale
from burstwise.app.widgets.slider_field import SliderField
from burstwise.app.widgets.text_label import TextLabel, set_tip
from burstwise.app.widgets.words import unbroken
from burstwise.core.errors import InputError
from burstwise.core.evaluate import figures_object
from burstwise.core.findings import Severity
from burstwise.core.lessons.lesson import Lesson, result_number
from burstwise.core.units import shown

LARGE = 1.55
"""Type size of the presentation over the usual one."""


class LessonPane(QWidget):
    """View of a `LessonRun`; Enter or 1 to 9 predict, the control has the keys after that.

    Parameters
    ----------
    run : LessonRun
        State of the lesson.
    session, theme : Session, Theme
        Document with results, and look.
    large : bool
        Large type for a room.
    """

    def __init__(
        self,
        run: LessonRun,
        session: Session,
        theme: Theme,
        *,
        large: bool = False,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self._run, self._session, self._theme = run, session, theme
        self._shown: Lesson | None = None
        self._large = large
        self._type = QFont(self.font())
        if large:
            set_style_property(self, "room", "large")
            self._type.setPointSizeF(self._type.pointSizeF() * LARGE)
            self.setFont(self._type)
        self.title = self._label("heading")
        self.intro = self._label()
        self.question = self._label("title")
        self.choices = QWidget(self)
        self.group = QButtonGroup(self)
        self.task = self._label("title")
        self.control = QWidget(self)
        self.widget: QWidget | None = None
        self.verdict = self._label()
        self.explanation = self._label()
        self.numbers: dict[str, QLabel] = {}
        self.figures = QFrame(self)
        set_style_property(self.figures, "role", "panel")
        self.plot: LinePlot | None = None
        self._lay_out()
        run.changed.connect(self.refresh)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.refresh()

    def _label(self, role: str = "") -> QLabel:
        label = TextLabel(self, wraps=True)
        label.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Minimum)
        if role:
            if self._large and role == "heading":
                font = QFont(self._type)
                font.setPointSizeF(font.pointSizeF() * 1.3)
                font.setBold(True)
                label.setFont(font)
            else:
                set_style_property(label, "role", role)
        return label

    def _lay_out(self) -> None:
        left = self._left = QVBoxLayout()
        left.setSpacing(10)
        for widget in (self.title, self.intro, self.question, self.choices, self.task,
                       self.control, self.verdict, self.explanation):  # fmt: skip
            left.addWidget(widget)
        left.addStretch(1)
        self._right = QVBoxLayout()
        self._right.addWidget(self.figures)
        across = QHBoxLayout(self)
        across.setSpacing(20)
        across.addLayout(left, 7 if self._large else 5)
        across.addLayout(self._right, 5 if self._large else 6)

    def refresh(self) -> None:
        """Follow the run."""
        lesson, run = self._run.lesson, self._run
        self.setVisible(lesson is not None)
        if lesson is None:
            self._shown = None
            return
        if lesson is not self._shown or (run.step is Step.PREDICT and run.chosen is None
                                         and self.group.checkedId() >= 0):  # fmt: skip
            self._show_lesson(lesson)
        predicting = run.step is Step.PREDICT
        for button in self.group.buttons():
            button.setEnabled(predicting and run.before is not None)
        if run.chosen is not None:
            with QSignalBlocker(self.group):
                self.group.button(run.chosen).setChecked(True)
        for widget in (self.task, self.control):
            widget.setVisible(not predicting)
        self._show_numbers()
        answer = run.answer if run.step is Step.ANSWER else None
        for label in (self.verdict, self.explanation):
            label.setVisible(answer is not None)
        if answer is not None:
            sign = OK if answer.correct else mark(Severity.CAUTION)
            self.verdict.setText(unbroken(f"{sign.glyph} {answer.verdict}"))
            set_style_property(self.verdict, "severity", "ok" if answer.correct else "caution")
            self.explanation.setText(unbroken(answer.explanation))
            if self._large:  # a new style rule takes the type size with it
                self.verdict.setFont(self._type)

    @property
    def control_widget(self) -> QWidget | None:
        """Widget that arrow keys move, None while the lesson waits for a prediction."""
        if self._run.step is Step.PREDICT or self.widget is None:
            return None
        return self.widget.slider if isinstance(self.widget, SliderField) else self.widget

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """A digit predicts."""
        number = event.key() - Qt.Key.Key_1
        if self._run.step is Step.PREDICT and 0 <= number < len(self.group.buttons()):
            self._run.predict(number)
            if self.control_widget is not None:
                self.control_widget.setFocus()
            return
        super().keyPressEvent(event)

    def _show_lesson(self, lesson: Lesson) -> None:
        self._shown = lesson
        self.title.setText(lesson.title)
        self.intro.setText(unbroken(lesson.intro))
        self.question.setText(unbroken(lesson.question))
        self.task.setText(unbroken(f"Now: {lesson.task}"))
        self._show_choices(lesson)
        self._show_control(lesson)
        self._show_figures(lesson)
        self._show_plot(lesson)
        if self._large:
            self._enlarge()

    def _enlarge(self) -> None:
        """Give every word outside the plot the large type; style rules keep weight and colour."""
        for kind in (QLabel, QRadioButton, QComboBox, QLineEdit):
            for child in self.findChildren(kind):
                inside_plot = self.plot is not None and self.plot.isAncestorOf(child)
                if child is not self.title and not inside_plot:
                    child.setFont(self._type)

    def _show_choices(self, lesson: Lesson) -> None:
        fresh, group = QWidget(self), QButtonGroup(self)
        layout = QVBoxLayout(fresh)
        layout.setContentsMargins(0, 0, 0, 0)
        for number, choice in enumerate(lesson.choices):
            button = QRadioButton(f"{number + 1}  {choice.text}", fresh)
            group.addButton(button, number)
            layout.addWidget(button, 0, Qt.AlignmentFlag.AlignLeft)
        group.idClicked.connect(self._run.predict)
        self._replace(self.choices, fresh)
        self.group.deleteLater()
        self.choices, self.group = fresh, group

    def _show_control(self, lesson: Lesson) -> None:
        fresh = QWidget(self)
        layout = QHBoxLayout(fresh)
        layout.setContentsMargins(0, 0, 0, 0)
        control = lesson.control
        if control.options:
            layout.addWidget(TextLabel(control.title, fresh))
            box = QComboBox(fresh)
            box.setAccessibleName(control.title)
            for option in control.options:
                box.addItem(option.text)
            self._bind_options(box, lesson)
            layout.addWidget(box)
            layout.addStretch(1)
            self.widget = box
        else:
            field = SliderField(
                control.title, control.unit, low=control.low, high=control.high,
                value=control.low, log=control.log, parent=fresh,
            )  # fmt: skip
            bind_in_use(self._session.document, control.path, field, text=control.title)
            field.set_key_step(_key_step(lesson))
            layout.addWidget(field)
            self.widget = field
        self._replace(self.control, fresh)
        self.control = fresh

    def _bind_options(self, box: QComboBox, lesson: Lesson) -> None:
        options = lesson.control.options

        def show(value: Any) -> None:
            plain = value.model_dump() if hasattr(value, "model_dump") else value
            for row, option in enumerate(options):
                same = (
                    isinstance(option.value, dict)
                    and isinstance(plain, dict)
                    and option.value.items() <= plain.items()
                )
                if same or option.value == plain:
                    with QSignalBlocker(box):
                        box.setCurrentIndex(row)

        binding = Binding(
            self._session.document, lesson.control.path, box, show=show,
            refuse=partial(set_tip, box), text=lesson.control.title,
        )  # fmt: skip
        box.currentIndexChanged.connect(lambda row: binding.send(options[row].value))

    def _show_figures(self, lesson: Lesson) -> None:
        fresh = QFrame(self)
        set_style_property(fresh, "role", "panel")
        grid = QGridLayout(fresh)
        self.numbers = {}
        for column, head in enumerate(("", "before", "now")):
            grid.addWidget(TextLabel(head, fresh), 0, column, Qt.AlignmentFlag.AlignRight)
        for row, item in enumerate(lesson.watch, start=1):
            name = TextLabel(item.title, fresh, wraps=True)
            grid.addWidget(name, row, 0)
            for column, when in enumerate(("before", "now"), start=1):
                label = TextLabel("", fresh)
                self.numbers[f"{when}:{item.path}"] = label
                grid.addWidget(label, row, column, Qt.AlignmentFlag.AlignRight)
        grid.setColumnStretch(0, 1)
        self._replace(self.figures, fresh)
        self.figures = fresh

    def _show_plot(self, lesson: Lesson) -> None:
        if self.plot is not None:
            self.plot.setParent(None)
            self.plot.deleteLater()
        self.plot = LinePlot(
            self._theme, x=Axis("Duty", "%"), y=CURVES[lesson.curve], curves=[""], parent=self
        )
        if self._large:
            self.plot.enlarge(self._type, LARGE)
        self._right.addWidget(self.plot, 1)

    def _show_numbers(self) -> None:
        run, lesson = self._run, self._run.lesson
        if lesson is None or run.latest is None:
            return
        now = figures_object(run.latest.results)
        for item in lesson.watch:
            for when, known in (("before", run.before), ("now", now)):
                if known is not None:
                    self.numbers[f"{when}:{item.path}"].setText(_text(known, item.path, item.unit))
        results = run.latest.results
        ys = getattr(results.curves, lesson.curve)
        if self.plot is not None:
            with self.plot.batch():
                self.plot.set_data(results.curves.duty, ys)
                self.plot.set_x_range(0.0, 1.0)
                at = float(results.duty)
                self.plot.set_point(at, [_at(results.curves.duty, ys, at)])

    def _replace(self, old: QWidget, new: QWidget) -> None:
        for layout in (self._left, self._right):
            if layout.indexOf(old) >= 0:
                layout.replaceWidget(old, new)
        old.hide()
        old.setParent(None)
        old.deleteLater()


def _key_step(lesson: Lesson) -> float:
    """Part of the control's length that an arrow key moves: a fortieth, less for a narrow aim."""
    control, goal = lesson.control, lesson.goal
    scale = SliderScale(control.low, control.high, log=control.log)
    low = control.low if goal.low is None else goal.low
    high = control.high if goal.high is None else goal.high
    aim = (scale.position(high) - scale.position(low)) / POSITIONS
    return min(1 / 40, 0.5 * aim)


def _text(known: Any, path: str, unit: str) -> str:
    try:
        return shown(result_number(known, path), unit)
    except InputError:
        return "–"


def _at(xs: Any, ys: Any, x: float) -> float:
    return float(np.interp(x, xs, ys))
