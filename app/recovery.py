"""Autosave of unsaved work, and what a crash left behind.

Each running window owns one recovery copy and a lock file beside it. A copy whose lock is not held
by a living process was left by a crash. The copy never touches the user's own file.
"""

from __future__ import annotations

import json
import logging
import uuid
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from PySide6.QtCore import QLockFile, QObject, QTimer

from app.document import Document
from core.disk import clear_leftovers, write_whole
from core.errors import FileError

AUTOSAVE_DELAY_MS: Final = 2000
"""Quiet time after an edit before the copy is written [ms]."""

_log = logging.getLogger(__name__)


@dataclass(frozen=True, slots=True)
class LeftBehind:
    """A recovery copy of a window that did not end well.

    `stamp` marks what the file of origin held when that window last read or wrote it.
    """

    copy: Path
    origin: Path | None
    text: str
    stamp: str | None = None

    def discard(self) -> None:
        """Delete the copy."""
        self.copy.unlink(missing_ok=True)
        _lock_path(self.copy).unlink(missing_ok=True)


class Autosave(QObject):
    """Writes the recovery copy a moment after each edit, deletes it once the work is saved.

    Parameters
    ----------
    document : Document
        Whose unsaved work is kept.
    folder : Path
        Directory of the copies.
    to_text : callable
        Text of a design, as its file would hold it.
    delay_ms : int
        Quiet time after an edit [ms].
    """

    def __init__(
        self,
        document: Document[Any],
        folder: Path,
        *,
        to_text: Callable[[Any], str],
        delay_ms: int = AUTOSAVE_DELAY_MS,
    ) -> None:
        super().__init__()
        folder.mkdir(parents=True, exist_ok=True)
        self.copy = folder / f"{uuid.uuid4().hex}.json"
        self._lock = QLockFile(str(_lock_path(self.copy)))
        self._lock.setStaleLockTime(0)
        self._lock.tryLock(0)
        self._document, self._to_text = document, to_text
        self._timer = QTimer(self)
        self._timer.setSingleShot(True)
        self._timer.setInterval(delay_ms)
        self._timer.timeout.connect(self.flush)
        document.changed.connect(self._wait)
        document.unsaved_changed.connect(self._wait)

    def flush(self) -> None:
        """Bring the copy up to date now."""
        self._timer.stop()
        if not self._document.unsaved:
            self.copy.unlink(missing_ok=True)
            return
        origin = self._document.own_file
        content = json.dumps(
            {
                "origin": None if origin is None else str(origin),
                "stamp": self._document.own_stamp,
                "design": self._to_text(self._document.own_design),
            }
        )
        try:
            write_whole(self.copy, content.encode())
        except FileError as error:
            _log.error("recovery copy not written: %s", error)

    def close(self) -> None:
        """End in good order: no copy is left."""
        for changed in (self._document.changed, self._document.unsaved_changed):
            changed.disconnect(self._wait)
        self._timer.stop()
        self.copy.unlink(missing_ok=True)
        self._lock.unlock()

    def _wait(self, _change: object) -> None:
        self._timer.start()


def left_behind(folder: Path) -> tuple[LeftBehind, ...]:
    """Recovery copies that no living process owns, the latest first."""
    clear_leftovers(folder)
    found = []
    for copy in sorted(folder.glob("*.json"), key=lambda path: -path.stat().st_mtime):
        lock = QLockFile(str(_lock_path(copy)))
        lock.setStaleLockTime(0)
        if not lock.tryLock(0):
            continue
        lock.unlock()
        try:
            content = json.loads(copy.read_text(encoding="utf-8"))
            origin, text = content["origin"], content["design"]
            marked = content.get("stamp")
            stamp = marked if isinstance(marked, str) else None
        except (OSError, ValueError, KeyError, TypeError) as error:
            _log.warning("recovery copy %s cannot be read: %s", copy, error)
            continue
        found.append(LeftBehind(copy, None if origin is None else Path(origin), text, stamp))
    return tuple(found)


def _lock_path(copy: Path) -> Path:
    return copy.with_suffix(".lock")
