"""Sheet of a lesson to hand out: question, choices to tick, task, figures to write down."""

from __future__ import annotations

from functools import partial
from pathlib import Path

from PySide6.QtWidgets import QWidget

from burstwise.app.saving import ask_and_save, write_sheet
from burstwise.core.assembly.cautions import line
from burstwise.core.lessons.lesson import Lesson
from burstwise.core.report.sheet import Paragraph, Section, Sheet, Table
from burstwise.core.version import VERSION

KINDS = "Hand-out (*.pdf);;Hand-out for the browser (*.html)"


def handout(lesson: Lesson) -> Sheet:
    """Sheet of a lesson; the answer is not on it."""
    choices = tuple(Paragraph(f"☐ {choice.text}", "item") for choice in lesson.choices)
    rows = tuple((item.title, item.unit or "–", "", "") for item in lesson.watch)
    return Sheet(
        title=lesson.title,
        subtitle="Lesson hand-out. Name:                                Date:",
        mark=f"Burstwise {VERSION}",
        sections=(
            Section("What is known", (Paragraph(lesson.intro),)),
            Section("Predict", (Paragraph(lesson.question), *choices)),
            Section("Do it", (Paragraph(lesson.task),)),
            Section(
                "Write down",
                (Table(("Figure", "Unit", "before", "now"), rows, (4, 1, 2, 2)),),
            ),
            Section(
                "Why",
                (
                    Paragraph("Which choice did the figures bear out, and why?"),
                    Paragraph("\n" * 5),
                    Paragraph(line("lessons"), "caution"),
                ),
            ),
        ),
    )


def save_handout(lesson: Lesson, file: Path) -> None:
    """Write the hand-out as PDF or HTML.

    Raises
    ------
    FileError
        Another suffix, or the file cannot be written.
    """
    write_sheet(handout(lesson), file)


def ask_and_save_handout(parent: QWidget, lesson: Lesson) -> None:
    """Ask for a file and write the hand-out there."""
    save = partial(save_handout, lesson)
    ask_and_save(parent, "Save hand-out", KINDS, f"{lesson.name}.pdf", save)
