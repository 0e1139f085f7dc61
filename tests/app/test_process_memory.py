"""One heap for all threads, and free pages given back, told by the system itself."""

from __future__ import annotations

import os
import subprocess
import sys

import pytest

GLIBC = pytest.mark.skipif(
    "glibc" not in os.confstr("CS_GNU_LIBC_VERSION") if hasattr(os, "confstr") else True,
    reason="another C library has other heaps",
)

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


@GLIBC
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


HOLES = """
import ctypes, os
from burstwise.app.process_memory import return_freed
ctypes.CDLL(None).mallopt(-3, 2**25)  # nothing in mappings of its own, which go back by themselves
def resident():
    return int(open("/proc/self/statm").read().split()[1]) * os.sysconf("SC_PAGE_SIZE") / 1e6
blocks = [bytearray(1_000_000) for _ in range(200)]
kept = [bytearray(1_000_000)]
full = resident()
del blocks
print(full - resident())
assert return_freed()
print(full - resident())
"""


@GLIBC
def test_what_lies_free_below_something_kept_is_given_back() -> None:
    told = subprocess.run([sys.executable, "-c", HOLES], capture_output=True, text=True, check=True)
    before, after = (float(line) for line in told.stdout.split())
    assert before < 20.0
    assert after > 180.0
