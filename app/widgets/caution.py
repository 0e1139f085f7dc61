"""Caution of a place in the window: a line, with every hazard in full behind it."""

from __future__ import annotations

from PySide6.QtWidgets import QLabel, QWidget

from burstwise.app.widgets.restyle import set_style_property
from burstwise.app.widgets.text_label import TextLabel, set_tip
from burstwise.core.assembly.cautions import in_full, line


def caution_line(place: str, parent: QWidget) -> QLabel:
    """Label with the caution of a place; its tool tip and description hold all hazards.

    Parameters
    ----------
    place : str
        A key of `burstwise.core.assembly.cautions.PLACES`.
    parent : QWidget
        Where it stands.
    """
    label = TextLabel(line(place), parent, wraps=True)
    label.setObjectName("caution-line")
    set_tip(label, in_full())
    label.setAccessibleDescription(in_full())
    set_style_property(label, "role", "caution")
    return label
