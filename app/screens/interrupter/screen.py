"""The interrupter's screen: what the design takes, and the pages around the timer."""

from __future__ import annotations

from typing import Final

from PySide6.QtGui import QShowEvent
from PySide6.QtWidgets import (
    QCheckBox,
    QComboBox,
    QFrame,
    QHBoxLayout,
    QVBoxLayout,
    QWidget,
)

from burstwise.app.binding import bind_check, bind_choice, bind_value
from burstwise.app.screens.interrupter.chain_page import ChainPage
from burstwise.app.screens.interrupter.chosen import Chosen
from burstwise.app.screens.interrupter.circuit_page import CircuitPage
from burstwise.app.screens.interrupter.knob_page import KnobPage
from burstwise.app.screens.interrupter.size_page import SizePage
from burstwise.app.screens.interrupter.tolerance_page import TolerancePage
from burstwise.app.session import Session
from burstwise.app.theme import Theme
from burstwise.app.widgets.caution import caution_line
from burstwise.app.widgets.page_tabs import PageTabs
from burstwise.app.widgets.quantity_field import QuantityField
from burstwise.app.widgets.reflow import Reflow, beside
from burstwise.app.widgets.text_label import TextLabel
from burstwise.core.design.document import Design
from burstwise.core.interrupter.resolve import resolved_interrupter
from burstwise.core.interrupter.sets import TimerSet
from burstwise.core.units import shown

_GIVEN: Final = {"numbers": "typed numbers", "parts": "timer parts"}
_FIELD_WIDTH: Final = 124
_NOW_WIDTH: Final = 240


class InterrupterScreen(QWidget):
    """Head with what the stage gets; below it sizing, circuit, knob, tolerance, chain."""

    def __init__(self, session: Session, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._session = session
        self.chosen = Chosen(session, self)
        self.size_page = SizePage(session.document, session.drawer, self)
        self.circuit_page = CircuitPage(self.chosen, theme, self)
        self.knob_page = KnobPage(self.chosen, theme, self)
        self.tolerance_page = TolerancePage(self.chosen, theme, self)
        self.chain_page = ChainPage(session, theme, self)
        self.tabs = PageTabs(self)
        for title, page in (
            ("&Size parts", self.size_page),
            ("C&ircuit", self.circuit_page),
            ("&Knob", self.knob_page),
            ("T&olerance", self.tolerance_page),
            ("Drive ch&ain", self.chain_page),
        ):
            self.tabs.addTab(page, title)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(20, 12, 20, 10)
        layout.setSpacing(8)
        layout.addWidget(self._head())
        layout.addWidget(caution_line("interrupter", self))
        layout.addWidget(self.tabs, 1)
        self.size_page.chosen.connect(self.take)
        self.tabs.currentChanged.connect(self._page_changed)
        session.document.changed.connect(self._write)
        self._write()
        if self.chosen.interrupter.given_by == "parts":
            self.tabs.setCurrentWidget(self.knob_page)

    def take(self, one: TimerSet) -> None:
        """Put a set into the design, with the wish it was sized for, as one undo step.

        The knob stays where it is.
        """
        parts = one.given.model_copy(update={"travel": self.chosen.parts.travel})
        self._session.document.edit_many(
            {
                "interrupter.parts": parts,
                "interrupter.wish": self.chosen.interrupter.wish_in_use,
                "interrupter.given_by": "parts",
                "interrupter.enabled": True,
            },
            text="Timer parts",
        )

    def showEvent(self, event: QShowEvent) -> None:
        """Search for the wish that stands in the form when it is first seen."""
        super().showEvent(event)
        self._page_changed()

    def _page_changed(self, _index: int = 0) -> None:
        if self.tabs.currentWidget() is self.size_page:
            self.size_page.search_when_visible()

    def _head(self) -> QFrame:
        document = self._session.document
        head = QFrame(self)
        heading = TextLabel("Interrupter", head, role="heading")
        self.fitted = QCheckBox("Fitte&d", head)
        bind_check(document, "interrupter.enabled", self.fitted, text="Interrupter fitted")
        self.given_by = QComboBox(head)
        self.given_by.setAccessibleName("Interrupter given by")
        bind_choice(
            document, "interrupter.given_by", self.given_by, _GIVEN, text="Interrupter given by"
        )
        self.frequency = QuantityField("Hz", name="Frequency", low=0.2, high=20e3, parent=head)
        self.duty = QuantityField("%", name="Duty", low=0.0, high=1.0, parent=head)
        for field, path in ((self.frequency, "frequency"), (self.duty, "duty")):
            field.setFixedWidth(_FIELD_WIDTH)
            bind_value(document, f"interrupter.{path}", field, text=f"Interrupter {path}")
        self.now = TextLabel(head, wraps=True, role="muted")
        self._typed = QWidget(head)
        typed = QHBoxLayout(self._typed)
        typed.setContentsMargins(0, 0, 0, 0)
        typed.addWidget(self.frequency)
        typed.addWidget(self.duty)
        typed.addStretch(1)
        given = beside(TextLabel("given by", head), self.given_by, self._typed)
        self.now.setMinimumWidth(_NOW_WIDTH)
        row = Reflow(spacing=10, parent=head)
        row.add(beside(heading, self.fitted), 0)
        row.add(given, 0)
        row.add(self.now)
        across = QVBoxLayout(head)
        across.setContentsMargins(0, 0, 0, 0)
        across.addWidget(row)
        return head

    def _write(self, _design: object = None) -> None:
        design: Design = self._session.document.design
        by_numbers = design.interrupter.given_by == "numbers"
        self._typed.setVisible(by_numbers)
        found = resolved_interrupter(design)
        if not design.interrupter.enabled:
            text = "The stage runs without a pause."
        elif found.chosen is None:
            text = f"On for {shown(found.duty / found.frequency, 's')} in each period."
        elif found.chosen.frequency.low <= 0:
            text = "These parts do not oscillate in every build; see the findings."
        else:
            text = (
                f"{shown(found.frequency, 'Hz')}, duty {shown(found.duty, '%', digits=3)}, on for "
                f"{shown(found.duty / found.frequency, 's', digits=3)}; knob at "
                f"{shown(design.interrupter.parts.travel, '%', digits=3)}."
            )
        self.now.setText(text)
