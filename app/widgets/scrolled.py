"""A page that keeps the room it needs: where the window gives less, it scrolls."""

from __future__ import annotations

from typing import Final

from PySide6.QtCore import QEvent, QObject, QSize, Qt
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QFrame, QScrollArea, QWidget

_ROUNDS: Final = 5
"""Most passes until panels within panels have turned; one that turns back and forth ends here."""


class Scrolled(QScrollArea):
    """Scroll area whose page fills it, but is never smaller than its layout's minimum.

    Qt's own resizable scroll area gives a page with wrapped words its preferred height, so that it
    scrolls long before it has to.

    Parameters
    ----------
    page : QWidget
        A widget with a layout.
    """

    def __init__(self, page: QWidget, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.page = page
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.setWidget(page)
        page.setAutoFillBackground(False)
        self.fit()

    def sizeHint(self) -> QSize:
        """What the page would like."""
        return self.page.sizeHint()

    def minimumSizeHint(self) -> QSize:
        """Small: what does not fit is scrolled to."""
        return QSize(120, 80)

    def fit(self) -> None:
        """Give the page the size of the view, or what it needs; panels may turn on the way."""
        for _ in range(_ROUNDS):
            layout = self.page.layout()
            if layout is not None:
                layout.activate()
            if not self._fitted():
                return

    def _fitted(self) -> bool:
        """Size the page once; tells whether that changed anything."""
        view = self.maximumViewportSize()
        bar = self.verticalScrollBar().sizeHint().width()
        size = self._needed(view)
        if size.height() > view.height():
            size = self._needed(QSize(view.width() - bar, view.height()))
        if size.width() > view.width():
            size = self._needed(QSize(size.width(), view.height() - bar))
        changed = size != self.page.size()
        self.page.resize(size)
        return changed

    def _needed(self, view: QSize) -> QSize:
        layout = self.page.layout()
        if layout is None:
            least = self.page.minimumSizeHint().expandedTo(self.page.minimumSize())
            return view.expandedTo(least)
        size = view.expandedTo(layout.totalMinimumSize())
        if layout.hasHeightForWidth():
            size.setHeight(max(view.height(), layout.totalMinimumHeightForWidth(size.width())))
        return size

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Fit the page to the new view."""
        super().resizeEvent(event)
        self.fit()

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Fit the page when what it needs has changed."""
        done = super().eventFilter(watched, event)
        if watched is self.widget() and event.type() is QEvent.Type.LayoutRequest:
            self.fit()
        return done


def scrolled(page: QWidget) -> QScrollArea:
    """The page in a scroll area; a page that is one already stays as it is."""
    return page if isinstance(page, QScrollArea) else Scrolled(page)
