"""Lessons screen: list, the lesson that runs, and its presentation in large type."""

from __future__ import annotations

from html import escape
from pathlib import Path
from typing import cast

from PySide6.QtCore import QCoreApplication, Qt
from PySide6.QtGui import QKeyEvent, QKeySequence, QShortcut
from PySide6.QtWidgets import (
    QDialog,
    QHBoxLayout,
    QListWidget,
    QPushButton,
    QScrollArea,
    QVBoxLayout,
    QWidget,
)

from burstwise.app.file_dialogs import ask_folder
from burstwise.app.refusals import refusal
from burstwise.app.screens.lessons.handout import ask_and_save_handout
from burstwise.app.screens.lessons.pane import LessonPane
from burstwise.app.screens.lessons.run import LessonRun
from burstwise.app.session import Session
from burstwise.app.theme import Theme
from burstwise.app.widgets.caution import caution_line
from burstwise.app.widgets.drag import ARROWS
from burstwise.app.widgets.restyle import set_style_property
from burstwise.app.widgets.text_label import TextLabel
from burstwise.core.design.document import Design
from burstwise.core.errors import InputError
from burstwise.core.lessons.folder import own_lessons
from burstwise.core.lessons.lesson import Lesson, lessons
from burstwise.core.storage import SUFFIX

_SIDE_WIDTH = 288
WELCOME = (
    "Each lesson puts a design in hand, asks what will happen, lets you move one control, and "
    "answers with the numbers that this program computes. Your own design comes back by 'Back to "
    "my design' or by undo."
)


class LessonsScreen(QWidget):
    """List of lessons and the one that runs.

    Parameters
    ----------
    session : Session
        Document and results.
    theme : Theme
        Look.
    """

    def __init__(self, session: Session, theme: Theme) -> None:
        super().__init__()
        self._session, self._theme = session, theme
        self.lessons: tuple[Lesson, ...] = lessons()
        self._folder: Path | None = None
        self.run = LessonRun(session, self)
        self.pane = LessonPane(self.run, session, theme, parent=self)
        self.welcome = TextLabel(WELCOME, self, role="muted")
        self.about = TextLabel(self)
        self.list = QListWidget(self)
        self.begin = QPushButton("&Begin lesson", self)
        self.present = QPushButton("&Present…", self)
        self.hand_out = QPushButton("Hand-o&ut…", self)
        self.own = QPushButton("&Own lessons…", self)
        self.reset = QPushButton("&Reset for the next group", self)
        self.back = QPushButton("Back to my &design", self)
        self.status = TextLabel(self)
        self.presentation: Presentation | None = None
        self._lay_out()
        self.list.itemActivated.connect(lambda _item: self.begin_lesson())
        self.begin.clicked.connect(self.begin_lesson)
        self.present.clicked.connect(self.show_presentation)
        self.hand_out.clicked.connect(self._save_handout)
        self.own.clicked.connect(self._ask_own)
        self.reset.clicked.connect(self.start_over)
        self.back.clicked.connect(self.run.give_back)
        self.run.changed.connect(self._follow)
        self._follow()

    def _lay_out(self) -> None:
        heading = TextLabel("Lessons", self, role="heading")
        self.list.setAccessibleName("Lessons")
        set_style_property(self.list, "role", "screens")
        self.list.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.list.currentRowChanged.connect(self._tell_lesson)
        self._list_lessons()
        side = QWidget(self)
        side.setFixedWidth(_SIDE_WIDTH)
        left = QVBoxLayout(side)
        left.setContentsMargins(0, 0, 0, 0)
        left.addWidget(self.list, 1)
        left.addWidget(self.begin)
        left.addWidget(self.present)
        pair = QHBoxLayout()
        pair.addWidget(self.hand_out)
        pair.addWidget(self.own)
        left.addLayout(pair)
        for widget in (self.reset, self.back, self.status):
            left.addWidget(widget)
        self.welcome.setWordWrap(True)
        self.about.setWordWrap(True)
        self.status.setWordWrap(True)
        inner = QWidget(self)
        right = QVBoxLayout(inner)
        right.addWidget(self.welcome)
        right.addWidget(self.about)
        right.addWidget(self.pane, 1)
        right.addStretch(0)
        scroll = QScrollArea(self)
        scroll.setWidgetResizable(True)
        scroll.setWidget(inner)
        across = QHBoxLayout()
        across.addWidget(side)
        across.addWidget(scroll, 1)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(20, 12, 20, 12)
        layout.addWidget(heading)
        layout.addWidget(caution_line("lessons", self))
        layout.addLayout(across, 1)

    def begin_lesson(self) -> None:
        """Begin the lesson that is chosen in the list."""
        self.begin_number(self.list.currentRow())

    def begin_number(self, number: int) -> None:
        """Begin a lesson by its place in the list; beyond the ends nothing happens."""
        if not 0 <= number < len(self.lessons):
            return
        self.list.setCurrentRow(number)
        lesson = self.lessons[number]
        try:
            self.run.begin(lesson, self._example_of(lesson))
            self.status.setText("")
        except InputError as error:
            self.status.setText(f"■ {refusal(error)}")
        self.pane.setFocus()

    def _list_lessons(self) -> None:
        self.list.clear()
        for number, lesson in enumerate(self.lessons, start=1):
            self.list.addItem(f"{number}. {lesson.title}")
        self.list.setCurrentRow(0)

    def _example_of(self, lesson: Lesson) -> Design:
        """Design that a lesson starts from: an example, or a file beside the teacher's own.

        Raises
        ------
        InputError
            There is none.
        """
        files = {file.stem: file for file in self._session.job.examples().values()}
        if self._folder is not None:
            files |= {file.stem: file for file in self._folder.glob(f"*{SUFFIX}")}
        if lesson.example not in files:
            where = "an example of this program, or a design in the folder of the lesson"
            raise InputError("example", lesson.example, where)
        return cast(Design, self._session.job.load(files[lesson.example]))

    def _ask_own(self) -> None:
        folder = ask_folder(self, "Folder of your own lessons")
        if folder is not None:
            self.take_folder(folder)

    def take_folder(self, folder: Path) -> None:
        """List the lessons of a folder after the program's own; tell what cannot be used."""
        before, self._folder = self._folder, folder
        try:
            own = own_lessons(folder, self._example_of)
        except InputError as error:
            self._folder = before
            self.status.setText(f"■ {refusal(error)}")
            return
        self.run.give_back()
        self.lessons = (*lessons(), *own.lessons)
        self._list_lessons()
        if own.lessons:
            self.list.setCurrentRow(len(self.lessons) - len(own.lessons))
        count = f"{len(own.lessons)} lessons from {folder.name}."
        problems = "".join(f"\n■ {problem}" for problem in own.problems)
        self.status.setText(f"{count}{problems}")

    def start_over(self) -> None:
        """The first lesson again, nothing predicted, for the next group."""
        self.run.give_back()
        self.list.setCurrentRow(0)
        self.status.setText("")
        self.list.setFocus()

    def _save_handout(self) -> None:
        row = self.list.currentRow()
        if 0 <= row < len(self.lessons):
            ask_and_save_handout(self, self.lessons[row])

    def show_presentation(self) -> None:
        """Show the lesson in large type; it begins if none runs."""
        if self.run.lesson is None:
            self.begin_lesson()
        self.presentation = Presentation(self)
        self.presentation.showFullScreen()

    def _tell_lesson(self, row: int) -> None:
        if 0 <= row < len(self.lessons):
            lesson = self.lessons[row]
            self.about.set_markup(
                f"<p><b>{escape(lesson.title)}</b></p><p>{escape(lesson.intro)}</p>"
                f"<p>{escape(lesson.question)}</p>"
            )

    def _follow(self) -> None:
        running = self.run.lesson is not None
        self.welcome.setVisible(not running)
        self.about.setVisible(not running)
        self.back.setEnabled(running)


