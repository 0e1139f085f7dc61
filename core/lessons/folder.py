"""A teacher's own lessons: files of a folder, checked one by one with what is wrong in words."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from burstwise.core.design.document import Design, value_at
from burstwise.core.errors import FileError, InputError
from burstwise.core.lessons.lesson import Lesson, lesson_from, start_design

SUFFIX: Final = ".json"
_LONGEST: Final = 200_000
"""Longest lesson file that is read [bytes]; the program's own have some 4000."""


@dataclass(frozen=True, slots=True)
class OwnLessons:
    """Lessons that can be used, and a sentence for each file that cannot."""

    lessons: tuple[Lesson, ...]
    problems: tuple[str, ...]


def own_lessons(folder: Path, example_of: Callable[[Lesson], Design]) -> OwnLessons:
    """Lessons of a folder in the order of their file names.

    Parameters
    ----------
    folder : Path
        Folder with lesson files, see `docs/guide/lessons.md`.
    example_of : callable
        Design that a lesson starts from; raises `InputError` where there is none.

    Raises
    ------
    FileError
        The folder cannot be read.
    """
    try:
        files = sorted(path for path in folder.iterdir() if path.suffix.lower() == SUFFIX)
    except OSError as error:
        raise FileError(folder, error.strerror, "a folder that can be read") from error
    found: list[Lesson] = []
    problems = []
    for file in files:
        try:
            lesson = _read(file)
            check_lesson(lesson, example_of(lesson), taken=(other.name for other in found))
            found.append(lesson)
        except InputError as error:
            problems.append(f"{file.name}: {error}")
    if not files:
        problems.append(f"No file ending in {SUFFIX} in {folder}")
    return OwnLessons(tuple(found), tuple(problems))


def _read(file: Path) -> Lesson:
    try:
        if file.stat().st_size > _LONGEST:
            raise FileError(file, "a longer file", f"a lesson of at most {_LONGEST} bytes")
        return lesson_from(file.read_text(encoding="utf-8"), file.name)
    except UnicodeDecodeError as error:
        raise FileError(file, "other bytes", "text in UTF-8") from error
    except OSError as error:
        raise FileError(file, error.strerror, "a file that can be read") from error


def check_lesson(lesson: Lesson, example: Design, *, taken: Iterable[str] = ()) -> None:
    """Refuse a lesson whose parts do not fit each other or the design.

    Raises
    ------
    InputError
        Names the field of the lesson and what it must be.
    """
    if lesson.name in set(taken):
        raise InputError("name", lesson.name, "a name that no other lesson of the folder has")
    start = start_design(lesson, example)
    _check_field(lesson.control.path, start)
    control, goal = lesson.control, lesson.goal
    if control.options:
        if goal.option is None or not 0 <= goal.option < len(control.options):
            raise InputError("goal.option", goal.option, "the number of one of the options, from 0")
        return
    if not control.low < control.high or (control.log and control.low <= 0.0):
        raise InputError("control.low", control.low, "below control.high, above 0 with log")
    low = control.low if goal.low is None else goal.low
    high = control.high if goal.high is None else goal.high
    if not (low < high and low < control.high and high > control.low):
        raise InputError("goal", (low, high), "a range that the control reaches, low below high")


def _check_field(path: str, design: Design) -> None:
    try:
        value: Any = value_at(design, path)
    except (InputError, AttributeError, KeyError) as error:
        raise InputError("control.path", path, "a field of the design") from error
    del value
