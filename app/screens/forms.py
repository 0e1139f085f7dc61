"""The screen that is a form over two parts of the design: supply and cooling."""

from __future__ import annotations

from PySide6.QtWidgets import QWidget

from app.screens.page import Page
from app.section_form import SectionForm
from app.session import Session
from app.theme import Theme
from core.design.document import field_info


def fields_of(session: Session, section: str) -> list[str]:
    """Paths of the plain fields of a section, sections within it left out."""
    part = session.document.value(section)
    paths = []
    for name in type(part).model_fields:
        value = getattr(part, name)
        path = f"{section}.{name}"
        if not hasattr(type(value), "model_fields"):
            info = field_info(path)
            if "unit" in info or "choices" in info or isinstance(value, (bool, str)):
                paths.append(path)
    return paths


def _group(session: Session, title: str, section: str) -> SectionForm:
    return SectionForm(session.document, title, fields_of(session, section))


def supply_screen(session: Session, theme: Theme) -> QWidget:
    """Supply and cooling side by side."""
    return Page(
        "Supply and cooling",
        [[_group(session, "Supply", "supply")], [_group(session, "Cooling", "cooling")]],
    )
