"""Sketch of the drive: both windings with their dots, where their ends go, and the currents."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QPainter, QPainterPath, QPaintEvent, QPen
from PySide6.QtWidgets import QWidget

from burstwise.app.drawing.frame import DrawingFrame
from burstwise.app.theme import Theme

_WIDE, _HIGH = 470.0, 300.0
"""Size of the sketch before it is scaled to its place."""
_ABOVE: Final = 12.0
_LEAST: Final = (400, 280)
_TURNS: Final = 6
_PRIMARY, _SECONDARY = 150.0, 300.0
"""Where the windings stand, across."""
_TOP, _FOOT = 56.0, 146.0
"""Upper and lower end of both windings."""
_GATE: Final = 232.0
_STAGE: Final = QRectF(216.0, 206.0, 124.0, 52.0)
_PAST, _PAST_AT = 372.0, 200.0
"""Where the base current goes past a driver, across and where it turns,"""
_AERIAL, _AERIAL_WIRE = 262.0, 240.0
"""and where an antenna and its wire stand."""


@dataclass(frozen=True, slots=True)
class DriveState:
    """What the sketch shows.

    Attributes
    ----------
    kind : str
        ``"direct"`` or ``"gated"``.
    swapped : bool
        Whether one winding's ends are swapped against the usual sense.
    drain, base : str
        Peak currents in words; empty while they are not known.
    feedback : str
        What feeds a gate driver, as ``drive.gated.feedback``.
    """

    kind: Literal["direct", "gated"]
    swapped: bool = False
    drain: str = ""
    base: str = ""
    feedback: str = "base current"


class DriveDrawing(DrawingFrame):
    """The sketch.

    Parameters
    ----------
    theme : Theme
        Colours, followed when they change.
    """

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        width, height = _LEAST
        super().__init__(theme, parent, name="Sketch of the drive", width=width, height=height)
        self.state = DriveState("direct")

    def show_state(self, state: DriveState) -> None:
        """Show another state."""
        self.state = state
        self.setAccessibleDescription(self.describe())
        self.update()

    def describe(self) -> str:
        """The sketch in words."""
        state = self.state
        ends = ("the drain", "MAIN +") if state.swapped else ("MAIN +", "the drain")
        into = "the gate driver" if state.kind == "gated" else "the gate, with bias and clamps"
        if state.feedback == "current transformer":
            into = "through the current transformer, which feeds the gate driver, to 0 V"
        if state.feedback == "antenna":
            into = "0 V; an antenna near the top feeds the gate driver"
        words = [
            f"The dot of the primary goes to {ends[0]}, its other end to {ends[1]}",
            f"the dot of the secondary is its foot, which goes to BASE and {into}",
        ]
        words += [f"drain {state.drain}"] * bool(state.drain)
        words += [f"base {state.base}"] * bool(state.base)
        return "; ".join(words) + "."

    def paintEvent(self, event: QPaintEvent) -> None:
        """Draw at one scale, in the middle of the place."""
        super().paintEvent(event)
        scale = min(self.width() / _WIDE, (self.height() - _ABOVE) / _HIGH, 1.4)
        with QPainter(self) as painter:
            painter.setRenderHint(QPainter.RenderHint.Antialiasing)
            painter.translate(0.5 * (self.width() - scale * _WIDE), _ABOVE)
            painter.scale(scale, scale)
            painter.setPen(QPen(QColor(self._tokens.text), 1.6))
            self._paint_power(painter)
            self._paint_secondary(painter)
            self._paint_stage(painter)
            self._paint_feedback(painter)
            self._paint_words(painter)

    def _paint_power(self, painter: QPainter) -> None:
        """Supply, primary, transistor with its body diode, 0 V."""
        x = _PRIMARY
        painter.drawLine(QPointF(x, 28), QPointF(x, _TOP))
        painter.drawPath(_winding(x, -1))
        painter.drawLine(QPointF(x, _FOOT), QPointF(x, 208))
        painter.drawLine(QPointF(x, 252), QPointF(x, 276))
        painter.drawLine(QPointF(x - 12, 276), QPointF(x + 12, 276))
        for top in (212, 228, 244):  # the channel's three pieces
            painter.drawLine(QPointF(x + 14, top - 5), QPointF(x + 14, top + 5))
        painter.drawLine(QPointF(x + 20, 210), QPointF(x + 20, 246))
        for top, end in ((212, 208), (244, 252)):
            painter.drawLine(QPointF(x + 14, top), QPointF(x, top))
            painter.drawLine(QPointF(x, top), QPointF(x, end))
        painter.drawLine(QPointF(x + 14, 228), QPointF(x, 228))
        painter.drawLine(QPointF(x, 228), QPointF(x, 244))
        self._arrow(painter, QPointF(x + 13, 228), QPointF(1, 0))
        self._paint_body_diode(painter, x - 20)
        painter.drawLine(QPointF(x + 20, _GATE), QPointF(_STAGE.left(), _GATE))
        self._dot(painter, QPointF(x + 16, _FOOT - 6 if self.state.swapped else _TOP + 6))

    def _paint_body_diode(self, painter: QPainter, x: float) -> None:
        for y in (206.0, 254.0):
            painter.drawLine(QPointF(x, y), QPointF(_PRIMARY, y))
        painter.drawLine(QPointF(x, 206), QPointF(x, 254))
        painter.setBrush(QColor(self._tokens.text))
        painter.drawPolygon([QPointF(x, 223), QPointF(x - 6, 235), QPointF(x + 6, 235)])
        painter.drawLine(QPointF(x - 6, 223), QPointF(x + 6, 223))
        painter.setBrush(Qt.BrushStyle.NoBrush)

    def _paint_secondary(self, painter: QPainter) -> None:
        x = _SECONDARY
        painter.drawPath(_winding(x, 1))
        painter.drawLine(QPointF(x, _TOP), QPointF(x, 40))
        painter.drawEllipse(QPointF(x, 28), 22, 12)
        if self.state.feedback == "base current":
            painter.drawLine(QPointF(x, _FOOT), QPointF(x, _STAGE.top()))
        else:  # past the driver to 0 V
            painter.drawPolyline(
                [QPointF(x, _FOOT), QPointF(x, _PAST_AT), QPointF(_PAST, _PAST_AT)]
            )
            painter.drawLine(QPointF(_PAST, _PAST_AT), QPointF(_PAST, 276))
            painter.drawLine(QPointF(_PAST - 12, 276), QPointF(_PAST + 12, 276))
        self._dot(painter, QPointF(x - 16, _FOOT - 6))
        middle = 0.5 * (_PRIMARY + _SECONDARY)
        pen = QPen(QColor(self._tokens.muted), 1.2, Qt.PenStyle.DashLine)
        painter.save()
        painter.setPen(pen)
        painter.drawLine(QPointF(middle, _TOP), QPointF(middle, _FOOT))
        painter.restore()

    def _paint_stage(self, painter: QPainter) -> None:
        painter.drawRect(_STAGE)
        gated = self.state.kind == "gated"
        words = "Clamps and\ngate driver" if gated else "Bias and\ngate clamps"
        painter.drawText(_STAGE, Qt.AlignmentFlag.AlignCenter, words)
        painter.drawLine(QPointF(278, _STAGE.bottom()), QPointF(278, 276))
        painter.drawLine(QPointF(266, 276), QPointF(290, 276))

    def _paint_feedback(self, painter: QPainter) -> None:
        """Ring around the base wire, or antenna beside the top, with its wire to the driver."""
        middle = _STAGE.center().y()
        if self.state.feedback == "current transformer":
            painter.drawEllipse(QPointF(_PAST, middle), 15, 8)
            painter.drawLine(QPointF(_PAST - 15, middle), QPointF(_STAGE.right(), middle))
        if self.state.feedback == "antenna":
            painter.drawLine(QPointF(_AERIAL, 22), QPointF(_AERIAL, 44))
            painter.drawPolyline(
                [
                    QPointF(_AERIAL, 33),
                    QPointF(_AERIAL_WIRE, 33),
                    QPointF(_AERIAL_WIRE, _STAGE.top()),
                ]
            )

    def _paint_words(self, painter: QPainter) -> None:
        state = self.state
        left, right = Qt.AlignmentFlag.AlignLeft, Qt.AlignmentFlag.AlignRight
        said: tuple[tuple[QRectF, Qt.AlignmentFlag, str], ...] = (
            (QRectF(20, 16, 124, 20), right, "MAIN +"),
            (QRectF(4, 92, 124, 20), right, "Primary"),
            (QRectF(20, 156, 122, 20), right, "drain"),
            (QRectF(330, 18, 136, 20), left, "end: top load"),
            (QRectF(324, 92, 140, 20), left, "Secondary"),
            (QRectF(308, 156, 150, 20), left, "foot: BASE"),
        )
        for room, side, text in said:
            painter.drawText(room, side | Qt.AlignmentFlag.AlignVCenter, text)
        painter.setPen(QColor(self._tokens.muted))
        painter.drawText(QRectF(108, 282, 84, 18), Qt.AlignmentFlag.AlignCenter, "0 V")
        painter.drawText(QRectF(236, 282, 84, 18), Qt.AlignmentFlag.AlignCenter, "0 V")
        if state.feedback != "base current":
            painter.drawText(QRectF(_PAST - 42, 282, 84, 18), Qt.AlignmentFlag.AlignCenter, "0 V")
        painter.setPen(QPen(QColor(self._tokens.accent), 1.6))
        for x, text, room, side in (
            (_PRIMARY, state.drain, QRectF(4, 176, 136, 20), right),
            (_SECONDARY, state.base, QRectF(310, 176, 150, 20), left),
        ):
            if text:
                self._arrow(painter, QPointF(x, 190), QPointF(0, 1))
                painter.drawText(room, side | Qt.AlignmentFlag.AlignVCenter, text)

    def _dot(self, painter: QPainter, at: QPointF) -> None:
        painter.setBrush(QColor(self._tokens.text))
        painter.drawEllipse(at, 3.4, 3.4)
        painter.setBrush(Qt.BrushStyle.NoBrush)

    def _arrow(self, painter: QPainter, tip: QPointF, way: QPointF) -> None:
        across = QPointF(-way.y(), way.x())
        painter.save()
        painter.setBrush(painter.pen().color())
        foot = tip - way * 8.0
        painter.drawPolygon([tip, foot + across * 4.0, foot - across * 4.0])
        painter.restore()


def _winding(x: float, side: int) -> QPainterPath:
    """Half turns from the upper to the lower end, bulging to one side."""
    path = QPainterPath(QPointF(x, _TOP))
    step = (_FOOT - _TOP) / _TURNS
    for turn in range(_TURNS):
        box = QRectF(x - 0.5 * step, _TOP + turn * step, step, step)
        path.arcTo(box, 90.0, 180.0 * -side)
    return path
