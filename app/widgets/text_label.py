"""Labels and tips that show a text as it is written: a file's words never act as markup.

Qt takes a text with a tag in it for rich text, which may load pictures by their path.
"""

from __future__ import annotations

from html import escape
from typing import Protocol

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QLabel, QWidget


class TextLabel(QLabel):
    """Label of plain text; `set_markup` is for words of the program's own, the rest escaped.

    Parameters
    ----------
    text : str or QWidget
        Text, or the parent of a label that is empty for now, as Qt has it.
    parent : QWidget, optional
        Where it stands.
    wraps : bool
        Whether long texts go on in a next line.
    role : str
        Kind of words that the style sheet has a look for: ``"title"``, ``"muted"``, ...
    """

    def __init__(
        self,
        text: str | QWidget | None = "",
        parent: QWidget | None = None,
        *,
        wraps: bool = False,
        role: str = "",
    ) -> None:
        words, owner = (text, parent) if isinstance(text, str) else ("", text)
        super().__init__(words, owner, textFormat=Qt.TextFormat.PlainText)
        self.setWordWrap(wraps)
        if role:
            self.setProperty("role", role)

    def setText(self, text: str) -> None:
        """Show a text as it is written."""
        self.setTextFormat(Qt.TextFormat.PlainText)
        super().setText(text)

    def set_markup(self, markup: str) -> None:
        """Show marked-up words; what does not come from the program must be escaped."""
        self.setTextFormat(Qt.TextFormat.RichText)
        super().setText(markup)


class _HasTip(Protocol):
    def setToolTip(self, toolTip: str, /) -> None: ...


def as_tip(text: str) -> str:
    """Text for a tip, escaped where Qt might take it for markup: tips have no plain format.

    Examples
    --------
    >>> as_tip("R1 of 3 Ω"), "&lt;b&gt;" in as_tip("<b>mine</b>")
    ('R1 of 3 Ω', True)
    """
    if "<" not in text:
        return text
    return f'<p style="white-space: pre-wrap">{escape(text)}</p>'


def set_tip(target: _HasTip, text: str) -> None:
    """Give a widget, or an item of a list or table, a tip that shows a text as it is written."""
    target.setToolTip(as_tip(text))
