"""Dynamic properties of the style sheet, set with the repolish that Qt needs to see them."""

from __future__ import annotations

from PySide6.QtWidgets import QWidget


def set_style_property(widget: QWidget, name: str, value: str | bool) -> None:
    """Set a property that the style sheet selects on; no work when it is unchanged."""
    if widget.property(name) == value:
        return
    widget.setProperty(name, value)
    style = widget.style()
    style.unpolish(widget)
    style.polish(widget)


def hide_at_rest(widget: QWidget) -> None:
    """Hide a widget that is shown only while work runs, and keep its room so that nothing jumps."""
    policy = widget.sizePolicy()
    policy.setRetainSizeWhenHidden(True)
    widget.setSizePolicy(policy)
    widget.hide()
