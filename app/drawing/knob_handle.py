"""Handle over the potentiometer of a circuit drawing: drag, wheel and arrows turn the knob."""

from __future__ import annotations

from typing import Final

from PySide6.QtCore import QPointF, QRectF, Qt, QTimer
from PySide6.QtGui import QColor, QKeyEvent, QMouseEvent, QPainter, QPaintEvent, QPen, QWheelEvent
from PySide6.QtWidgets import QWidget

from burstwise.app.theme import Theme
from burstwise.app.widgets.drag import Drag
from burstwise.app.widgets.text_label import set_tip
from burstwise.core.units import percent

_WHOLE_WAY: Final = 200.0
"""Pixels of mouse for the whole travel."""
_STEP: Final = 0.01
_RUN_MS: Final = 600
"""Wheel and arrows within this time make one step to undo [ms]."""
_TURNS: Final = {
    Qt.Key.Key_Left: -1,
    Qt.Key.Key_Down: -1,
    Qt.Key.Key_Right: 1,
    Qt.Key.Key_Up: 1,
    Qt.Key.Key_PageDown: -10,
    Qt.Key.Key_PageUp: 10,
}


class KnobHandle(QWidget):
    """Clear but for its focus and while the mouse is over it.

    `drag` tells the travel that is asked for, 0 to 1.

    Parameters
    ----------
    theme : Theme
        Colours.
    parent : QWidget
        The drawing.
    """

    def __init__(self, theme: Theme, parent: QWidget) -> None:
        super().__init__(parent)
        self._theme = theme
        self.travel = 0.0
        self._from: tuple[QPointF, float] | None = None
        self.drag = Drag(self)
        self._run = QTimer(self, singleShot=True, interval=_RUN_MS)
        self._run.timeout.connect(self.drag.end)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setCursor(Qt.CursorShape.SizeHorCursor)
        self.setAttribute(Qt.WidgetAttribute.WA_Hover)
        self.setAccessibleName("Knob in the drawing")
        set_tip(
            self,
            "Drag to the right or up, turn the wheel or use the arrow keys: the knob turns. "
            "Escape brings a drag back.",
        )

    def show_travel(self, travel: float) -> None:
        """Take the travel that the design has."""
        self.travel = travel
        self.setAccessibleDescription(f"{percent(travel)} of its travel")

    def _ask(self, travel: float) -> None:
        self.drag.move(round(min(max(travel, 0.0), 1.0) / _STEP) * _STEP)

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Take hold."""
        if event.button() is Qt.MouseButton.LeftButton:
            self._run.stop()
            self.drag.end()
            self._from = event.position(), self.travel
            self.drag.begin()

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Turn as far as the mouse went."""
        if self._from is not None and self.drag.active:
            start, travel = self._from
            way = event.position() - start
            self._ask(travel + (way.x() - way.y()) / _WHOLE_WAY)

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        """Let go."""
        self._from = None
        self.drag.end()

    def wheelEvent(self, event: QWheelEvent) -> None:
        """Turn by a step a notch."""
        notches = event.angleDelta().y() / 120.0
        if notches:
            self._turn(notches)
            event.accept()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Turn by a step a key, ten with the page keys."""
        turn = _TURNS.get(Qt.Key(event.key()))
        if turn is None or event.modifiers() & Qt.KeyboardModifier.ControlModifier:
            super().keyPressEvent(event)
            return
        self._turn(turn)

    def _turn(self, steps: float) -> None:
        self.drag.begin()
        self._ask(self.travel + steps * _STEP)
        self._run.start()

    def paintEvent(self, event: QPaintEvent) -> None:
        """Outline where it has the focus or the mouse."""
        if not (self.hasFocus() or self.underMouse()):
            return
        with QPainter(self) as painter:
            painter.setRenderHint(QPainter.RenderHint.Antialiasing)
            style = Qt.PenStyle.SolidLine if self.hasFocus() else Qt.PenStyle.DotLine
            painter.setPen(QPen(QColor(self._theme.tokens.accent), 2.0, style))
            painter.drawRoundedRect(QRectF(self.rect()).adjusted(1, 1, -1, -1), 4, 4)
