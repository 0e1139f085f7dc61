"""Four steps to one's own coil: a bar over the screens that says what to do on each."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QFrame, QHBoxLayout, QPushButton, QWidget

from burstwise.app.widgets.restyle import set_style_property
from burstwise.app.widgets.text_label import TextLabel


@dataclass(frozen=True, slots=True)
class PathStep:
    """A screen by its title, and what is to be done there."""

    screen: str
    words: str


STEPS: Final = (
    PathStep("Coil", "Enter what you have wound or mean to wind; the drawing follows to scale."),
    PathStep("Switch and drive", "Take the class nearest to your transistor, then its datasheet."),
    PathStep("Supply and cooling", "Enter the supply, its capacitor and the heat sink."),
    PathStep("Operating point", "Drag supply and duty; the strip on top says what breaks first."),
)


class PathBar(QFrame):
    """Where on the path one is; `step_wanted` carries the title of a screen."""

    step_wanted = Signal(str)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        set_style_property(self, "role", "strip")
        self.step = 0
        self.words = TextLabel(self, wraps=True)
        self.back = QPushButton("&Back", self)
        self.on = QPushButton("N&ext step", self)
        self.leave = QPushButton("Leave the path", self)
        layout = QHBoxLayout(self)
        layout.setContentsMargins(16, 4, 16, 4)
        layout.addWidget(self.words, 1)
        for button in (self.back, self.on, self.leave):
            layout.addWidget(button)
        self.back.clicked.connect(lambda: self._go(self.step - 1))
        self.on.clicked.connect(self._go_on)
        self.leave.clicked.connect(self.hide)
        self.hide()

    def begin(self) -> None:
        """Show the first step."""
        self.show()
        self._go(0)

    def _go_on(self) -> None:
        if self.step + 1 < len(STEPS):
            self._go(self.step + 1)
        else:
            self.hide()

    def _go(self, step: int) -> None:
        self.step = step
        here = STEPS[step]
        self.words.setText(f"Step {step + 1} of {len(STEPS)}, {here.screen}: {here.words}")
        self.back.setEnabled(step > 0)
        self.on.setText("&Done" if step + 1 == len(STEPS) else "N&ext step")
        self.step_wanted.emit(here.screen)
