"""Dynamic properties of the style sheet, set with the repolish that Qt needs to see them."""

from __future__ import annotations

from PySide6.QtWidgets import QWidget


def set_style_property(widget: QWidget, name: str, value: str) -> None:
    """Set a property that the style sheet selects on; no work when it is unchanged."""
    if widget.property(name) == value:
        return
    widget.setProperty(name, value)
    style = widget.style()
    style.unpolish(widget)
    style.polish(widget)
