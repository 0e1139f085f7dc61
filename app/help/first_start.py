"""The first start: cautions once, and three ways to begin."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

from PySide6.QtCore import QSettings, Qt, Signal
from PySide6.QtWidgets import (
    QComboBox,
    QDialog,
    QDialogButtonBox,
    QGridLayout,
    QPushButton,
    QScrollArea,
    QVBoxLayout,
    QWidget,
)

from burstwise.app.stored import stored
from burstwise.app.widgets.text_label import TextLabel
from burstwise.core.assembly.cautions import in_full

READ_KEY: Final = "start/cautions-read"


def cautions_read(settings: QSettings) -> bool:
    """Whether the cautions were shown and read on this account."""
    return stored(settings, READ_KEY, False)


class FirstStart(QDialog):
    """Cautions, then: an example, one's own coil step by step, or a lesson.

    Parameters
    ----------
    settings : QSettings
        Remembers that the cautions were read.
    examples : iterable of str
        Names of the examples.
    ways : bool
        Offer the ways to begin; else the cautions alone.
    """

    example_wanted = Signal(str)
    path_wanted = Signal()
    lesson_wanted = Signal()

    def __init__(
        self,
        settings: QSettings,
        examples: Iterable[str],
        *,
        ways: bool = True,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self.setWindowTitle("Welcome" if ways else "Before you build")
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self._settings = settings
        self.example = QComboBox(self)
        self.example.setAccessibleName("Example")
        self.example.addItems(list(examples))
        self.play = QPushButton("Play with an &example", self)
        self.own = QPushButton("My own &coil, in four steps", self)
        self.lesson = QPushButton("A &lesson", self)
        layout = QVBoxLayout(self)
        layout.setSpacing(10)
        self._add_cautions(layout)
        if ways:
            layout.addLayout(self._ways())
        buttons = QDialogButtonBox(QDialogButtonBox.StandardButton.Close, self)
        read = buttons.button(QDialogButtonBox.StandardButton.Close)
        read.setText("Read; to the window" if ways else "Read")
        # Return says that all was read; it takes no way that was not chosen.
        for way in (self.play, self.own, self.lesson):
            way.setAutoDefault(False)
        read.setDefault(True)
        buttons.rejected.connect(self.accept)
        layout.addWidget(buttons)
        for widget in (self.play, self.own, self.lesson, self.example):
            widget.setVisible(ways)
        self.play.clicked.connect(self._play)
        self.own.clicked.connect(lambda: self._leave_by(self.path_wanted))
        self.lesson.clicked.connect(lambda: self._leave_by(self.lesson_wanted))
        self.accepted.connect(lambda: settings.setValue(READ_KEY, True))
        self.resize(620, 520)

    def _add_cautions(self, layout: QVBoxLayout) -> None:
        heading = TextLabel("Before you build", self, role="heading")
        lead = TextLabel(
            "What this program computes is an estimate and never a permission. Local codes and "
            "licensed people come first.",
            self,
            wraps=True,
        )
        hazards = TextLabel(in_full(), wraps=True)
        hazards.setTextFormat(Qt.TextFormat.PlainText)
        hazards.setContentsMargins(8, 6, 8, 6)
        hazards.setAlignment(Qt.AlignmentFlag.AlignTop)
        self.cautions = QScrollArea(self)
        self.cautions.setWidgetResizable(True)
        self.cautions.setWidget(hazards)
        self.cautions.setAccessibleName("Cautions")
        layout.addWidget(heading)
        layout.addWidget(lead)
        layout.addWidget(self.cautions, 1)

    def _ways(self) -> QGridLayout:
        grid = QGridLayout()
        grid.setHorizontalSpacing(12)
        words = (
            (self.play, "An invented coil, chosen here; drag and see."),
            (self.own, "Coil, device, supply, then what it does."),
            (self.lesson, "Short ones: predict, move, see."),
        )
        for row, (button, text) in enumerate(words):
            place = row + (row > 0)  # the choice of the example stands below its button
            grid.addWidget(button, place, 0)
            grid.addWidget(TextLabel(text, self), place, 1)
        grid.addWidget(self.example, 1, 1)
        grid.setColumnStretch(1, 1)
        return grid

    def _play(self) -> None:
        self.accept()
        self.example_wanted.emit(self.example.currentText())

    def _leave_by(self, way: object) -> None:
        self.accept()
        way.emit()  # type: ignore[attr-defined]
