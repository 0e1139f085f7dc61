"""Panels side by side where the width allows it, else one below the other."""

from __future__ import annotations

from typing import Final

from PySide6.QtCore import QEvent, QSize, Qt
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QBoxLayout, QHBoxLayout, QScrollArea, QWidget

_NO_LIMIT: Final = 16_777_215
"""Qt's largest width or height of a widget [px]."""


class _ReflowLayout(QBoxLayout):
    """Box that needs no more width than its widest panel, because it can turn upright."""

    def minimumSize(self) -> QSize:
        size = super().minimumSize()
        margins = self.contentsMargins()
        size.setWidth(self.widest() + margins.left() + margins.right())
        return size

    def minimumHeightForWidth(self, width: int) -> int:
        """Least height; in a column with wrapped words Qt takes the preferred one for it."""
        if self.direction() is QBoxLayout.Direction.TopToBottom:
            return self.heightForWidth(width)
        return super().minimumHeightForWidth(width)

    def panels(self) -> list[QWidget]:
        items = (self.itemAt(place) for place in range(self.count()))
        return [
            panel
            for item in items
            if item is not None and not item.isEmpty() and (panel := item.widget()) is not None
        ]

    def widest(self) -> int:
        return max((_least(panel) for panel in self.panels()), default=0)


class Reflow(QWidget):
    """Row of panels that becomes a column when the row does not fit.

    Parameters
    ----------
    spacing : int
        Room between panels [px].
    """

    def __init__(self, *, spacing: int = 12, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._layout = _ReflowLayout(QBoxLayout.Direction.LeftToRight, self)
        self._layout.setContentsMargins(0, 0, 0, 0)
        self._layout.setSpacing(spacing)
        self._fixed: dict[QWidget, int] = {}
        self._more: dict[QWidget, int] = {}

    def add(
        self,
        panel: QWidget,
        stretch: int = 1,
        *,
        width: int | None = None,
        row_width: int = 0,
    ) -> None:
        """Put a panel at the end.

        Parameters
        ----------
        panel : QWidget
            The panel; give it a minimum width at which it can be used.
        stretch : int
            Share of what room is left.
        width : int, optional
            Width that it keeps in the row [px]; in the column it takes all.
        row_width : int
            Least width at which it may stand in the row, where that is more than it needs [px].
        """
        self._more[panel] = row_width
        self._layout.addWidget(panel, stretch)
        if width is not None:
            self._fixed[panel] = width
            panel.setFixedWidth(width)

    def set_width(self, panel: QWidget, width: int) -> None:
        """Change the width that a panel keeps in the row [px]."""
        if width != self._fixed[panel]:
            self._fixed[panel] = width
            if not self.upright:
                panel.setFixedWidth(width)
            self.turn()

    @property
    def panels(self) -> list[QWidget]:
        """Panels that are shown, in their order."""
        return self._layout.panels()

    @property
    def upright(self) -> bool:
        """Whether the panels stand one below the other."""
        return self._layout.direction() is QBoxLayout.Direction.TopToBottom

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Turn when the width asks for it."""
        super().resizeEvent(event)
        self.turn()

    def event(self, event: QEvent) -> bool:
        """Turn when a panel asks for more or less."""
        if event.type() is QEvent.Type.LayoutRequest:
            self.turn()
        return super().event(event)

    def _row_width(self) -> int:
        """Width from which all panels stand side by side [px]."""
        panels = self._layout.panels()
        widths = [self._fixed.get(panel, max(_least(panel), self._more[panel])) for panel in panels]
        return sum(widths) + self._layout.spacing() * max(len(widths) - 1, 0)

    def turn(self) -> None:
        """Row or column, as the present width allows."""
        upright = self.width() < self._row_width()
        if upright != self.upright:
            way = QBoxLayout.Direction
            self._layout.setDirection(way.TopToBottom if upright else way.LeftToRight)
            for panel, width in self._fixed.items():
                panel.setMinimumWidth(0 if upright else width)
                panel.setMaximumWidth(_NO_LIMIT if upright else width)
        for panel in self._layout.panels():
            if isinstance(panel, QScrollArea):
                _unroll(panel, upright)


def _least(panel: QWidget) -> int:
    """Width below which a panel may not go [px]."""
    return max(panel.minimumWidth(), panel.minimumSizeHint().width())


def _unroll(area: QScrollArea, upright: bool) -> None:
    """In a column the page scrolls, not the panel: it stands there in its whole height."""
    inner = area.widget()
    height = 0
    if upright and inner is not None:
        wrapped = inner.heightForWidth(area.width() - 2 * area.frameWidth())
        height = max(wrapped, inner.sizeHint().height()) + 4
    area.setMinimumHeight(height)
    policy = Qt.ScrollBarPolicy
    area.setVerticalScrollBarPolicy(
        policy.ScrollBarAlwaysOff if upright else policy.ScrollBarAsNeeded
    )


def beside(*widgets: QWidget, spacing: int = 10) -> QWidget:
    """Widgets in a row that stays one, the last with what room is left."""
    row = QWidget()
    across = QHBoxLayout(row)
    across.setContentsMargins(0, 0, 0, 0)
    across.setSpacing(spacing)
    for widget in widgets:
        across.addWidget(widget, 1 if widget is widgets[-1] else 0)
    return row
