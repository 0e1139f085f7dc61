"""The version of the program: one place, read by the build, the files and the reports."""

from __future__ import annotations

import re
from typing import Final

VERSION: Final = "0.2.0"


def numbers_of(text: object) -> tuple[int, int, int] | None:
    """Numbers of a version as written, None where it is none.

    Examples
    --------
    >>> numbers_of("0.2.10")
    (0, 2, 10)
    >>> numbers_of("the newest") is None
    True
    """
    found = (
        re.fullmatch(r"(\d{1,4})\.(\d{1,4})\.(\d{1,4})", text) if isinstance(text, str) else None
    )
    return None if found is None else (int(found[1]), int(found[2]), int(found[3]))


def is_newer(text: object) -> bool:
    """Whether a version is later than this program's.

    Examples
    --------
    >>> is_newer("0.1.9"), is_newer("999.0.0"), is_newer("the newest")
    (False, True, False)
    """
    other, own = numbers_of(text), numbers_of(VERSION)
    assert own is not None
    return other is not None and other > own
