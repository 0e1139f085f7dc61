"""Autosave of unsaved work, and what a crash left behind.

Each running window owns one recovery copy and a lock file beside it. A copy whose lock is not held
by a living process was left by a crash. The copy never touches the user's own file.
"""

from __future__ import annotations

import json
import logging
import uuid
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from PySide6.QtCore import QLockFile, QObject, QTimer, Signal

from burstwise.app.document import Document
from burstwise.core.disk import clear_leftovers, write_whole
from burstwise.core.errors import FileError

AUTOSAVE_DELAY_MS: Final = 2000
"""Quiet time after an edit before the copy is written [ms]."""
ASIDE_SUFFIX: Final = ".bad"
"""Ending of copies that cannot be used."""

_log = logging.getLogger(__name__)


@dataclass(frozen=True, slots=True)
class LeftBehind:
    """A recovery copy of a window that did not end well.

    Attributes
    ----------
    copy : Path
        The copy itself.
    origin : Path or None
        The user's file; None for a design that was never saved.
    text : str
        Text of the design.
    stamp : str or None
        What the file of origin held when that window last read or wrote it.
    problem : str
        Why the copy cannot be used; empty for one that can.
    """

    copy: Path
    origin: Path | None
    text: str
    problem: str = ""
    stamp: str | None = None

    def discard(self) -> None:
        """Delete the copy."""
        _delete(self.copy)
        _delete(_lock_path(self.copy))

    def set_aside(self) -> Path:
        """Rename a copy that cannot be used, so that it is not offered again; where it is now."""
        aside = self.copy.with_suffix(ASIDE_SUFFIX)
        try:
            self.copy.replace(aside)
        except OSError as error:
            _log.error("recovery copy %s not renamed: %s", self.copy, error)
            return self.copy
        _delete(_lock_path(self.copy))
        return aside


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

    Attributes
    ----------
    failed : Signal
        With the reason, when unsaved work cannot be kept: once, until a copy stands again.
    """

    failed = Signal(str)

    def __init__(
        self,
        document: Document[Any],
        folder: Path,
        *,
        to_text: Callable[[Any], str],
        delay_ms: int = AUTOSAVE_DELAY_MS,
    ) -> None:
        super().__init__()
        with suppress(OSError):  # told when a copy is to be written
            folder.mkdir(parents=True, exist_ok=True)
        self.copy = folder / f"{uuid.uuid4().hex}.json"
        self._lock = QLockFile(str(_lock_path(self.copy)))
        self._lock.setStaleLockTime(0)
        self._lock.tryLock(0)
        self._document, self._to_text = document, to_text
        self._replaced: list[LeftBehind] = []
        self._fails = False
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
            _delete(self.copy)
            self._drop_replaced()
        elif self._write():
            self._drop_replaced()

    def take_over(self, found: LeftBehind) -> None:
        """Hold the work of a copy that was left behind; it is deleted once a copy of ours stands.

        The document must hold that work already.
        """
        self._replaced.append(found)
        self.flush()

    def close(self) -> None:
        """End in good order: no copy is left."""
        for changed in (self._document.changed, self._document.unsaved_changed):
            changed.disconnect(self._wait)
        self._timer.stop()
        _delete(self.copy)
        self._drop_replaced()
        self._lock.unlock()

    def leave(self) -> None:
        """End without a question: unsaved work stays in the copy, for the next start."""
        self.flush()
        self._lock.unlock()

    def _write(self) -> bool:
        """Write the copy, whole or not at all; tells whether it stands."""
        origin = self._document.own_file
        content = json.dumps(
            {
                "origin": None if origin is None else str(origin),
                "stamp": self._document.own_stamp,
                "design": self._to_text(self._document.own_design),
            }
        )
        try:
            self.copy.parent.mkdir(parents=True, exist_ok=True)
            write_whole(self.copy, content.encode())
        except (FileError, OSError) as error:
            _log.error("recovery copy not written: %s", error)
            if not self._fails:
                self._fails = True
                self.failed.emit(str(error))
            return False
        self._fails = False
        return True

    def _drop_replaced(self) -> None:
        for found in self._replaced:
            found.discard()
        self._replaced.clear()

    def _wait(self, _change: object) -> None:
        self._timer.start()


def left_behind(*folders: Path) -> tuple[LeftBehind, ...]:
    """Recovery copies that no living process owns, the latest first, those with a problem too."""
    for folder in folders:
        clear_leftovers(folder)
    found = []
    copies = (copy for folder in folders for copy in folder.glob("*.json"))
    for copy in sorted(copies, key=_when, reverse=True):
        lock = QLockFile(str(_lock_path(copy)))
        lock.setStaleLockTime(0)
        if not lock.tryLock(0):
            continue
        lock.unlock()
        if copy.exists():
            found.append(_read(copy))
    return tuple(found)


def _read(copy: Path) -> LeftBehind:
    try:
        content = json.loads(copy.read_text(encoding="utf-8"))
    except (OSError, ValueError, RecursionError) as error:
        return _unusable(copy, f"it cannot be read ({error})")
    if not isinstance(content, dict):
        return _unusable(copy, "it holds no design")
    origin, text, mark = (content.get(name) for name in ("origin", "design", "stamp"))
    stamp = mark if isinstance(mark, str) else None
    if not isinstance(text, str):
        return _unusable(copy, "it holds no design")
    if origin is None:
        return LeftBehind(copy, None, text)
    if not isinstance(origin, str) or not Path(origin).name or "\0" in origin:
        return _unusable(copy, "it does not say which file it belongs to")
    return LeftBehind(copy, Path(origin), text, stamp=stamp)


def _unusable(copy: Path, problem: str) -> LeftBehind:
    _log.warning("recovery copy %s: %s", copy, problem)
    return LeftBehind(copy, None, "", problem)


def _when(copy: Path) -> float:
    """When a copy was written [s]; 0 for one that another window has just deleted."""
    try:
        return copy.stat().st_mtime
    except OSError:
        return 0.0


def _delete(file: Path) -> None:
    """Delete a file of ours if that can be; a folder that has become read-only stops nobody."""
    try:
        file.unlink(missing_ok=True)
    except OSError as error:
        _log.error("%s not deleted: %s", file, error)


def _lock_path(copy: Path) -> Path:
    return copy.with_suffix(".lock")
