"""Small pieces that the pages of the bench screen are made of."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from html import escape

from PySide6.QtCore import Qt
from PySide6.QtGui import QColor
from PySide6.QtWidgets import (
    QAbstractItemView,
    QHeaderView,
    QLabel,
    QScrollArea,
    QTableWidgetItem,
    QVBoxLayout,
    QWidget,
)

from burstwise.app.theme import Tokens, mark
from burstwise.app.widgets.restyle import set_style_property
from burstwise.app.widgets.text_label import TextLabel, set_tip
from burstwise.app.widgets.words import minus, unbroken
from burstwise.app.widgets.wrapped_table import WrappedTable
from burstwise.core.findings import Finding


def title(text: str, parent: QWidget) -> QLabel:
    """Heading of a part of a page."""
    label = TextLabel(text, parent, role="title")
    return label


def paragraph(parent: QWidget, text: str = "", *, role: str = "muted") -> TextLabel:
    """Words that wrap and can be marked with the mouse."""
    label = TextLabel(text, parent, wraps=True)
    label.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
    set_style_property(label, "role", role)
    return label


def findings_html(findings: Iterable[Finding], tokens: Tokens) -> str:
    """Findings as lines with glyph, word and colour."""
    lines = []
    for finding in findings:
        shape = mark(finding.severity)
        text = escape(unbroken(minus(finding.text)))
        colour = tokens.severity(finding.severity)
        lines.append(
            f'<p style="margin:0 0 3px 0"><span style="color:{colour}">{shape.glyph} '
            f"{shape.word}:</span> {text}</p>"
        )
    return "".join(lines)


def side_column(parts: Sequence[QWidget], *, width: int, parent: QWidget) -> QScrollArea:
    """Column of parts of fixed width that scrolls up and down."""
    inner = QWidget()
    down = QVBoxLayout(inner)
    down.setContentsMargins(0, 0, 6, 0)
    for part in parts:
        down.addWidget(part)
    down.addStretch(1)
    area = QScrollArea(parent)
    area.setWidgetResizable(True)
    area.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
    area.setWidget(inner)
    area.setFixedWidth(width)
    return area


class Rows(WrappedTable):
    """Read-only table of words and figures.

    Parameters
    ----------
    name : str
        For screen readers.
    titles : sequence of str
        Headers.
    wide : int
        Column that takes the room that is left.
    left : sequence of int
        Columns of words; all others are aligned right.
    widths : mapping of int to int
        Fixed widths of columns [px]; the others are as wide as their contents.
    """

    def __init__(
        self,
        name: str,
        titles: Sequence[str],
        *,
        wide: int,
        left: Sequence[int] = (0,),
        widths: Mapping[int, int] | None = None,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(titles, name=name, parent=parent)
        self._left = frozenset(left)
        self.align_headings(set(range(len(titles))) - self._left)
        self.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        self.setAlternatingRowColors(True)
        header = self.horizontalHeader()
        header.setSectionResizeMode(QHeaderView.ResizeMode.ResizeToContents)
        header.setSectionResizeMode(wide, QHeaderView.ResizeMode.Stretch)
        for column, width in (widths or {}).items():
            header.setSectionResizeMode(column, QHeaderView.ResizeMode.Fixed)
            self.setColumnWidth(column, width)
        self.verticalHeader().setSectionResizeMode(QHeaderView.ResizeMode.ResizeToContents)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAsNeeded)

    def show_rows(
        self, rows: Sequence[Sequence[str]], *, colours: Sequence[str | None] = ()
    ) -> None:
        """Replace all rows; a colour goes with words of the same meaning in the row."""
        self.setRowCount(len(rows))
        for down, cells in enumerate(rows):
            colour = colours[down] if down < len(colours) else None
            for across, text in enumerate(map(minus, cells)):
                item = QTableWidgetItem(text)
                side = (
                    Qt.AlignmentFlag.AlignLeft
                    if across in self._left
                    else Qt.AlignmentFlag.AlignRight
                )
                item.setTextAlignment(side | Qt.AlignmentFlag.AlignVCenter)
                set_tip(item, text)
                if colour is not None:
                    item.setForeground(QColor(colour))
                self.setItem(down, across, item)

    def texts(self) -> list[list[str]]:
        """All cells as words."""
        found = []
        for row in range(self.rowCount()):
            items = [self.item(row, column) for column in range(self.columnCount())]
            found.append([item.text() if item is not None else "" for item in items])
        return found
