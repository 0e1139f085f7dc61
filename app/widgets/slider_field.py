"""Slider and quantity field for one value, by composition; the float is the truth."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

from PySide6.QtCore import QPointF, QRect, QSignalBlocker, Qt, Signal
from PySide6.QtGui import (
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QPalette,
    QPen,
    QPolygonF,
    QWheelEvent,
)
from PySide6.QtWidgets import (
    QGridLayout,
    QSlider,
    QStyle,
    QStyleOptionSlider,
    QWidget,
)

from burstwise.app.widgets.announce import announce
from burstwise.app.widgets.quantity_field import QuantityField
from burstwise.app.widgets.scale import POSITIONS, SliderScale
from burstwise.app.widgets.text_label import TextLabel, set_tip
from burstwise.app.widgets.throttle import Throttle
from burstwise.core.units import shown

LIVE_INTERVAL_MS: Final = 15
"""Shortest time between two live values of a drag [ms], about one frame."""

SPEECH_MS: Final = 500
"""Shortest time between two values that a screen reader is told [ms]."""


class _Slider(QSlider):
    """Slider whose groove takes a press where it is, and which reports the end of a key edit."""

    key_ended = Signal()
    given_up = Signal()

    def __init__(self, parent: QWidget) -> None:
        super().__init__(Qt.Orientation.Horizontal, parent)
        self._gave_up = False
        self.marks: tuple[int, ...] = ()
        self.setRange(0, POSITIONS)
        self.setSingleStep(POSITIONS // 200)
        self.setPageStep(POSITIONS // 20)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)

    def mousePressEvent(self, event: QMouseEvent) -> None:
        self._gave_up = False
        if event.button() == Qt.MouseButton.LeftButton:
            handle = self._handle_rect()
            if not handle.contains(event.position().toPoint()):
                offset = round(event.position().x()) - handle.width() // 2
                span = self.width() - handle.width()
                self.setValue(QStyle.sliderValueFromPosition(0, POSITIONS, offset, span))
        super().mousePressEvent(event)

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        if not self._gave_up:
            super().mouseMoveEvent(event)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() == Qt.Key.Key_Escape and self.isSliderDown():
            self._gave_up = True
            self.given_up.emit()
            self.setSliderDown(False)
            return
        super().keyPressEvent(event)

    def keyReleaseEvent(self, event: QKeyEvent) -> None:
        super().keyReleaseEvent(event)
        if not event.isAutoRepeat() and not self.isSliderDown():
            self.key_ended.emit()

    def wheelEvent(self, event: QWheelEvent) -> None:
        event.ignore()

    def mark_pixel(self, position: int) -> int:
        """Horizontal pixel of a position's middle."""
        wide = self._handle_rect().width()
        span = self.width() - wide
        return QStyle.sliderPositionFromValue(0, POSITIONS, position, span) + wide // 2

    def paintEvent(self, event: QPaintEvent) -> None:
        super().paintEvent(event)
        if not self.marks:
            return
        with QPainter(self) as painter:
            painter.setRenderHint(QPainter.RenderHint.Antialiasing)
            ink = self.palette().color(QPalette.ColorRole.BrightText)
            painter.setPen(QPen(ink, 1.5))
            for place, position in enumerate(self.marks):
                x, middle = self.mark_pixel(position), self.height() / 2
                painter.drawLine(QPointF(x, middle - 6), QPointF(x, middle + 6))
                head = QPolygonF([QPointF(x - 4, 0.8), QPointF(x + 4, 0.8), QPointF(x, 6.8)])
                painter.setBrush(ink if place == 0 else Qt.BrushStyle.NoBrush)
                painter.drawPolygon(head)

    def handle_centre(self) -> int:
        """Horizontal centre of the handle in the slider's own pixels."""
        return self._handle_rect().center().x()

    def _handle_rect(self) -> QRect:
        option = QStyleOptionSlider()
        self.initStyleOption(option)
        return self.style().subControlRect(
            QStyle.ComplexControl.CC_Slider, option, QStyle.SubControl.SC_SliderHandle, self
        )


