"""The two sliders under the drawing: secondary turns and primary start height."""

from __future__ import annotations

from typing import Any, Final

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QVBoxLayout, QWidget

from burstwise.app.binding import bind_value
from burstwise.app.document import Document
from burstwise.app.widgets.slider_field import SliderField
from burstwise.core.design.document import field_info

TURNS: Final = "coil.geometry.secondary.turns"
HEIGHT: Final = "coil.geometry.primary.start_height"


class Sliders(QWidget):
    """Both sliders; `held` tells when one is taken and let go."""

    held = Signal(bool)

    def __init__(self, document: Document[Any], parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.turns = self._slider(document, TURNS, "Secondary &turns", 100.0, 3000.0)
        self.primary_height = self._slider(document, HEIGHT, "Primar&y start height", -0.1, 0.3)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(2)
        layout.addWidget(self.turns, 1)
        layout.addWidget(self.primary_height, 1)

    def _slider(
        self, document: Document[Any], path: str, words: str, low: float, high: float
    ) -> SliderField:
        info = field_info(path)
        field = SliderField(
            words,
            str(info["unit"]),
            low=low,
            high=high,
            value=low,
            field_low=float(info["low"]),
            field_high=float(info["high"]),
            log=low > 0.0,
        )
        bind_value(document, path, field, text=str(info["title"]))
        field.slider.sliderPressed.connect(lambda: self.held.emit(True))
        field.slider.sliderReleased.connect(lambda: self.held.emit(False))
        return field
