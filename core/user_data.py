"""Where a user's own data lie, known without Qt so that the commands have them too."""

from __future__ import annotations

import sys
from collections.abc import Mapping
from pathlib import Path
from typing import Final

DRAWER: Final = "drawer.csv"
"""Name of the file with the parts that the user has."""


def data_folder(environment: Mapping[str, str]) -> Path:
    """Folder of the present user's data.

    Parameters
    ----------
    environment : mapping
        Environment variables.

    Examples
    --------
    >>> data_folder({"XDG_DATA_HOME": "/data"}).name
    'burstwise'
    """
    if sys.platform == "win32":
        base = Path(environment.get("LOCALAPPDATA", Path.home() / "AppData" / "Local"))
    elif sys.platform == "darwin":
        base = Path.home() / "Library" / "Application Support"
    else:
        base = Path(environment.get("XDG_DATA_HOME", ""))
        if not base.is_absolute():  # the standard has such a one ignored
            base = Path.home() / ".local" / "share"
    return base / "burstwise"