class SliderField(QWidget):
    """Caption, slider and quantity field for one value.

    `value_changed` follows a drag live, at most once per `interval_ms`, the first at once and the
    last always; `edit_finished` comes once per drag, key press or entry, after the last value;
    `edit_given_up` where Escape ended a drag.

    Parameters
    ----------
    caption : str
        Words beside the value, with an ampersand before the letter that Alt reaches it by.
    unit : str
        As for `QuantityField`.
    low, high : float
        Closed range of the slider; `low` above 0 if `log`.
    field_low, field_high : float, optional
        Closed range of the field where it is wider than the slider's.
    log : bool
        Share the slider's length out by ratio.
    step : float, optional
        Fixed step of the field's keys.
    interval_ms : int
        Throttle of live values [ms], 0 for none.
    """

    value_changed = Signal(float)
    edit_finished = Signal()
    edit_given_up = Signal()

    def __init__(
        self,
        caption: str,
        unit: str,
        *,
        low: float,
        high: float,
        value: float,
        field_low: float | None = None,
        field_high: float | None = None,
        log: bool = False,
        step: float | None = None,
        interval_ms: int = LIVE_INTERVAL_MS,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        name = caption.replace("&", "")
        self._scale = SliderScale(low, high, log=log)
        self._value = math.nan
        self._unit = unit
        self.slider = _Slider(self)
        self.slider.setAccessibleName(name)
        self.field = QuantityField(
            unit,
            name=name,
            value=value,
            low=low if field_low is None else field_low,
            high=high if field_high is None else field_high,
            step=step,
            parent=self,
        )
        label = TextLabel(caption, self)
        label.setBuddy(self.field)
        layout = QGridLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setVerticalSpacing(2)
        layout.setHorizontalSpacing(12)
        layout.addWidget(label, 0, 0, Qt.AlignmentFlag.AlignLeft)
        layout.addWidget(self.field, 0, 1, Qt.AlignmentFlag.AlignRight)
        layout.addWidget(self.field.give_message(), 1, 0, 1, 2)
        layout.addWidget(self.slider, 2, 0, 1, 2)
        layout.setColumnStretch(0, 1)
        self._throttle = Throttle(self.value_changed.emit, interval_ms, self)
        self._speech = Throttle(self._speak, SPEECH_MS, self)
        self.slider.valueChanged.connect(self._slider_moved)
        self.slider.sliderReleased.connect(self._finish)
        self.slider.key_ended.connect(self._finish)
        self.slider.given_up.connect(self._give_up)
        self.field.value_changed.connect(self._field_changed)
        self.field.edit_finished.connect(self._finish)
        self.set_value(value)

    @property
    def value(self) -> float:
        """Value in SI units, exactly as set, dragged or typed."""
        return self._value

    @property
    def dragging(self) -> bool:
        """Whether the handle is held down."""
        return self.slider.isSliderDown()

    def set_value(self, value: float) -> None:
        """Show a value from outside, without a signal; a drag in progress keeps its handle."""
        self._value = float(value)
        self.field.set_value(value)
        if not self.dragging:
            self._place_slider()

    @property
    def range(self) -> tuple[float, float]:
        """Closed range of the slider; the field's may be wider."""
        return self._scale.low, self._scale.high

    def set_range(self, low: float, high: float) -> None:
        """Change the slider's closed range; the value and the field's limits are left alone."""
        self._scale = SliderScale(low, high, log=self._scale.log)
        if not self.dragging:
            self._place_slider()

    def set_key_step(self, share: float) -> None:
        """Let an arrow key move the handle by a share of the slider's length."""
        self.slider.setSingleStep(max(round(share * POSITIONS), 1))

    def set_marks(self, marks: Sequence[tuple[str, float]]) -> None:
        """Mark values on the slider, the first one filled; their words are its tip.

        Parameters
        ----------
        marks : sequence of (str, float)
            Words and value; one beyond the slider's range stands in the tip alone.
        """
        low, high = self.range
        inside = tuple(self._scale.position(at) for _, at in marks if low <= at <= high)
        said = "\n".join(f"{words}: {shown(at, self._unit, digits=3)}" for words, at in marks)
        if inside == self.slider.marks and said == self.slider.toolTip():
            return
        self.slider.marks = inside
        set_tip(self.slider, said)
        self._describe()
        self.slider.update()

    def mark_bad(self, reason: str) -> None:
        """Mark the value as not taken, with the reason in words."""
        self.field.mark_bad(reason)

    def clear_mark(self) -> None:
        """Take the mark of a bad value away."""
        self.field.clear_mark()

    def flush(self) -> None:
        """Emit a live value that waits for the throttle, now."""
        self._throttle.flush()

    def _slider_moved(self, position: int) -> None:
        self._value = self._scale.value(position)
        self.field.set_value(self._value)
        self._throttle.submit(self._value)
        self._describe()
        self._speech.submit(self._value)

    def _field_changed(self, value: float) -> None:
        self._value = value
        self._place_slider()
        self._throttle.submit(value)

    def _finish(self) -> None:
        self._throttle.flush()
        self._place_slider()
        self.edit_finished.emit()

    def _give_up(self) -> None:
        self._throttle.drop()
        self.edit_given_up.emit()

    def _speak(self, value: float) -> None:
        announce(self.slider, shown(value, self._unit, digits=4))

    def _describe(self) -> None:
        """Value with unit, and the marks, for screen readers, which know positions alone."""
        marks = self.slider.toolTip().replace("\n", "; ")
        said = shown(self._value, self._unit, digits=4)
        self.slider.setAccessibleDescription("; ".join(part for part in (said, marks) if part))

    def _place_slider(self) -> None:
        with QSignalBlocker(self.slider):
            self.slider.setValue(self._scale.position(self._value))
        self._describe()
