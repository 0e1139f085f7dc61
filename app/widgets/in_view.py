"""What a widget shows of values that come often: only while it is in view, at a pace."""

from __future__ import annotations

from collections.abc import Callable
from typing import Generic, TypeVar

from PySide6.QtCore import QEvent, QObject, QTimer
from PySide6.QtWidgets import QWidget

T = TypeVar("T")


class ShownInView(QObject, Generic[T]):
    """Passes values to `show` while a widget is in view; out of view the latest waits.

    Parameters
    ----------
    widget : QWidget
        What has to be in view, which owns this.
    show : callable
        Shows a value.
    pace_ms : int
        Shortest time between two values that `offer` shows [ms]; the last is never lost.
    """

    def __init__(self, widget: QWidget, show: Callable[[T], None], *, pace_ms: int = 0) -> None:
        super().__init__(widget)
        self._widget, self._show = widget, show
        self._waiting: list[T] = []
        self._pace = QTimer(self)
        self._pace.setSingleShot(True)
        self._pace.setInterval(pace_ms)
        self._pace.timeout.connect(self._show_waiting)
        widget.installEventFilter(self)

    def offer(self, value: T) -> None:
        """Show a value when its turn comes."""
        self._waiting = [value]
        if not self._pace.isActive():
            self._show_waiting()

    def put(self, value: T) -> None:
        """Show a value that does not wait for a turn, as soon as the widget is in view."""
        self._waiting = [value]
        self._show_waiting()

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Show what waited while the widget was out of view."""
        if event.type() == QEvent.Type.Show:
            self._show_waiting()
        return False

    def _show_waiting(self) -> None:
        if not self._waiting or not self._widget.isVisible():
            return
        value = self._waiting.pop()
        if self._pace.interval():
            self._pace.start()
        self._show(value)
