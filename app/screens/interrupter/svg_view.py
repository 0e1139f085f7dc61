"""Picture from SVG text, as large as its place allows."""

from __future__ import annotations

from PySide6.QtCore import QByteArray, QRectF, QSize
from PySide6.QtGui import QPainter, QPaintEvent
from PySide6.QtSvg import QSvgRenderer
from PySide6.QtWidgets import QSizePolicy, QWidget

LARGEST_SCALE = 1.35
"""Scale above which a small drawing only looks coarse."""


class SvgView(QWidget):
    """Shows one SVG, centred, with its proportions kept."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.renderer = QSvgRenderer(self)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.setMinimumSize(320, 220)

    def show_svg(self, svg: bytes) -> None:
        """Replace the picture."""
        self.renderer.load(QByteArray(svg))
        self.update()

    def sizeHint(self) -> QSize:
        """Room for a drawing with two timers."""
        return QSize(680, 420)

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint the picture."""
        box = self.renderer.viewBoxF()
        if not self.renderer.isValid() or box.isEmpty():
            return
        scale = min(self.width() / box.width(), self.height() / box.height(), LARGEST_SCALE)
        width, height = box.width() * scale, box.height() * scale
        target = QRectF((self.width() - width) / 2, (self.height() - height) / 2, width, height)
        with QPainter(self) as painter:
            painter.setRenderHint(QPainter.RenderHint.Antialiasing)
            self.renderer.render(painter, target)
