"""Shares of a whole as a short list of bars, each with name, value and per cent."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from PySide6.QtCore import QRect, QRectF, QSize, Qt
from PySide6.QtGui import QBrush, QColor, QPainter, QPaintEvent
from PySide6.QtWidgets import QSizePolicy, QWidget

from burstwise.app.theme import Theme, Tokens
from burstwise.core.units import percent

_BAR: Final = 9
_GAP: Final = 1
_VALUE_WIDTH_TEXT: Final = "888 mW 100 %"


@dataclass(frozen=True, slots=True)
class Share:
    """One bar: name, value as text, part of the whole; `marked` bars are filled solid."""

    name: str
    value: str
    part: float
    marked: bool = False


class ShareBars(QWidget):
    """Bars by size; marked ones solid, the others hatched, so that they differ without colour.

    Parameters
    ----------
    theme : Theme
        Colours, followed when they change.
    """

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._tokens = theme.tokens
        self._shares: tuple[Share, ...] = ()
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        theme.changed.connect(self._recolour)

    @property
    def shares(self) -> tuple[Share, ...]:
        """Bars in view, the largest first."""
        return self._shares

    def show_shares(self, shares: Sequence[Share]) -> None:
        """Replace the bars."""
        ordered = tuple(sorted(shares, key=lambda share: -share.part))
        grown = len(ordered) != len(self._shares)
        self._shares = ordered
        if grown:
            self.updateGeometry()
        self.update()

    def sizeHint(self) -> QSize:
        """Height of all bars."""
        return QSize(280, len(self._shares) * self._row_height())

    def minimumSizeHint(self) -> QSize:
        """As the size hint: bars are not cut off."""
        return self.sizeHint()

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint the bars."""
        metrics, row = self.fontMetrics(), self._row_height()
        names = max((metrics.horizontalAdvance(s.name) for s in self._shares), default=0) + 8
        values = metrics.horizontalAdvance(_VALUE_WIDTH_TEXT) + 6
        full = max(self.width() - names - values, 20)
        middle = Qt.AlignmentFlag.AlignVCenter
        with QPainter(self) as painter:
            for place, share in enumerate(self._shares):
                top = place * row
                painter.setPen(QColor(self._tokens.muted))
                line = QRect(0, top, self.width(), row)
                painter.drawText(line, Qt.AlignmentFlag.AlignLeft | middle, share.name)
                length = max(full * min(max(share.part, 0.0), 1.0), 1.0)
                bar = QRectF(names, top + (row - _BAR) / 2, length, _BAR)
                ink = QColor(self._tokens.accent if share.marked else self._tokens.muted)
                painter.setPen(ink)
                style = Qt.BrushStyle.SolidPattern if share.marked else Qt.BrushStyle.BDiagPattern
                painter.setBrush(QBrush(ink, style))
                painter.drawRect(bar)
                painter.setPen(QColor(self._tokens.text))
                text = f"{share.value} {percent(share.part):>5}"
                painter.drawText(line, Qt.AlignmentFlag.AlignRight | middle, text)

    def _row_height(self) -> int:
        return self.fontMetrics().height() + _GAP

    def _recolour(self, tokens: Tokens) -> None:
        self._tokens = tokens
        self.update()
