"""Menus of the window; everything in them has a key."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Any

from PySide6.QtGui import QAction, QKeySequence
from PySide6.QtWidgets import QMainWindow, QMenu

from burstwise.app.document import Document
from burstwise.app.files import Files
from burstwise.app.places import RecentFiles

Keys = QKeySequence | QKeySequence.StandardKey | str


def add_action(
    menu: QMenu, text: str, act: Callable[[], object], keys: Keys | None = None
) -> QAction:
    """Action in a menu with its keys."""
    action = QAction(text, menu)
    if keys is not None:
        action.setShortcut(QKeySequence(keys))
    action.triggered.connect(lambda: act())
    menu.addAction(action)
    return action


def file_menu(
    window: QMainWindow, files: Files, recent: RecentFiles, examples: Mapping[str, Path]
) -> QMenu:
    """File menu; recent files and examples are submenus."""
    menu = window.menuBar().addMenu("&File")
    add_action(menu, "&New", files.new, QKeySequence.StandardKey.New)
    add_action(menu, "&Open…", files.ask_open, QKeySequence.StandardKey.Open)
    latest = menu.addMenu("Open &recent")
    shown = menu.addMenu("Open &example")
    menu.addSeparator()
    add_action(menu, "&Save", files.save, QKeySequence.StandardKey.Save)
    add_action(menu, "Save &as…", files.save_as, "Ctrl+Shift+S")
    menu.addSeparator()
    add_action(menu, "&Quit", window.close, "Ctrl+Q")

    def fill() -> None:
        latest.clear()
        for number, file in enumerate(recent.files, start=1):
            name = file.name.replace("&", "&&")  # a lone one would mark a key
            add_action(latest, f"&{number} {name}", partial(files.open, file))
        latest.setEnabled(not latest.isEmpty())
        if not latest.isEmpty():
            latest.addSeparator()
            add_action(latest, "&Clear the list", recent.clear)

    for title, file in examples.items():
        add_action(shown, title, partial(files.open_example, file))
    shown.setEnabled(not shown.isEmpty())
    menu.aboutToShow.connect(fill)
    fill()
    return menu


class _StepAction(QAction):
    """Undo or redo; its text names the step."""

    def __init__(self, word: str, menu: QMenu) -> None:
        super().__init__(word, menu)
        self._word = word

    def name_step(self, step: str) -> None:
        """Take the name of the step that it would undo or redo."""
        self.setText(f"{self._word} {step}".rstrip())


def edit_menu(
    window: QMainWindow, document: Document[Any], show_drawer: Callable[[], object]
) -> QMenu:
    """Edit menu: undo and redo name the step; the parts that the user has."""
    menu = window.menuBar().addMenu("&Edit")
    stack = document.undo_group
    undo, redo = _StepAction("&Undo", menu), _StepAction("&Redo", menu)
    undo.setShortcut(QKeySequence("Ctrl+Z"))
    redo.setShortcut(QKeySequence("Ctrl+Shift+Z"))
    undo.triggered.connect(document.undo)
    redo.triggered.connect(document.redo)
    stack.canUndoChanged.connect(undo.setEnabled)
    stack.canRedoChanged.connect(redo.setEnabled)
    stack.undoTextChanged.connect(undo.name_step)
    stack.redoTextChanged.connect(redo.name_step)
    for action in (undo, redo):
        action.setEnabled(False)
        menu.addAction(action)
    menu.addSeparator()
    add_action(menu, "What the dra&wer holds…", show_drawer, "Ctrl+D")
    return menu


def view_menu(
    window: QMainWindow,
    titles: list[str],
    *,
    show: Callable[[int], None],
    move: Callable[[int], None],
    to_findings: Callable[[], None],
    dark: bool,
    set_dark: Callable[[bool], None],
    ansi: bool,
    set_ansi: Callable[[bool], None],
) -> QMenu:
    """View menu: the look, the symbols, the screens by number, the findings."""
    menu = window.menuBar().addMenu("&View")
    look = add_action(menu, "&Dark look", lambda: set_dark(look.isChecked()), "Ctrl+Shift+D")
    look.setCheckable(True)
    look.setChecked(dark)
    zigzag = add_action(
        menu, "&Zigzag resistors (ANSI), not boxes (IEC)", lambda: set_ansi(zigzag.isChecked())
    )
    zigzag.setCheckable(True)
    zigzag.setChecked(ansi)
    menu.addSeparator()
    for index, title in enumerate(titles):
        key = (index + 1) % 10 if index < 10 else None
        words = title if key is None else f"&{key} {title}"
        add_action(menu, words, partial(show, index), None if key is None else f"Ctrl+{key}")
    menu.addSeparator()
    add_action(menu, "&Next screen", lambda: move(1), "Ctrl+PgDown")
    add_action(menu, "&Previous screen", lambda: move(-1), "Ctrl+PgUp")
    add_action(menu, "To the &findings", to_findings, "F6")
    return menu


@dataclass(frozen=True, slots=True)
class HelpActions:
    """What the Help menu does."""

    guide: Callable[[], object]
    this_screen: Callable[[], object]
    keys: Callable[[], object]
    start: Callable[[], object]
    report: Callable[[], object]
    about: Callable[[], object]


def help_menu(window: QMainWindow, acts: HelpActions) -> QMenu:
    """Help menu.

    The key of the guide to the screen stands in its text alone: the window takes it when no widget
    has an answer of its own.
    """
    menu = window.menuBar().addMenu("&Help")
    add_action(menu, "&Guide", acts.guide, "Shift+F1")
    add_action(menu, "Guide to &this screen\tF1", acts.this_screen)
    add_action(menu, "&Keys", acts.keys, "Ctrl+F1")
    add_action(menu, "&Start page", acts.start)
    menu.addSeparator()
    add_action(menu, "&Report a problem…", acts.report)
    add_action(menu, "&About", acts.about)
    return menu
