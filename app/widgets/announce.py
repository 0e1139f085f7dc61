"""Words for screen readers, and for them alone."""

from __future__ import annotations

from PySide6.QtGui import QAccessible, QAccessibleAnnouncementEvent
from PySide6.QtWidgets import QWidget


def announce(widget: QWidget, text: str) -> None:
    """Have a screen reader say a text once; without one nothing happens."""
    if text:
        QAccessible.updateAccessibility(QAccessibleAnnouncementEvent(widget, text))
