"""Choice of one whole part to fit, leave out or exchange in a variant."""

from __future__ import annotations

from PySide6.QtCore import QSignalBlocker, Signal
from PySide6.QtWidgets import QComboBox, QPushButton, QVBoxLayout, QWidget

from burstwise.app.widgets.text_label import TextLabel
from burstwise.core.design.document import Design
from burstwise.core.design.optional_parts import PartChange, part_changes


class PartVariants(QWidget):
    """List of the changes that a design allows, and a button that asks for the chosen one."""

    wanted = Signal(object)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._changes: tuple[PartChange, ...] = ()
        self.box = QComboBox(self)
        self.box.setAccessibleName("Part to fit, leave out or exchange")
        self.box.setSizeAdjustPolicy(
            QComboBox.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon
        )
        label = TextLabel("&Part to fit or leave out", self)
        label.setBuddy(self.box)
        self.button = QPushButton("Make &it a variant", self)
        self.button.clicked.connect(self._ask)
        down = QVBoxLayout(self)
        down.setContentsMargins(0, 0, 0, 0)
        for widget in (label, self.box, self.button):
            down.addWidget(widget)

    def show_design(self, design: Design) -> None:
        """Offer the changes of a design; the part chosen stays chosen."""
        changes = part_changes(design)
        if changes == self._changes:
            return
        row = max(self.box.currentIndex(), 0)
        self._changes = changes
        with QSignalBlocker(self.box):
            self.box.clear()
            self.box.addItems([f"{one.name[0].upper()}{one.name[1:]}" for one in changes])
            self.box.setCurrentIndex(row)

    def _ask(self) -> None:
        self.wanted.emit(self._changes[self.box.currentIndex()])
