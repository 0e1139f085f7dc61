"""Switch and drive screen: datasheet, curves, drive, protection."""

from __future__ import annotations

from typing import Final

from PySide6.QtWidgets import (
    QCheckBox,
    QGroupBox,
    QScrollArea,
    QVBoxLayout,
    QWidget,
)

from burstwise.app.screens.device.curves_page import CurvesPage
from burstwise.app.screens.device.drive_page import DrivePage
from burstwise.app.screens.device.sheet_form import SheetForm
from burstwise.app.section_form import SectionForm
from burstwise.app.session import Session
from burstwise.app.theme import Theme
from burstwise.app.widgets.page_tabs import PageTabs
from burstwise.app.widgets.reflow import Reflow
from burstwise.app.widgets.text_label import TextLabel
from burstwise.core.design.drive import DrainClamp, ReservoirClamp, Snubber, Trip
from burstwise.core.design.fields import Section as Part

_WORDS: Final = {
    "protection.trip.kind": {"current": "Drain current", "time-out": "Time without oscillation"},
}
_PARTS: Final[tuple[tuple[str, str, type[Part]], ...]] = (
    ("drain_clamp", "Zener or suppressor diode, drain to source", DrainClamp),
    ("snubber", "Resistor and capacitor, drain to source", Snubber),
    ("reservoir_clamp", "Diode into a capacitor with a bleeder", ReservoirClamp),
    ("trip", "Trip for a lost loop: holds the gate off", Trip),
)


class DeviceScreen(QWidget):
    """Tabs of the switch, its drive and its protection.

    Parameters
    ----------
    session, theme
        Document and look.
    """

    def __init__(self, session: Session, theme: Theme) -> None:
        super().__init__()
        self.sheet = SheetForm(session, theme)
        self.curves = CurvesPage(session)
        self.drive = DrivePage(session, theme)
        self.protection = ProtectionPage(session)
        self.tabs = PageTabs(self)
        for title, page in (
            ("&Datasheet", self.sheet),
            ("C&urves", self.curves),
            ("D&rive", self.drive),
            ("&Protection", self.protection),
        ):
            self.tabs.addTab(page, title)
        heading = TextLabel("Switch and drive", self, role="heading")
        layout = QVBoxLayout(self)
        layout.setContentsMargins(20, 12, 20, 12)
        layout.addWidget(heading)
        layout.addWidget(self.tabs, 1)


class ProtectionPage(QScrollArea):
    """Parts that may be fitted, each with its figures; the limits screen sizes them.

    Parameters
    ----------
    session : Session
        Document.
    """

    def __init__(self, session: Session) -> None:
        super().__init__()
        self.setWidgetResizable(True)
        self._document = session.document
        self.checks: dict[str, QCheckBox] = {}
        self._forms: dict[str, QWidget] = {}
        inner = QWidget()
        down = QVBoxLayout(inner)
        down.setContentsMargins(0, 8, 10, 8)
        hint = TextLabel(
            "Limits, tab Protection, proposes values from the stage's own waveforms.", role="muted"
        )
        down.addWidget(hint)
        across, below = Reflow(parent=inner), Reflow(parent=inner)
        for name, title, make in _PARTS:
            line = below if name == "trip" else across
            line.add(self._part(name, title, make, inner))
        down.addWidget(across)
        below.add(SectionForm(self._document, "Fuse", ["protection.fuse_rating"]))
        below.add(QWidget(inner))
        down.addWidget(below)
        down.addStretch(1)
        self.setWidget(inner)
        self._document.changed.connect(self._follow)
        self._follow()

    def _part(self, name: str, title: str, make: type[Part], owner: QWidget) -> QGroupBox:
        box = QGroupBox(title, owner)
        check = QCheckBox("Fitted", box)
        check.setAccessibleName(f"{title}, fitted")
        self.checks[name] = check
        layout = QVBoxLayout(box)
        layout.addWidget(check)
        paths = [f"protection.{name}.{field}" for field in make.model_fields]
        form = SectionForm(self._document, "", paths, words=_WORDS)
        self._forms[name] = form
        layout.addWidget(form)
        layout.addStretch(1)
        check.toggled.connect(
            lambda on: self._document.edit(
                f"protection.{name}",
                make() if on else None,
                text=f"{title}: {'fit' if on else 'remove'}",
            )
        )
        return box

    def _follow(self, _changed: object = None) -> None:
        for name, check in self.checks.items():
            fitted = self._document.value(f"protection.{name}") is not None
            check.blockSignals(True)
            check.setChecked(fitted)
            check.blockSignals(False)
            self._forms[name].setVisible(fitted)
