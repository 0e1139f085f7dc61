"""Page of a screen: heading, and groups in columns that scroll when they do not fit."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QHBoxLayout, QScrollArea, QVBoxLayout, QWidget

from app.widgets.restyle import set_style_property
from app.widgets.text_label import TextLabel


class Page(QScrollArea):
    """Scrolling page with a heading and columns of groups.

    Parameters
    ----------
    heading : str
        Name of the screen.
    columns : sequence of sequences of QWidget
        Groups from top to bottom, per column from left to right.
    """

    def __init__(
        self, heading: str, columns: Sequence[Sequence[QWidget]], parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self.setWidgetResizable(True)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAsNeeded)
        inner = QWidget()
        label = TextLabel(heading, inner)
        set_style_property(label, "role", "heading")
        across = QHBoxLayout()
        across.setSpacing(16)
        for groups in columns:
            down = QVBoxLayout()
            down.setSpacing(8)
            for group in groups:
                down.addWidget(group)
            down.addStretch(1)
            across.addLayout(down, 1)
        layout = QVBoxLayout(inner)
        layout.setContentsMargins(20, 14, 20, 14)
        layout.addWidget(label)
        layout.addLayout(across)
        layout.addStretch(1)
        self.setWidget(inner)