class Presentation(QDialog):
    """One lesson for a room: large type, one plot; Page Down and Page Up change the lesson."""

    def __init__(self, screen: LessonsScreen) -> None:
        super().__init__(screen.window())
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.setWindowTitle("Lesson")
        self._screen = screen
        self.pane = LessonPane(screen.run, screen._session, screen._theme, large=True, parent=self)
        hint = TextLabel(
            "1 to 3 predict  ·  arrows move the control  ·  Page Down next lesson  ·  Page Up "
            "lesson before  ·  Home again  ·  Escape ends",
            self,
            role="muted",
        )
        layout = QVBoxLayout(self)
        # The wish of wrapped words for height is larger than their need: the window's size rules.
        layout.setSizeConstraint(QVBoxLayout.SizeConstraint.SetNoConstraint)
        layout.setContentsMargins(32, 24, 32, 16)
        layout.addWidget(self.pane, 1)
        layout.addWidget(hint)
        self.resize(screen.window().size())
        self.pane.setFocus()
        for keys, go in (
            (Qt.Key.Key_PageDown, lambda: self._go(1)),
            (Qt.Key.Key_PageUp, lambda: self._go(-1)),
            (Qt.Key.Key_Home, lambda: self._go(0)),
        ):
            # Shortcuts come before a slider or a field takes the key for itself.
            QShortcut(QKeySequence(keys), self).activated.connect(go)

    def _go(self, steps: int) -> None:
        """Go on or back in the lessons, round the ends, or begin this one again."""
        count = len(self._screen.lessons)
        self._screen.begin_number((self._screen.list.currentRow() + steps) % count)
        self.pane.setFocus()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Arrows that nothing took move the control."""
        control = self.pane.control_widget
        if Qt.Key(event.key()) in ARROWS and control is not None:
            control.setFocus()
            QCoreApplication.sendEvent(control, event)
            return
        super().keyPressEvent(event)
