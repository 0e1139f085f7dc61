"""Rows of the coil's forms: one field each, with room for what the computation refuses."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any, Final

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QComboBox, QFormLayout, QGroupBox, QVBoxLayout, QWidget

from burstwise.app.binding import bind_choice, bind_value
from burstwise.app.document import Document
from burstwise.app.field_tips import refusing
from burstwise.app.theme import MARKS
from burstwise.app.widgets.quantity_field import QuantityField
from burstwise.app.widgets.restyle import set_style_property
from burstwise.app.widgets.text_label import TextLabel, set_tip
from burstwise.core.design.document import field_info
from burstwise.core.findings import Severity

FIELD_WIDTH: Final = 122


class FieldRow(QWidget):
    """Quantity field or choice with a message for a value that fits no buildable coil.

    The field itself refuses what the design does not take. A value that the design takes but the
    geometry does not allow stays in the field; the message says why, and that the results are
    those of the last coil that could be built. The owner places the message.

    Parameters
    ----------
    widget : QuantityField or QComboBox
        The bound widget.
    """

    def __init__(self, widget: QuantityField | QComboBox, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.widget = widget
        self._tip = refusing(widget)
        self._refusal = ""
        self.message = TextLabel(self, wraps=True, role="error")
        self.message.hide()
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(2)
        layout.addWidget(widget)
        self.setFocusProxy(widget)

    @property
    def refusal(self) -> str:
        """Why the computation refuses the value, empty if it does not."""
        return self._refusal

    @property
    def error(self) -> str:
        """What is wrong with the field at present, from either side."""
        own = self.widget.error if isinstance(self.widget, QuantityField) else ""
        return own or self._refusal

    def refuse(self, reason: str) -> None:
        """Mark the value as one that no coil can be built with; an empty reason unmarks it."""
        self._refusal = reason
        entry = self.widget.entry if isinstance(self.widget, QuantityField) else self.widget
        text = f"{MARKS[Severity.STOP].glyph} {reason} (results: last good coil)" if reason else ""
        self.message.setText(text)
        self.message.setVisible(bool(reason))
        if isinstance(self.widget, QuantityField) and self.widget.error:
            return
        entry.setAccessibleDescription(text)
        if entry is self.widget:
            self._tip(text)
        else:
            set_tip(entry, text)
        set_style_property(entry, "bad", "true" if reason else "false")


class Rows(QGroupBox):
    """Titled group of rows bound to paths below one section.

    Parameters
    ----------
    document : Document
        Holder of the design.
    title : str
        Heading.
    section : str
        Dotted path of the section; rows are named relative to it.
    """

    def __init__(
        self, document: Document[Any], title: str, section: str, parent: QWidget | None = None
    ) -> None:
        super().__init__(title, parent)
        self._document, self.section = document, section
        self.rows: dict[str, FieldRow] = {}
        self._captions: dict[str, str] = {}
        self.form = QFormLayout(self)
        self.form.setContentsMargins(8, 6, 8, 6)
        self.form.setVerticalSpacing(5)
        self.form.setHorizontalSpacing(8)
        self.form.setFieldGrowthPolicy(QFormLayout.FieldGrowthPolicy.AllNonFixedFieldsGrow)
        self.form.setLabelAlignment(Qt.AlignmentFlag.AlignLeft)

    def add_quantity(self, name: str, words: str, *, digits: int = 5) -> FieldRow:
        """Row for a quantity; `words` is the short caption, the design's title the long one."""
        path = f"{self.section}.{name}"
        info = field_info(path)
        field = QuantityField(
            info["shown_unit"],
            name=words,
            low=info.get("low", -math.inf),
            high=info.get("high", math.inf),
            digits=digits,
        )
        bind_value(self._document, path, field, text=str(info["title"]))
        return self.add_row(path, words, field)

    def add_choice(self, name: str, words: str, choices: Mapping[Any, str]) -> FieldRow:
        """Row for a named choice."""
        path = f"{self.section}.{name}"
        box = QComboBox()
        box.setAccessibleName(words)
        bind_choice(self._document, path, box, choices, text=str(field_info(path)["title"]))
        return self.add_row(path, words, box)

    def add_row(self, path: str, words: str, widget: QuantityField | QComboBox) -> FieldRow:
        """Row for a widget that is bound already."""
        widget.setFixedWidth(FIELD_WIDTH)
        row = FieldRow(widget, self)
        caption = TextLabel(words, self)
        caption.setBuddy(widget)
        caption.setWordWrap(True)
        self.place(path, words, caption, row)
        return row

    def place(self, path: str, words: str, caption: QWidget, row: FieldRow) -> None:
        """Put a row and the message under it into the form."""
        self.rows[path], self._captions[path] = row, words
        self.form.addRow(caption, row)
        self.form.addRow(row.message)

    def caption(self, path: str) -> str:
        """Words of a row."""
        return self._captions[path]

    def show_rows(self, names: Mapping[str, bool]) -> None:
        """Show or hide rows by name."""
        for name, visible in names.items():
            self.form.setRowVisible(self.rows[f"{self.section}.{name}"], visible)
