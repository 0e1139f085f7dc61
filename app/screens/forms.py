"""Screens that are forms over a part of the design."""

from __future__ import annotations

from PySide6.QtWidgets import QWidget

from app.screens.page import Page
from app.session import Session
from app.theme import Theme
from app.widgets.section_form import SectionForm
from core.design.document import field_info

_WORDS = {
    "drive.kind": {"direct": "Direct, base current into the gate", "gated": "Gate driver"},
    "drive.feedback_sense": {"normal": "As drawn", "reversed": "One winding's ends swapped"},
    "coil.given_by": {"measured": "Measured values", "geometry": "Geometry"},
}
_LISTS = frozenset({"thermal_network"})


def fields_of(session: Session, section: str) -> list[str]:
    """Paths of the plain fields of a section, sections within it and lists left out."""
    part = session.document.value(section)
    paths = []
    for name in type(part).model_fields:
        value = getattr(part, name)
        path = f"{section}.{name}"
        if name not in _LISTS and not hasattr(type(value), "model_fields"):
            info = field_info(path)
            if "unit" in info or "choices" in info or isinstance(value, (bool, str)):
                paths.append(path)
    return paths


def _group(session: Session, title: str, section: str) -> SectionForm:
    return SectionForm(session.document, title, fields_of(session, section), words=_WORDS)


def coil_screen(session: Session, theme: Theme) -> QWidget:
    """Coil by its measured values."""
    name = SectionForm(session.document, "Design", ["name"])
    return Page(
        "Coil",
        [
            [name, _group(session, "Coil", "coil")],
            [_group(session, "Measured values", "coil.measured")],
        ],
    )


def drive_screen(session: Session, theme: Theme) -> QWidget:
    """Device and both kinds of drive."""
    return Page(
        "Switch and drive",
        [
            [_group(session, "Device", "device")],
            [
                _group(session, "Drive", "drive"),
                _group(session, "Direct drive", "drive.direct"),
                _group(session, "Gate driver", "drive.gated"),
            ],
        ],
    )


def supply_screen(session: Session, theme: Theme) -> QWidget:
    """Supply and cooling side by side."""
    return Page(
        "Supply and cooling",
        [[_group(session, "Supply", "supply")], [_group(session, "Cooling", "cooling")]],
    )
