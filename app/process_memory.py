"""Memory of the process: one heap for all its threads, and what is free goes back to the system.

Both are settings of glibc; another C library knows neither, and nothing is done there.
"""

from __future__ import annotations

import ctypes
from typing import Final

_ARENA_MAX: Final = -8
"""Option `M_ARENA_MAX` of `mallopt`, glibc's malloc.h."""


def share_one_heap() -> bool:
    """Let threads share one heap; tells whether the C library did it.

    glibc gives threads heaps of their own, up to eight times the processors. The tables that
    evaluations fill and free in turn then leave holes in each: the window grew by some 15 MB each
    time that it was opened and closed, and does not with one heap. To be called before threads
    start.
    """
    try:
        return bool(ctypes.CDLL(None).mallopt(_ARENA_MAX, 1))
    except (AttributeError, OSError, TypeError):
        return False


def return_freed() -> bool:
    """Give the system the pages that stand free within the heap; tells whether there were any.

    glibc itself returns only what lies at the heap's end. What an evaluation or a search has freed
    lies below, some 230 MB with all pages open; handing it back takes about 4 ms.
    """
    try:
        return bool(ctypes.CDLL(None).malloc_trim(0))
    except (AttributeError, OSError, TypeError):
        return False
