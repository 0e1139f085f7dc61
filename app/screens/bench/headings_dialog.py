"""Question which column of the table each heading belongs to that the table does not know."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from PySide6.QtWidgets import (
    QComboBox,
    QDialog,
    QDialogButtonBox,
    QFormLayout,
    QVBoxLayout,
    QWidget,
)

from burstwise.app.widgets.text_label import TextLabel
from burstwise.core.bench.readings import Column
from burstwise.core.bench.readings_text import NOTE

_LEFT_OUT = "Leave out"
_KEPT = "Keep in Note"


class HeadingsDialog(QDialog):
    """One row for each unknown heading with the columns to choose from.

    Parameters
    ----------
    titles : sequence of str
        Headings as they stand in the text, units included.
    """

    def __init__(self, titles: Sequence[str], parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setWindowTitle("Headings that the table does not know")
        words = TextLabel(
            "Which column do these belong to? A unit in brackets counts.", self, wraps=True
        )
        self.boxes = {title: self._box(title) for title in dict.fromkeys(titles)}
        form = QFormLayout()
        for title, box in self.boxes.items():
            caption = TextLabel(title, self)
            caption.setBuddy(box)
            form.addRow(caption, box)
        buttons = QDialogButtonBox(
            QDialogButtonBox.StandardButton.Ok | QDialogButtonBox.StandardButton.Cancel, self
        )
        buttons.accepted.connect(self.accept)
        buttons.rejected.connect(self.reject)
        layout = QVBoxLayout(self)
        layout.addWidget(words)
        layout.addLayout(form)
        layout.addWidget(buttons)

    @property
    def given(self) -> Mapping[str, str]:
        """Columns chosen, by heading; those left out are not in it."""
        chosen = {title: str(box.currentData()) for title, box in self.boxes.items()}
        return {title: column for title, column in chosen.items() if column}

    def _box(self, title: str) -> QComboBox:
        box = QComboBox(self)
        box.setAccessibleName(f"Column of {title}")
        box.addItem(_LEFT_OUT, "")
        box.addItem(_KEPT, NOTE)
        for column in Column:
            box.addItem(column.label.capitalize(), column.value)
        return box


def ask_columns(parent: QWidget, titles: Sequence[str]) -> Mapping[str, str] | None:
    """Columns for unknown headings; an empty answer for none, None where it was cancelled."""
    if not titles:
        return {}
    dialog = HeadingsDialog(titles, parent)
    answer = dialog.exec()
    dialog.deleteLater()
    return dialog.given if answer else None
