"""Figures with names and units, aligned in named groups; painted, so that a drag costs little."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from PySide6.QtCore import QRect, QSize, Qt, Signal
from PySide6.QtGui import QColor, QFont, QKeyEvent, QMouseEvent, QPainter, QPaintEvent
from PySide6.QtWidgets import QSizePolicy, QWidget

from burstwise.app.theme import Theme, Tokens, mark
from burstwise.core.findings import Severity

_PAD: Final = 2
_GROUP_GAP: Final = 5


@dataclass(frozen=True, slots=True)
class Figure:
    """One row: a name, the value as text with unit, and how near its limit it is.

    `severity` is None for a value without a limit or well below it. `key` names the result for an
    explanation; rows without one cannot be chosen.
    """

    name: str
    value: str
    severity: Severity | None = None
    key: str = ""


@dataclass(frozen=True, slots=True)
class Group:
    """Rows under a heading."""

    title: str
    figures: tuple[Figure, ...]


class FigureTable(QWidget):
    """Table of figures; the same rows stay in place while their values change.

    A row with a key is chosen by a click or the arrow keys; `asked` is sent on a double click.

    Parameters
    ----------
    theme : Theme
        Colours, followed when they change.
    """

    asked = Signal()

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._tokens = theme.tokens
        self._groups: tuple[Group, ...] = ()
        self._key = ""
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setContextMenuPolicy(Qt.ContextMenuPolicy.ActionsContextMenu)
        self.setAccessibleName("Key figures")
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

    @property
    def chosen_key(self) -> str | None:
        """Key of the chosen row, or None."""
        return self._key if self._key in self._keys() else None

    def _keys(self) -> list[str]:
        return [figure.key for group in self._groups for figure in group.figures if figure.key]

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Choose the row above or below."""
        step = {Qt.Key.Key_Down: 1, Qt.Key.Key_Up: -1}.get(Qt.Key(event.key()))
        keys = self._keys()
        if step is None or not keys:
            super().keyPressEvent(event)
            return
        if self._key in keys:
            place = min(max(keys.index(self._key) + step, 0), len(keys) - 1)
        else:
            place = 0 if step > 0 else len(keys) - 1
        self._choose(keys[place])

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Choose the row under the pointer."""
        key = self._key_at(event.position().toPoint().y())
        if key:
            self._choose(key)
        super().mousePressEvent(event)

    def mouseDoubleClickEvent(self, event: QMouseEvent) -> None:
        """Ask for the explanation of the row under the pointer."""
        if self._key_at(event.position().toPoint().y()):
            self.asked.emit()

    def _choose(self, key: str) -> None:
        self._key = key
        self.update()

    def _key_at(self, height: int) -> str:
        return next(
            (key for top, key in self._tops() if top <= height < top + self._row_height()), ""
        )

    def row_top(self, key: str) -> int:
        """Upper edge of the row with a key, for tests that click on it."""
        return next(top for top, found in self._tops() if found == key)

    def _tops(self) -> list[tuple[int, str]]:
        row, top, tops = self._row_height(), 0, []
        for group in self._groups:
            top += row
            for figure in group.figures:
                tops.append((top, figure.key))
                top += row
            top += _GROUP_GAP
        return tops

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
            if self.hasFocus():
                painter.setPen(QColor(self._tokens.accent))
                painter.drawRect(self.rect().adjusted(0, 0, -1, -1))
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
                    if figure.key and figure.key == self._key:
                        painter.fillRect(line, QColor(self._tokens.line))
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
