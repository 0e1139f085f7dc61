"""Message boxes: what a file, a name or an error says is shown as it stands, never as markup."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QMessageBox, QWidget

Button = QMessageBox.StandardButton
_Icon = QMessageBox.Icon
_Role = QMessageBox.ButtonRole


def ask(parent: QWidget, title: str, text: str, buttons: Button, default: Button) -> Button:
    """Button that answers a question; the one for Escape where the box is closed.

    Parameters
    ----------
    parent : QWidget
        Window that waits.
    title, text : str
        Heading and question.
    buttons, default : Button
        Buttons to choose from, and the one for Return.
    """
    box = _box(parent, _Icon.Question, title, text)
    box.setStandardButtons(buttons)
    box.setDefaultButton(default)
    return Button(_answer(box))


def choose(
    parent: QWidget, title: str, text: str, choices: Sequence[str], *, default: int
) -> int | None:
    """Place of the choice taken; None where the question is left open (Cancel, Escape).

    Parameters
    ----------
    parent : QWidget
        Window that waits.
    title, text : str
        Heading and question.
    choices : sequence of str
        Words of the buttons, to which Cancel is added.
    default : int
        Place of the one for Return.
    """
    box = _box(parent, _Icon.Question, title, text)
    buttons = [box.addButton(words, _Role.AcceptRole) for words in choices]
    box.setEscapeButton(box.addButton(Button.Cancel))
    box.setDefaultButton(buttons[default])
    _answer(box)
    clicked = box.clickedButton()
    return next((place for place, button in enumerate(buttons) if button is clicked), None)


def warn(parent: QWidget, title: str, text: str) -> None:
    """Tell what could not be done."""
    _answer(_box(parent, _Icon.Warning, title, text))


def show_error(parent: QWidget, title: str, text: str) -> None:
    """Tell an error that was not foreseen."""
    _answer(_box(parent, _Icon.Critical, title, text))


def _box(parent: QWidget, icon: QMessageBox.Icon, title: str, text: str) -> QMessageBox:
    box = QMessageBox(parent)
    box.setTextFormat(Qt.TextFormat.PlainText)
    box.setIcon(icon)
    box.setWindowTitle(title)
    box.setText(text)
    return box


def _answer(box: QMessageBox) -> int:
    answer = box.exec()
    box.deleteLater()
    return answer
