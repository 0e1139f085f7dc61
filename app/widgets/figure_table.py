"""Figures with names and units, aligned in named groups; painted, so that a drag costs little."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from PySide6.QtCore import QRect, QSize, Qt
from PySide6.QtGui import QColor, QFont, QPainter, QPaintEvent
from PySide6.QtWidgets import QSizePolicy, QWidget

from app.theme import Theme, Tokens, mark
from core.findings import Severity

_PAD: Final = 2
_GROUP_GAP: Final = 5


@dataclass(frozen=True, slots=True)
class Figure:
    """One row: a name, the value as text with unit, and how near its limit it is.

    `severity` is None for a value without a limit or well below it.
    """

    name: str
    value: str
    severity: Severity | None = None


@dataclass(frozen=True, slots=True)
class Group:
    """Rows under a heading."""

    title: str
    figures: tuple[Figure, ...]


class FigureTable(QWidget):
    """Table of figures; the same rows stay in place while their values change.

    Parameters
    ----------
    theme : Theme
        Colours, followed when they change.
    """

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._tokens = theme.tokens
        self._groups: tuple[Group, ...] = ()
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        theme.changed.connect(self._recolour)

    @property
    def groups(self) -> tuple[Group, ...]:
        """Rows in view."""
        return self._groups

    def value(self, name: str) -> str:
        """Value shown under a name.

        Raises
        ------
        KeyError
            No such row.
        """
        for group in self._groups:
            for figure in group.figures:
                if figure.name == name:
                    return figure.value
        raise KeyError(name)

    def show_groups(self, groups: Sequence[Group]) -> None:
        """Replace the rows."""
        grown = [len(group.figures) for group in groups] != [
            len(group.figures) for group in self._groups
        ]
        self._groups = tuple(groups)
        if grown:
            self.updateGeometry()
        self.update()

    def describe(self) -> str:
        """All rows as words, for screen readers and for tests."""
        return "; ".join(
            f"{figure.name} {figure.value}" for group in self._groups for figure in group.figures
        )

    def sizeHint(self) -> QSize:
        """Height of all rows."""
        rows = sum(1 + len(group.figures) for group in self._groups)
        return QSize(280, rows * self._row_height() + _GROUP_GAP * max(len(self._groups) - 1, 0))

    def minimumSizeHint(self) -> QSize:
        """As the size hint: rows are not cut off."""
        return self.sizeHint()

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint the rows."""
        row, top, metrics = self._row_height(), 0, self.fontMetrics()
        left_side = Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter
        right_side = Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter
        bold = QFont(self.font())
        bold.setWeight(QFont.Weight.DemiBold)
        with QPainter(self) as painter:
            for group in self._groups:
                painter.setPen(QColor(self._tokens.text))
                painter.setFont(bold)
                painter.drawText(QRect(0, top, self.width(), row), left_side, group.title)
                painter.setFont(self.font())
                painter.setPen(QColor(self._tokens.line))
                painter.drawLine(0, top + row - 1, self.width(), top + row - 1)
                top += row
                for figure in group.figures:
                    line = QRect(0, top, self.width(), row)
                    painter.setPen(QColor(self._tokens.muted))
                    painter.drawText(line, left_side, figure.name)
                    painter.setPen(QColor(self._tokens.text))
                    text = figure.value
                    if figure.severity is not None:
                        painter.setPen(QColor(self._tokens.severity(figure.severity)))
                        text = f"{mark(figure.severity).glyph} {text}"
                    room = self.width() - metrics.horizontalAdvance(figure.name) - _PAD
                    painter.drawText(
                        line, right_side, metrics.elidedText(text, Qt.TextElideMode.ElideLeft, room)
                    )
                    top += row
                top += _GROUP_GAP

    def _row_height(self) -> int:
        return self.fontMetrics().height() + _PAD

    def _recolour(self, tokens: Tokens) -> None:
        self._tokens = tokens
        self.update()
