"""One heap for all threads, told by the C library itself."""

from __future__ import annotations

import os
import subprocess
import sys

import pytest

HEAPS = """
import ctypes, threading
from burstwise.app.process_memory import share_one_heap
asked = {asked}
if asked:
    assert share_one_heap()
libc = ctypes.CDLL(None)
gate = threading.Barrier(5)
def work():
    room = [bytearray(1000) for _ in range(1000)]
    gate.wait()
threads = [threading.Thread(target=work) for _ in range(4)]
for thread in threads:
    thread.start()
gate.wait()
libc.malloc_stats()
for thread in threads:
    thread.join()
"""


@pytest.mark.skipif(
    "glibc" not in os.confstr("CS_GNU_LIBC_VERSION") if hasattr(os, "confstr") else True,
    reason="another C library has other heaps",
)
def test_threads_take_heaps_of_their_own_unless_they_share_one() -> None:
    def heaps(asked: bool) -> int:
        told = subprocess.run(
            [sys.executable, "-c", HEAPS.format(asked=asked)],
            capture_output=True,
            text=True,
            check=True,
            env={key: value for key, value in os.environ.items() if key != "MALLOC_ARENA_MAX"},
        )
        return told.stderr.count("Arena ")

    assert heaps(False) > 1
    assert heaps(True) == 1
