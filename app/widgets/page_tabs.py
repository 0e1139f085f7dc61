"""Tabs whose pages scroll where they have too little room, and whose words always fit."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from PySide6.QtCore import QSize
from PySide6.QtGui import QFont, QFontMetrics, QResizeEvent, QShowEvent
from PySide6.QtWidgets import QTabBar, QTabWidget, QWidget

from burstwise.app.widgets.scrolled import Scrolled, scrolled

_PAD: Final = 14
_TIGHT_PAD: Final = 3
"""Room beside the words of a tab, and where it is scarce [px]."""
_TIGHT: Final = f"QTabBar::tab {{ padding: 6px {_TIGHT_PAD}px; }}"
_BORDER: Final = 2


class _Bar(QTabBar):
    """Bar whose tabs are as high as their words; Qt's own give them one line."""

    def tabSizeHint(self, place: int) -> QSize:
        size = super().tabSizeHint(place)
        lines = max(self.tabText(one).count("\n") for one in range(self.count()))
        size.setHeight(size.height() + lines * self.fontMetrics().height())
        return size


class PageTabs(QTabWidget):
    """Tab widget that puts each page into a scroll area, and tells pages, not areas.

    Where the tabs do not fit, they stand closer; where that is not enough, their words take two
    lines.
    """

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setTabBar(_Bar(self))
        self.setUsesScrollButtons(True)
        self._words: list[str] = []

    def addTab(self, page: QWidget, words: str) -> int:  # type: ignore[override]
        """Add a page with the words of its tab."""
        self._words.append(words)
        return super().addTab(scrolled(page), words)

    def widget(self, place: int) -> QWidget:
        """Page at a place."""
        held = super().widget(place)
        assert held is not None
        return _page(held)

    def currentWidget(self) -> QWidget:
        """Page in view."""
        return self.widget(self.currentIndex())

    def indexOf(self, page: QWidget) -> int:
        """Place of a page; -1 if it is none of these."""
        places = range(self.count())
        return next((place for place in places if self.widget(place) is page), -1)

    def setCurrentWidget(self, page: QWidget) -> None:
        """Bring a page into view."""
        self.setCurrentIndex(self.indexOf(page))

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Fit the tabs to the width."""
        self._fit_words()
        super().resizeEvent(event)

    def showEvent(self, event: QShowEvent) -> None:
        """Fit the tabs to the font in force."""
        self._fit_words()
        super().showEvent(event)

    def _fit_words(self) -> None:
        wide = all(self._needed(self._words, pad) > self.width() for pad in (_PAD, _TIGHT_PAD))
        words = [in_two_lines(text) for text in self._words] if wide else self._words
        style = _TIGHT if self._needed(self._words, _PAD) > self.width() else ""
        bar = self.tabBar()
        if bar.styleSheet() != style:
            bar.setStyleSheet(style)
        for place, text in enumerate(words):
            if self.tabText(place) != text:
                self.setTabText(place, text)

    def _needed(self, words: Sequence[str], pad: int) -> int:
        """Width of tabs with some words, the chosen one in bold [px]."""
        font = QFont(self.tabBar().font())
        font.setWeight(QFont.Weight.DemiBold)
        measure = QFontMetrics(font).horizontalAdvance
        return sum(measure(text.replace("&", "")) + 2 * pad + _BORDER for text in words)


def _page(widget: QWidget) -> QWidget:
    return widget.page if isinstance(widget, Scrolled) else widget


def in_two_lines(words: str) -> str:
    r"""Words broken at the space that makes the longer line shortest; one word stays.

    Examples
    --------
    >>> in_two_lines("Continuous or &interrupted")
    'Continuous or\n&interrupted'
    >>> in_two_lines("&Map")
    '&Map'
    """
    parts = words.split(" ")
    ways = [(" ".join(parts[:cut]), " ".join(parts[cut:])) for cut in range(1, len(parts))] or [
        (words, "")
    ]
    return "\n".join(min(ways, key=lambda way: max(map(len, way)))).rstrip("\n")
