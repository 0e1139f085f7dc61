"""Rate limit for live values: first one at once, then at most one per interval, last one always."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import QObject, Qt, QTimer


class Throttle(QObject):
    """Passes floats to `deliver` at most once per interval; the latest is never lost.

    Parameters
    ----------
    deliver : callable
        Receives the value.
    interval_ms : int
        Shortest time between two deliveries [ms]; 0 passes everything on at once.
    parent : QObject
        Owner, whose death stops the timer.
    """

    def __init__(self, deliver: Callable[[float], None], interval_ms: int, parent: QObject) -> None:
        super().__init__(parent)
        self._deliver = deliver
        self._interval_ms = interval_ms
        self._waiting: float | None = None
        self._timer = QTimer(self)
        self._timer.setSingleShot(True)
        self._timer.setTimerType(Qt.TimerType.PreciseTimer)
        self._timer.timeout.connect(self._send_waiting)

    @property
    def pending(self) -> bool:
        """Whether a value waits for its turn."""
        return self._waiting is not None

    def submit(self, value: float) -> None:
        """Deliver now if the interval has passed, else keep this value as the latest."""
        if self._timer.isActive():
            self._waiting = value
            return
        if self._interval_ms > 0:
            self._timer.start(self._interval_ms)
        self._deliver(value)

    def flush(self) -> None:
        """Deliver what waits, now."""
        self._timer.stop()
        self._send_waiting()

    def drop(self) -> None:
        """Forget what waits."""
        self._timer.stop()
        self._waiting = None

    def _send_waiting(self) -> None:
        value, self._waiting = self._waiting, None
        if value is not None:
            self.submit(value)
