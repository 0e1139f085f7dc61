"""Bars of how much of each limit is used, with the verdict's shape, as a column of a table."""

from __future__ import annotations

import math
from typing import Final

from PySide6.QtCore import QModelIndex, QPersistentModelIndex, QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QBrush, QColor, QPainter, QPen
from PySide6.QtWidgets import QStyleOptionViewItem, QWidget

from burstwise.app.theme import Theme, mark
from burstwise.app.widgets.wrapped_table import RoomyCells
from burstwise.core.findings import Severity
from burstwise.core.limits.ratings import verdict_of
from burstwise.core.units import percent

MARGIN: Final = int(Qt.ItemDataRole.UserRole) + 1
"""Role of the margin that a cell draws."""
HEADING: Final = "Of the limit"
_FULL: Final = 1.25
"""Share of the limit at the right end of the column."""
_BAR: Final = 10
_SIDE: Final = 8
_LEAST: Final = 120
_PATTERNS: Final = {
    None: Qt.BrushStyle.SolidPattern,
    Severity.NOTE: Qt.BrushStyle.SolidPattern,
    Severity.CAUTION: Qt.BrushStyle.BDiagPattern,
    Severity.STOP: Qt.BrushStyle.DiagCrossPattern,
}


def used_share(margin: float) -> float:
    """Part of the limit that is used, over the column's reach; 1.25 and more fill it.

    Examples
    --------
    >>> used_share(0.2), used_share(-math.inf), used_share(math.inf)
    (0.8, 1.25, 0.0)
    """
    return min(max(1.0 - margin, 0.0), _FULL)


def share_text(margin: float) -> str:
    """What a bar says, in words.

    Examples
    --------
    >>> share_text(0.2), share_text(-0.1), share_text(-math.inf), share_text(math.inf)
    ('80 % of the limit', '110 % of the limit', 'runs away', 'none of the limit')
    """
    if math.isinf(margin):
        return "runs away" if margin < 0 else "none of the limit"
    return f"{percent(1.0 - margin)} of the limit"


class MarginBars(RoomyCells):
    """Draws the margins of a column; verdicts differ by colour, filling and shape.

    Parameters
    ----------
    theme : Theme
        Colours in force when a cell is drawn.
    """

    def __init__(self, theme: Theme, parent: QWidget) -> None:
        super().__init__(parent)
        self._theme = theme

    def sizeHint(
        self, option: QStyleOptionViewItem, index: QModelIndex | QPersistentModelIndex
    ) -> QSize:
        """Room for a short bar and its mark."""
        return QSize(_LEAST, super().sizeHint(option, index).height())

    def paint(
        self,
        painter: QPainter,
        option: QStyleOptionViewItem,
        index: QModelIndex | QPersistentModelIndex,
    ) -> None:
        """Draw ground, the limit's line, the bar and its mark."""
        super().paint(painter, option, index)
        margin = index.data(MARGIN)
        if not isinstance(margin, float):
            return
        box = QRectF(option.rect).adjusted(_SIDE, 0, -_SIDE - _BAR, 0)
        severity = verdict_of(margin).severity
        ink = QColor(self._theme.tokens.severity(severity))
        middle, limit = box.center().y(), box.left() + box.width() / _FULL
        painter.save()
        painter.setRenderHint(QPainter.RenderHint.Antialiasing, False)
        painter.setPen(QPen(QColor(self._theme.tokens.muted), 1))
        painter.drawLine(QPointF(limit, option.rect.top()), QPointF(limit, option.rect.bottom()))
        painter.setPen(QPen(ink, 1))
        painter.setBrush(QBrush(ink, _PATTERNS[severity]))
        length = max(box.width() * used_share(margin) / _FULL, 1.0)
        painter.drawRect(QRectF(box.left(), middle - _BAR / 2, length, _BAR))
        glyph = QRectF(box.left() + length + 3, option.rect.top(), 16, option.rect.height())
        painter.drawText(glyph, Qt.AlignmentFlag.AlignVCenter, mark(severity).glyph)
        painter.restore()
