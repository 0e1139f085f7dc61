"""Message boxes show words as they stand, whatever a file or its name says."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QFileDialog, QWidget

import burstwise.app
from burstwise.app.messages import Button, ask, choose, show_error, warn
from burstwise.app.plots.axis import Axis
from burstwise.app.plots.export import ask_and_export
from burstwise.app.plots.line_plot import LinePlot
from burstwise.app.saving import ask_and_save
from burstwise.app.window import MainWindow
from burstwise.core.errors import FileError

MARKUP = "<b>bold</b><img src='/etc/hostname'>&amp;"


@pytest.fixture
def parent(qtbot) -> QWidget:
    made = QWidget()
    qtbot.addWidget(made)
    return made


def test_markup_in_every_kind_of_box_is_shown_as_it_stands(parent: QWidget, boxes) -> None:
    boxes.answer("No", "OK", "OK", "second")
    assert ask(parent, "Q", MARKUP, Button.Yes | Button.No, Button.Yes) == Button.No
    warn(parent, "W", MARKUP)
    show_error(parent, "E", MARKUP)
    assert choose(parent, "C", MARKUP, ["first", "second"], default=0) == 1
    assert boxes.said == [MARKUP] * 4
    assert boxes.shown_as_text == [True] * 4
    assert boxes.titles == ["Q", "W", "E", "C"]


@pytest.mark.parametrize(("key", "place"), [("Escape", None), ("Return", 1)])
def test_keys_answer_a_choice(parent: QWidget, boxes, key: str, place: int | None) -> None:
    boxes.answer(getattr(Qt.Key, f"Key_{key}"))
    assert choose(parent, "C", "Which?", ["first", "second"], default=1) == place


def test_cancel_leaves_a_choice_open(parent: QWidget, boxes) -> None:
    boxes.answer("Cancel")
    assert choose(parent, "C", "Which?", ["first"], default=0) is None
    assert boxes.offered == [["first", "Cancel"]]


def test_a_box_is_gone_once_it_is_answered(parent: QWidget, boxes, qtbot) -> None:
    boxes.answer("OK")
    warn(parent, "W", "Words")
    qtbot.waitUntil(lambda: parent.children() == [])


def test_a_files_words_in_the_boxes_of_the_window(window: MainWindow, boxes, tmp_path) -> None:
    file = tmp_path / "<b>coil<b>.json"
    file.write_text("{}")
    boxes.answer("OK")
    assert not window.files.open(file)
    assert "<b>coil<b>.json" in boxes.said[0]


def test_a_files_words_where_a_plot_or_a_sheet_is_not_saved(
    qtbot, theme, boxes, monkeypatch, tmp_path
) -> None:
    wrong = tmp_path / "<i>coil.doc"
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *rest: (str(wrong), ""))
    plot = LinePlot(theme, x=Axis("Time", "s"), y=Axis("Current", "A"), curves=("one",))
    qtbot.addWidget(plot)

    def refuse(file: Path) -> None:
        raise FileError(file, "a bad day", "a good one")

    boxes.answer("OK", "OK")
    ask_and_export(plot)
    ask_and_save(plot, "Save", "Table (*.csv)", "x.csv", refuse)
    assert ["<i>coil.doc" in text for text in boxes.said] == [True, True]


def test_no_other_module_shows_a_message_box() -> None:
    folder = Path(burstwise.app.__file__).parent
    users = {
        str(file.relative_to(folder))
        for file in folder.rglob("*.py")
        if re.search(r"QMessageBox|QErrorMessage", file.read_text(encoding="utf-8"))
    }
    assert users == {"messages.py"}
