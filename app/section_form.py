"""Form rows made from the design's own titles, units and limits."""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping, Sequence
from typing import Any, Final

from PySide6.QtWidgets import (
    QCheckBox,
    QComboBox,
    QFormLayout,
    QGroupBox,
    QLineEdit,
    QWidget,
)

from burstwise.app.binding import bind_check, bind_choice, bind_text, bind_value
from burstwise.app.document import Document
from burstwise.app.widgets.quantity_field import QuantityField
from burstwise.app.widgets.restyle import set_style_property
from burstwise.app.widgets.text_label import TextLabel
from burstwise.core.design.document import field_info

FIELD_WIDTH: Final = 190
"""Widest field for a quantity; numbers stay near their names."""
_LONG_WORDS: Final = 36
"""A choice with more letters than this gets a line of its own."""


def _has_long_words(widget: QWidget) -> bool:
    return isinstance(widget, QComboBox) and any(
        len(widget.itemText(place)) > _LONG_WORDS for place in range(widget.count())
    )


class SectionForm(QGroupBox):
    """Titled group with one row per path, bound to the document.

    Parameters
    ----------
    document : Document
        Holder of the design.
    title : str
        Heading of the group; without one no room is left for it.
    paths : sequence of str
        Dotted paths of quantities, choices, yes-or-no fields or texts.
    words : mapping, optional
        Words of the choices of a path, by value.
    """

    def __init__(
        self,
        document: Document[Any],
        title: str,
        paths: Sequence[str],
        *,
        words: Mapping[str, Mapping[str, str]] | None = None,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(title, parent)
        if not title:
            set_style_property(self, "role", "inner")
        self._document = document
        self.rows: dict[str, QWidget] = {}
        layout = QFormLayout(self)
        layout.setFieldGrowthPolicy(QFormLayout.FieldGrowthPolicy.AllNonFixedFieldsGrow)
        layout.setRowWrapPolicy(QFormLayout.RowWrapPolicy.DontWrapRows)
        layout.setHorizontalSpacing(16)
        for path in paths:
            info = field_info(path)
            widget = self._row(path, info, (words or {}).get(path))
            self.rows[path] = widget
            if isinstance(widget, QLineEdit) or _has_long_words(widget):
                layout.addRow(TextLabel(str(info["title"]), self))
                layout.addRow(widget)
            elif isinstance(widget, QCheckBox):
                layout.addRow(widget)
            else:
                layout.addRow(str(info["title"]), widget)
            if isinstance(widget, QuantityField):  # a reason has the width of the whole form
                layout.addRow(widget.give_message())

    def show_only(self, paths: Collection[str]) -> None:
        """Show the rows of some paths and hide the others."""
        layout = self.layout()
        assert isinstance(layout, QFormLayout)
        for path, widget in self.rows.items():
            layout.setRowVisible(widget, path in paths)

    def _row(
        self,
        path: str,
        info: Mapping[str, Any],
        words: Mapping[str, str] | None,
    ) -> QWidget:
        title = str(info["title"])
        if "choices" in info:
            box = QComboBox(self)
            box.setAccessibleName(title)
            choices = words or {choice: choice for choice in info["choices"]}
            bind_choice(self._document, path, box, choices, text=title)
            return box
        if "unit" in info:
            field = QuantityField(
                info["shown_unit"],
                name=title,
                low=info.get("low", -math.inf),
                high=info.get("high", math.inf),
                parent=self,
            )
            field.setMaximumWidth(FIELD_WIDTH)
            bind_value(self._document, path, field, text=title)
            return field
        if isinstance(self._document.value(path), bool):
            check = QCheckBox(title, self)
            bind_check(self._document, path, check, text=title)
            return check
        line = QLineEdit(self)
        line.setAccessibleName(title)
        bind_text(self._document, path, line, text=title)
        return line
