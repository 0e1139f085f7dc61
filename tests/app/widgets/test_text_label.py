"""Words of a file are shown as they are written, in labels and in tips."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QTextDocument
from PySide6.QtWidgets import QPushButton

import burstwise.app
from burstwise.app.widgets.text_label import TextLabel, as_tip, set_tip

MARKED = ["<b>mine</b>", "5 V <img src='/etc/hostname'> now", "<a href='x'>&amp;</a>", "a < b"]


@pytest.mark.parametrize("text", MARKED)
def test_a_label_shows_what_is_written(qtbot, text: str) -> None:
    label, by_constructor = TextLabel(), TextLabel(text)
    for each in (label, by_constructor):
        qtbot.addWidget(each)
    label.set_markup("<i>own words</i>")
    assert label.textFormat() is Qt.TextFormat.RichText
    label.setText(text)
    for each in (label, by_constructor):
        assert each.textFormat() is Qt.TextFormat.PlainText
        # As wide as its letters: what acts as markup takes no room.
        assert each.sizeHint().width() >= each.fontMetrics().horizontalAdvance(text)


@pytest.mark.parametrize("text", [*MARKED, "first line <b>\nsecond   line"])
def test_a_tip_shows_what_is_written(qtbot, text: str) -> None:
    button = QPushButton()
    qtbot.addWidget(button)
    set_tip(button, text)
    shown = button.toolTip()
    if shown != text:
        read = QTextDocument()
        read.setHtml(shown)
        shown = read.toPlainText().replace("\u2028", "\n")
    assert shown == text
    assert as_tip("plain") == "plain"


def calls(tree: ast.AST) -> list[ast.Call]:
    return [node for node in ast.walk(tree) if isinstance(node, ast.Call)]


def test_labels_and_tips_are_made_here_and_nowhere_else() -> None:
    folder = Path(burstwise.app.__file__).parent
    found = []
    for file in sorted(folder.rglob("*.py")):
        if file.name == "text_label.py":
            continue
        for call in calls(ast.parse(file.read_text("utf-8"))):
            name = getattr(call.func, "attr", getattr(call.func, "id", ""))
            fixed = all(isinstance(each, ast.Constant) for each in call.args)
            if name == "QLabel" or (name == "setToolTip" and not fixed):
                found.append(f"{file.relative_to(folder)}:{call.lineno} {name}")
    assert found == []
