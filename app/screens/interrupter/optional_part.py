"""Group for a part that a design can do without, fitted by a check box."""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping, Sequence
from typing import Any

from PySide6.QtCore import QSignalBlocker
from PySide6.QtWidgets import QCheckBox, QVBoxLayout, QWidget

from burstwise.app.document import Document
from burstwise.app.section_form import SectionForm


class OptionalPart(QWidget):
    """Check box that fits a part with its usual values, and the part's fields while fitted.

    `wanted` picks, from the part as it stands, the names of the fields that have a say.
    """

    def __init__(
        self,
        document: Document[Any],
        words: str,
        path: str,
        fields: Sequence[str],
        *,
        choices: Mapping[str, Mapping[str, str]] | None = None,
        wanted: Callable[[Any], Collection[str]] | None = None,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self._document, self._path, self._words = document, path, words
        self._fields = [f"{path}.{name}" for name in fields]
        self._choices, self._wanted = choices, wanted
        self.check = QCheckBox(f"{words} fitted", self)
        self.form: SectionForm | None = None
        self._down = QVBoxLayout(self)
        self._down.setContentsMargins(0, 0, 0, 0)
        self._down.setSpacing(2)
        self._down.addWidget(self.check)
        self.check.toggled.connect(self._fit)
        document.changed.connect(self._follow)
        self._follow()

    def _fit(self, fitted: bool) -> None:
        self._document.edit(self._path, {} if fitted else None, text=f"{self._words} fitted")

    def _follow(self, _design: object = None) -> None:
        part = self._document.value(self._path)
        fitted = part is not None
        with QSignalBlocker(self.check):
            self.check.setChecked(fitted)
        if fitted and self.form is None:
            self.form = SectionForm(
                self._document,
                "",
                self._fields,
                words=self._choices,
                parent=self,
            )
            self._down.addWidget(self.form)
        if self.form is not None:
            self.form.setVisible(fitted)
            if fitted and self._wanted is not None:
                self.form.show_only([f"{self._path}.{name}" for name in self._wanted(part)])
