"""Frame of a drawing to scale: the look that it follows, and the sentence where there is none."""

from __future__ import annotations

from PySide6.QtCore import QRectF, Qt
from PySide6.QtGui import QColor, QPainter
from PySide6.QtWidgets import QFrame, QSizePolicy, QWidget

from burstwise.app.theme import Theme, Tokens
from burstwise.app.widgets.restyle import set_style_property


class DrawingFrame(QFrame):
    """Base of drawings that fill their place and may have nothing to draw.

    Parameters
    ----------
    theme : Theme
        Colours, followed when they change.
    name : str
        What screen readers call it.
    width, height : int
        Least size [pixels].
    """

    def __init__(
        self, theme: Theme, parent: QWidget | None, *, name: str, width: int, height: int
    ) -> None:
        super().__init__(parent)
        self._tokens = theme.tokens
        self._empty = ""
        set_style_property(self, "role", "panel")
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.setMinimumSize(width, height)
        self.setAccessibleName(name)
        theme.changed.connect(self.recolour)

    def recolour(self, tokens: Tokens) -> None:
        """Take the colours of a look."""
        self._tokens = tokens
        self.update()

    def paint_empty(self, painter: QPainter) -> None:
        """Write the sentence in place of a drawing."""
        painter.setPen(QColor(self._tokens.muted))
        room = QRectF(self.rect()).adjusted(24, 24, -24, -24)
        flags = Qt.AlignmentFlag.AlignCenter | Qt.TextFlag.TextWordWrap
        painter.drawText(room, int(flags), self._empty)
