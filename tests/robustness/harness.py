"""What the attacks share: a case with a time limit, and the book of what became of each.

A case ends well when it gives a result, or refuses in one line. It ends badly with any other error,
with a refusal of several lines or of endless length, when it takes more processor time than it may,
or when it never comes back.
"""

from __future__ import annotations

import argparse
import contextlib
import io
import os
import random
import signal
import time
import traceback
import unicodedata
import warnings
from collections import Counter
from collections.abc import Callable, Iterator
from pathlib import Path

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

from burstwise.core.errors import InputError

HANG_S = 2.0
"""Most processor time of one case [s]."""
_NEVER_S = 120.0
"""Processor time after which a case is ended [s]."""
_LONGEST_LINE = 2000
"""Most characters of a refusal: a path, a field's name, a limit and a value that were cut."""
_SHOWN = 40
_HIDDEN = {"Cc", "Cf", "Cs", "Zl", "Zp"}


class NeverEndsError(Exception):
    """A case that was ended from outside."""


def is_one_line(line: str) -> bool:
    """Whether a text is one line of bearable length that moves no cursor and hides nothing."""
    hidden = any(unicodedata.category(mark) in _HIDDEN for mark in line)
    return len(line.splitlines()) == 1 and not hidden and len(line) <= _LONGEST_LINE


class Book:
    """Counts what became of the cases, and keeps those that ended badly.

    Parameters
    ----------
    name : str
        Of the attack.
    keep : Path
        Folder for inputs that ended badly.
    """

    def __init__(self, name: str, keep: Path) -> None:
        self.name, self.keep = name, keep
        self.counts: Counter[str] = Counter()
        self.slowest = 0.0
        self.seen: Counter[str] = Counter()
        self._began = time.perf_counter()

    def run(
        self, label: str, case: Callable[[], str], *, content: bytes = b"", hang: float = HANG_S
    ) -> None:
        """Run a case, whose result says in a word how it ended."""
        began = time.process_time()
        try:
            with _ended_after(_NEVER_S), warnings.catch_warnings():
                warnings.simplefilter("error", RuntimeWarning)
                ended = case()
        except InputError as error:
            ended = "refused"
            self.one_line(label, str(error), content)
        except KeyboardInterrupt:
            self.close()
            raise
        except BaseException as error:
            ended = "error"
            self.bad(label, "".join(traceback.format_exception(error)), content)
        took = time.process_time() - began
        self.slowest = max(self.slowest, took)
        self.counts[ended] += 1
        if took > hang and self.counts.total() > 1:  # the first pays for imports and compiling
            self.bad(label, f"took {took:.1f} s of the processor ({ended})", content)

    def one_line(self, label: str, line: str, content: bytes = b"") -> None:
        """Judge the words of a refusal."""
        if not is_one_line(line):
            self.bad(label, f"refusal is not one short line: {line[:300]!r}", content)

    def said(self, label: str, status: int, errors: str, content: bytes = b"") -> str:
        """Judge a command by its exit status and what it wrote to standard error."""
        if status == 2:
            self.one_line(label, errors.removesuffix("\n"), content)
            return "refused"
        if status not in (0, 1) or errors:
            self.bad(label, f"status {status}, said {errors[:300]!r}", content)
            return "error"
        return "done" if status == 0 else "stopped"

    def bad(self, label: str, what: str, content: bytes = b"") -> None:
        """Enter a case that ended badly; like ones are shown once."""
        self.counts["bad"] += 1
        kind = what.strip().splitlines()[-1][:100]
        self.seen[kind] += 1
        if self.seen[kind] > 1 or len(self.seen) > _SHOWN:
            return
        print(f"BAD {self.name} {label}\n{what}", flush=True)
        if content:
            self.keep.mkdir(parents=True, exist_ok=True)
            (self.keep / f"{self.name}-{label}").write_bytes(content)

    def close(self) -> int:
        """Print the counts; returns the exit status, 1 if any case ended badly."""
        counts = ", ".join(f"{count:,} {what}" for what, count in sorted(self.counts.items()))
        print(
            f"{self.name}: {counts or 'nothing'}; slowest {self.slowest:.2f} s, "
            f"{time.perf_counter() - self._began:.0f} s in all",
            flush=True,
        )
        for kind, count in self.seen.most_common():
            print(f"  {count} times: {kind}", flush=True)
        return 1 if self.counts["bad"] else 0


@contextlib.contextmanager
def _ended_after(seconds: float) -> Iterator[None]:
    def end(*_: object) -> None:
        raise NeverEndsError(f"still running after {seconds:g} s of the processor")

    before = signal.signal(signal.SIGPROF, end)
    signal.setitimer(signal.ITIMER_PROF, seconds)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_PROF, 0.0)
        signal.signal(signal.SIGPROF, before)


def command(arguments: list[str]) -> tuple[int, str]:
    """Exit status of a headless command in this process, and what it wrote to standard error."""
    from burstwise.core.command import run

    out, err = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        status = run(arguments)
    return status, err.getvalue()


def options(description: str, count: int) -> argparse.Namespace:
    """Arguments that every attack has."""
    parser = argparse.ArgumentParser(description=description)
    parser.add_argument("--count", type=int, default=count)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--seconds", type=float, default=1e9, help="end after this time")
    parser.add_argument("--keep", type=Path, default=Path("bad-inputs"), help="for bad inputs")
    return parser.parse_args()


def turns(given: argparse.Namespace) -> Iterator[tuple[int, random.Random]]:
    """Number and random source of each case, until count or time is used up."""
    end = time.perf_counter() + given.seconds
    for number in range(given.seed, given.seed + given.count):
        if time.perf_counter() > end:
            return
        yield number, random.Random(number)
