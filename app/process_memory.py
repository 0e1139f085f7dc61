"""One heap for all threads of the process, where the C library would give each its own."""

from __future__ import annotations

import ctypes
from typing import Final

_ARENA_MAX: Final = -8
"""Option `M_ARENA_MAX` of `mallopt`, glibc's malloc.h."""


def share_one_heap() -> bool:
    """Let threads share one heap; False where the C library knows no such setting.

    glibc gives threads heaps of their own, up to eight times the processors. The tables that
    evaluations fill and free in turn then leave holes in each: the window grew by some 15 MB each
    time that it was opened and closed, and does not with one heap. To be called before threads
    start.
    """
    try:
        return bool(ctypes.CDLL(None).mallopt(_ARENA_MAX, 1))
    except (AttributeError, OSError, TypeError):
        return False
