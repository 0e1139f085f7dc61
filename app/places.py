"""Where the window keeps its own files: settings, recent files, recovery copies, log."""

from __future__ import annotations

import os
import stat
import sys
from dataclasses import dataclass, replace
from pathlib import Path
from tempfile import TemporaryFile, gettempdir, mkdtemp
from typing import Final

from PySide6.QtCore import QObject, QSettings, QStandardPaths, Signal

from burstwise.app.log_file import NAME
from burstwise.app.stored import stored
from burstwise.core.user_data import DRAWER, data_folder

MOST_RECENT: Final = 8
"""Files kept in the list of recent ones."""
_STAND_IN: Final = "burstwise-"
"""Begin of the name of a temporary directory that takes the place of one that cannot be written."""


@dataclass(frozen=True, slots=True)
class Places:
    """Directories for settings and for data."""

    settings: Path
    data: Path

    @property
    def recovery(self) -> Path:
        """Directory of the recovery copies."""
        return self.data / "recovery"

    def recoveries(self) -> tuple[Path, ...]:
        """Directories that may hold copies: the present one, and this user's earlier stand-ins."""
        others = (
            each
            for each in sorted(Path(gettempdir()).glob(f"{_STAND_IN}*/{self.recovery.name}"))
            if _is_ours(each) and each != self.recovery
        )
        return self.recovery, *others

    @property
    def log(self) -> Path:
        """Log file."""
        return self.data / NAME

    @property
    def drawer(self) -> Path:
        """File with the parts that the user has."""
        return self.data / DRAWER

    def check(self) -> None:
        """Make the data directory and its log file, and write into them.

        Raises
        ------
        OSError
            That cannot be; the error names the file.
        """
        self.recovery.mkdir(parents=True, exist_ok=True)
        with self.log.open("a"), TemporaryFile(dir=self.recovery):
            pass

    def open_settings(self) -> QSettings:
        """Settings as a file in the settings directory."""
        return QSettings(str(self.settings / "settings.ini"), QSettings.Format.IniFormat)


def user_places() -> Places:
    """Places of the present user, as the operating system has them."""
    config = QStandardPaths.StandardLocation.GenericConfigLocation
    settings = Path(QStandardPaths.writableLocation(config)) / "burstwise"
    return Places(settings=settings, data=data_folder(os.environ))


def usable(places: Places) -> tuple[Places, str]:
    """Places that can be written, and what to tell where they are not those asked for.

    A data directory that another user owns, or on a disk that is read-only, gives way to a
    temporary one.

    Raises
    ------
    OSError
        There is no temporary one either.
    """
    try:
        places.check()
    except OSError as error:
        other = replace(places, data=Path(mkdtemp(prefix=_STAND_IN)))
        other.check()
        return other, (
            f"{error.filename or places.data} cannot be written ({error.strerror}). Recovery "
            f"copies, the drawer's list and the log are kept in {other.data} this time."
        )
    return places, ""


def _is_ours(folder: Path) -> bool:
    """Whether a directory in a place open to all belongs to this user, and is no link."""
    try:
        found = folder.lstat()
    except OSError:
        return False
    return stat.S_ISDIR(found.st_mode) and (sys.platform == "win32" or found.st_uid == os.getuid())


class RecentFiles(QObject):
    """Files opened or saved last, the latest first."""

    changed = Signal()
    _KEY = "files/recent"

    def __init__(self, settings: QSettings) -> None:
        super().__init__()
        self._settings = settings

    @property
    def files(self) -> tuple[Path, ...]:
        """Recent files that still exist."""
        names = stored(self._settings, self._KEY, list[str]())
        return tuple(path for path in map(Path, names) if os.path.isfile(path))

    def add(self, file: Path) -> None:
        """Put a file at the head of the list."""
        full = file.resolve()
        others = [path for path in self.files if path != full]
        self._settings.setValue(self._KEY, [str(path) for path in [full, *others][:MOST_RECENT]])
        self.changed.emit()

    def clear(self) -> None:
        """Empty the list."""
        self._settings.remove(self._KEY)
        self.changed.emit()
