"""List of findings, the heaviest first, each with shape, word and colour."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

from PySide6.QtCore import QRect, QSize, Qt, Signal
from PySide6.QtGui import QColor, QResizeEvent
from PySide6.QtWidgets import QListWidget, QListWidgetItem, QVBoxLayout, QWidget

from burstwise.app.theme import Theme, Tokens, mark
from burstwise.app.widgets.restyle import set_style_property
from burstwise.app.widgets.text_label import TextLabel, set_tip
from burstwise.app.widgets.words import unbroken
from burstwise.core.findings import Finding, heaviest_first

_GAP: Final = 5
_MARGIN: Final = 4
"""Room around the words of an item [px]."""


class _Wrapped(QListWidget):
    """List whose items are exactly as high as their wrapped words at the present width."""

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        self.setWordWrap(True)
        self.setTextElideMode(Qt.TextElideMode.ElideNone)
        self.setSpacing(_GAP)

    def fit_items(self) -> None:
        """Give each item the height of its words."""
        width = self.viewport().width() - 2 * _GAP
        metrics = self.fontMetrics()
        room = QRect(0, 0, max(width - 2 * _MARGIN, 1), 10_000)
        for row in range(self.count()):
            item = self.item(row)
            words = metrics.boundingRect(room, Qt.TextFlag.TextWordWrap, item.text())
            item.setSizeHint(QSize(width, words.height() + 2))
        self.doItemsLayout()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Wrap the words anew; a scroll bar that comes or goes changes the width, too."""
        super().resizeEvent(event)
        self.fit_items()


class FindingsList(QWidget):
    """Findings with a heading that counts them; choosing one tells its field.

    Parameters
    ----------
    theme : Theme
        Colours, followed when they change.
    """

    chosen = Signal(str)

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._tokens = theme.tokens
        self._findings: tuple[Finding, ...] = ()
        self.heading = TextLabel(self, role="title")
        self.items = _Wrapped(self)
        self.items.setAccessibleName("Findings")
        self.items.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.items.setVerticalScrollMode(QListWidget.ScrollMode.ScrollPerPixel)
        set_style_property(self.items, "role", "findings")
        self.items.itemActivated.connect(self._choose)
        self.items.itemClicked.connect(self._choose)
        self.heading.setContentsMargins(8, 10, 8, 2)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(0)
        layout.addWidget(self.heading)
        layout.addWidget(self.items)
        theme.changed.connect(self.recolour)
        self.show_findings(())

    @property
    def findings(self) -> tuple[Finding, ...]:
        """Findings in view, in the order shown."""
        return self._findings

    def show_findings(self, findings: Iterable[Finding]) -> None:
        """Replace the list; an unchanged one keeps its place."""
        ordered = heaviest_first(findings)
        if ordered != self._findings or not self.heading.text():
            self._findings = ordered
            self._fill()

    def recolour(self, tokens: Tokens) -> None:
        """Take the colours of a look."""
        self._tokens = tokens
        self._fill()

    def _fill(self) -> None:
        count = len(self._findings)
        self.heading.setText(f"Findings ({count})" if count else "No findings")
        self.items.clear()
        for finding in self._findings:
            shape = mark(finding.severity)
            item = QListWidgetItem(unbroken(f"{shape.glyph} {shape.word}: {finding.text}"))
            item.setForeground(QColor(self._tokens.severity(finding.severity)))
            item.setData(Qt.ItemDataRole.UserRole, finding.field)
            set_tip(item, finding.text)
            self.items.addItem(item)
        self.items.fit_items()

    def _choose(self, item: QListWidgetItem) -> None:
        self.chosen.emit(item.data(Qt.ItemDataRole.UserRole))
