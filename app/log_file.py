"""Where the log file lies, known without Qt so that the commands have it too."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Final

from burstwise.core.user_data import data_folder

NAME: Final = "burstwise.log"


def log_file(environment: Mapping[str, str]) -> Path:
    """Log file of the present user, in the folder that the window keeps its data in.

    Parameters
    ----------
    environment : mapping
        Environment variables.

    Examples
    --------
    >>> log_file({"XDG_DATA_HOME": "/data"}).name
    'burstwise.log'
    """
    return data_folder(environment) / NAME
