"""Ctrl+C in the terminal, and the system's request to end, answered between two events.

An interrupt that Python raises wherever it happens to be would break off a slot half-way.
"""

from __future__ import annotations

import signal
import socket
from types import FrameType
from typing import Final

from PySide6.QtCore import QObject, QSocketNotifier, Signal

_NAMES: Final = ("SIGINT", "SIGTERM", "SIGHUP", "SIGBREAK")


class EndRequests(QObject):
    """Tells of each signal of the system that asks the process to end.

    To be made in the main thread, once in a process. A signal that the process was started to
    ignore, as `nohup` has it, stays ignored.

    Attributes
    ----------
    asked : Signal
        With the number of the signal, out of Qt's own loop.
    """

    asked = Signal(int)

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._ours, self._theirs = socket.socketpair()
        for end in (self._ours, self._theirs):
            end.setblocking(False)
        numbers = [getattr(signal, name) for name in _NAMES if hasattr(signal, name)]
        self._before = {
            number: signal.signal(number, _passed_on)
            for number in numbers
            if signal.getsignal(number) is not signal.SIG_IGN
        }
        self._writes_to = signal.set_wakeup_fd(self._theirs.fileno(), warn_on_full_buffer=False)
        self._notifier = QSocketNotifier(self._ours.fileno(), QSocketNotifier.Type.Read, self)
        self._notifier.activated.connect(self._read)

    def remove(self) -> None:
        """Put back what the process did before."""
        self._notifier.setEnabled(False)
        signal.set_wakeup_fd(self._writes_to)
        for number, action in self._before.items():
            signal.signal(number, action)
        self._ours.close()
        self._theirs.close()

    def _read(self) -> None:
        for number in self._ours.recv(64):
            if number in self._before:
                self.asked.emit(number)


def _passed_on(_number: int, _frame: FrameType | None) -> None:
    """Leave all to the socket, which the interpreter has written the number to."""
