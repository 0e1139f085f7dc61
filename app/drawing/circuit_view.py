"""Circuit drawing on the screen, in the colours of the look."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial

from PySide6.QtCore import QByteArray, QPointF, QRect, QRectF, QSize, QSizeF, Signal
from PySide6.QtGui import QImage, QPainter, QPaintEvent, QResizeEvent
from PySide6.QtSvg import QSvgRenderer
from PySide6.QtWidgets import QScrollArea, QSizePolicy, QVBoxLayout, QWidget

from burstwise.app.theme import Theme, Tokens
from burstwise.app.widgets.text_label import TextLabel
from burstwise.core.assembly.board import SCALE
from burstwise.core.assembly.circuit import svg_size
from burstwise.core.assembly.drawn import Box, CircuitSheet

_PNG_SCALE = 2.0
_LARGEST = 1.15


def recoloured(svg: str, tokens: Tokens) -> str:
    """Drawing with ink and ground of a look."""
    return svg.replace("black", tokens.text).replace("white", tokens.panel)


def png_of(svg: str) -> QImage:
    """Drawing as a picture on white, two pixels per point."""
    renderer = QSvgRenderer(QByteArray(svg.encode("utf-8")))
    size = renderer.viewBoxF().size() * _PNG_SCALE
    image = QImage(size.toSize(), QImage.Format.Format_RGB32)
    image.fill(0xFFFFFFFF)
    with QPainter(image) as painter:
        renderer.render(painter)
    return image


class _SheetView(QWidget):
    """One sheet, scaled so that the widest of all has room; never cut off."""

    moved = Signal()

    def __init__(self, sheet: CircuitSheet, widest: float, parent: QWidget) -> None:
        super().__init__(parent)
        self._widest = widest
        self._renderer = QSvgRenderer(self)
        policy = QSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Minimum)
        policy.setHeightForWidth(True)
        self.setSizePolicy(policy)
        self.setAccessibleName(f"Circuit drawing: {sheet.title}")

    def show_svg(self, svg: str) -> None:
        self._renderer.load(QByteArray(svg.encode("utf-8")))
        self.update()
        self.moved.emit()

    def _scale(self, width: int) -> float:
        return min(width / self._widest, _LARGEST)

    def place(self, body: Box) -> QRect:
        """Where a body of the drawing stands [pixels]."""
        scale, seen = self._scale(self.width()), self._renderer.viewBoxF().topLeft()
        corner = QPointF(body.left * SCALE, -body.top * SCALE) - seen
        size = QSizeF(body.right - body.left, body.top - body.bottom) * SCALE
        return QRectF(corner * scale, size * scale).toAlignedRect()

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self.moved.emit()

    def hasHeightForWidth(self) -> bool:
        """The scroll area asks for the height, and minds its bar's own width."""
        return True

    def heightForWidth(self, width: int) -> int:
        return round(self._renderer.viewBoxF().height() * self._scale(width)) + 1

    def sizeHint(self) -> QSize:
        return QSize(600, self.heightForWidth(600))

    def paintEvent(self, event: QPaintEvent) -> None:
        size = self._renderer.viewBoxF().size() * self._scale(self.width())
        with QPainter(self) as painter:
            self._renderer.render(painter, QRectF(0, 0, size.width(), size.height()))


def _place_handle(handle: QWidget, view: _SheetView, body: Box, around: int) -> None:
    handle.setGeometry(view.place(body).adjusted(-around, -around, around, around))


class CircuitView(QScrollArea):
    """All sheets below one another.

    Parameters
    ----------
    theme : Theme
        Colours, followed when they change.
    """

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._theme = theme
        self.views: list[_SheetView] = []
        self.sheets: tuple[CircuitSheet, ...] = ()
        self._words: tuple[str, str] = ("", "")
        self.setWidgetResizable(True)
        theme.changed.connect(self._paint)

    def show_sheets(self, sheets: Sequence[CircuitSheet]) -> None:
        """Replace the drawing."""
        self.sheets = tuple(sheets)
        place = self.verticalScrollBar().value()
        inner = QWidget()
        layout = QVBoxLayout(inner)
        layout.setSpacing(4)
        self.views = []
        widest = max(svg_size(sheet.svg)[0] for sheet in sheets)
        for sheet in sheets:
            title = TextLabel(sheet.title, inner, role="title")
            view = _SheetView(sheet, widest, inner)
            layout.addWidget(title)
            layout.addWidget(view)
            self.views.append(view)
        layout.addStretch(1)
        self._paint()
        self.setWidget(inner)
        self.verticalScrollBar().setValue(place)

    def put_over(self, role: str, handle: QWidget, *, around: int) -> bool:
        """Let a widget stand over the part of a role, as long as these sheets are shown.

        Parameters
        ----------
        role : str
            Of the part.
        handle : QWidget
            Becomes a child of the part's sheet.
        around : int
            What it is larger than the part to each side [pixels].
        """
        for view, sheet in zip(self.views, self.sheets, strict=True):
            for part in sheet.drawn:
                if part.role == role:
                    handle.setParent(view)
                    place = partial(_place_handle, handle, view, part.body, around)
                    view.moved.connect(place)
                    place()
                    handle.show()
                    return True
        return False

    def write(self, mark: str, words: str) -> None:
        """Words to stand where the sheets have a mark, e.g. a value that moves all the time."""
        self._words = mark, words
        self._paint()

    def drawing(self) -> tuple[str, ...]:
        """What is shown of each sheet, as SVG text in the colours of the look."""
        mark, words = self._words
        shown = (sheet.svg.replace(mark, words) if mark else sheet.svg for sheet in self.sheets)
        return tuple(recoloured(svg, self._theme.tokens) for svg in shown)

    def _paint(self, _tokens: object = None) -> None:
        for view, svg in zip(self.views, self.drawing(), strict=True):
            view.show_svg(svg)
