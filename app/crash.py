"""Log file, and the hook for errors that nothing else caught.

It logs first, then keeps the work, then tells.
"""

from __future__ import annotations

import faulthandler
import logging
import sys
import threading
from collections.abc import Callable
from logging.handlers import RotatingFileHandler
from pathlib import Path
from types import TracebackType
from typing import Final

LOG_BYTES: Final = 1_000_000

_log = logging.getLogger("burstwise")


class Log:
    """Log file of the application, and beside it one for faults of native code.

    Parameters
    ----------
    file : Path
        Log file; the faults go to the same name with the ending ``.faults``.
    """

    def __init__(self, file: Path) -> None:
        self._handler = RotatingFileHandler(
            file, maxBytes=LOG_BYTES, backupCount=1, encoding="utf-8"
        )
        self._handler.setFormatter(
            logging.Formatter("%(asctime)s %(levelname)s %(name)s: %(message)s")
        )
        logging.getLogger().addHandler(self._handler)
        self._faults = file.with_suffix(".faults").open("a", encoding="utf-8")
        faulthandler.enable(self._faults)

    def close(self) -> None:
        """Stop logging."""
        faulthandler.disable()
        self._faults.close()
        logging.getLogger().removeHandler(self._handler)
        self._handler.close()


class CrashHook:
    """Last resort for uncaught errors of any thread.

    Parameters
    ----------
    keep_work : callable
        Brings the recovery copy up to date.
    tell : callable
        Shows the error to the user; called in the thread of the error.
    """

    def __init__(self, *, keep_work: Callable[[], None], tell: Callable[[str], None]) -> None:
        self._keep_work, self._tell = keep_work, tell
        self._before = (sys.excepthook, threading.excepthook)
        self._telling = False

    def install(self) -> None:
        """Take the place of the interpreter's hooks."""
        sys.excepthook = self._uncaught
        threading.excepthook = self._uncaught_in_thread

    def remove(self) -> None:
        """Put the former hooks back."""
        sys.excepthook, threading.excepthook = self._before

    def _uncaught(
        self, kind: type[BaseException], error: BaseException, trace: TracebackType | None
    ) -> None:
        _log.critical("uncaught error", exc_info=(kind, error, trace))
        if self._telling:
            return
        self._telling = True
        try:
            self._keep_work()
            self._tell(f"{kind.__name__}: {error}")
        finally:
            self._telling = False

    def _uncaught_in_thread(self, hooked: threading.ExceptHookArgs) -> None:
        if hooked.exc_value is not None:
            trace = hooked.exc_traceback
            _log.critical(
                "uncaught error in a thread", exc_info=(hooked.exc_type, hooked.exc_value, trace)
            )
