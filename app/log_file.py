"""Where the log file lies, known without Qt so that the commands have it too."""

from __future__ import annotations

import sys
from collections.abc import Mapping
from pathlib import Path
from typing import Final

NAME: Final = "burstwise.log"


def log_file(environment: Mapping[str, str]) -> Path:
    """Log file of the present user, in the directory that the window keeps its data in.

    Parameters
    ----------
    environment : mapping
        Environment variables.

    Examples
    --------
    >>> log_file({"XDG_DATA_HOME": "/data"}).name
    'burstwise.log'
    """
    if sys.platform == "win32":
        base = Path(environment.get("LOCALAPPDATA", Path.home() / "AppData" / "Local"))
    elif sys.platform == "darwin":
        base = Path.home() / "Library" / "Application Support"
    else:
        base = Path(environment.get("XDG_DATA_HOME", ""))
        if not base.is_absolute():  # the standard has such a one ignored
            base = Path.home() / ".local" / "share"
    return base / "burstwise" / NAME
