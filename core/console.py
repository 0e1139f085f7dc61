"""Headless commands and the console they write to: arguments, errors in one line, output.

A console may know few characters, be full, or be gone; none of this is worth a traceback.
"""

from __future__ import annotations

import argparse
import codecs
import io
import os
import sys
import unicodedata
from collections.abc import Callable
from pathlib import Path
from typing import Any, Final, NoReturn, TextIO

from burstwise.core.errors import FileError, InputError, one_line

DONE: Final = 0
STOPPED: Final = 1
BAD_INPUT: Final = 2

_LONGEST_MESSAGE: Final = 400
_HANDLER: Final = "burstwise-plain"
_PLAIN: Final = {
    "Ω": "ohm", "µ": "u", "μ": "u", "°": "deg ", "–": "-", "—": "-", "−": "-", "∞": "infinity",
    "≤": "<=", "≥": ">=", "±": "+/-", "×": "x", "·": "*", "√": "sqrt", "≈": "~", "→": "->",
    "‘": "'", "’": "'", "“": '"', "”": '"',
}  # fmt: skip
"""Spellings for a console that does not know a character."""


class UsageError(InputError):
    """Arguments of a command that cannot be used: says what the parser found, uncut."""

    def __init__(self, command: str, found: str) -> None:
        limit = "complete and known (see --help)"
        super().__init__(f"{command} arguments", found, limit)
        self.args = (one_line(f"{command}: {found} (see --help)", _LONGEST_MESSAGE),)


class Parser(argparse.ArgumentParser):
    """Argument parser whose errors are ours: one line, status 2."""

    def error(self, message: str) -> NoReturn:
        """Raise a `UsageError` where argparse would print its usage and end the program."""
        raise UsageError(self.prog, message)

    def print_help(self, file: Any = None) -> None:
        """Print the help; argparse would say nothing where it cannot be written."""
        print(self.format_help(), end="", file=file)


def file_name(text: str) -> Path:
    """Path of the file that an argument names, as `argparse` wants its types.

    Raises
    ------
    argparse.ArgumentTypeError
        The argument is empty, as that of a variable which was never set; a path would make the
        present folder of it.
    """
    if not text:
        raise argparse.ArgumentTypeError("must be the name of a file; instead received nothing")
    return Path(text)


def guarded(work: Callable[[], int]) -> int:
    """Exit status of a command, whatever happens to its arguments and its output.

    Bad input, and output that cannot be written, are one line on standard error and status 2. A
    reader that has seen enough, as `head` has, is no error. Characters that the console does not
    know are spelled out.

    Parameters
    ----------
    work : callable
        The command; returns its exit status, may raise `InputError`.
    """
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors=_HANDLER)
    try:
        status = _ended(work)
        if sys.stdout is not None:
            sys.stdout.flush()
    except InputError as error:
        _tell(error)
        return BAD_INPUT
    except BrokenPipeError:
        _let_go(sys.stdout)
        return DONE
    except OSError as error:
        _let_go(sys.stdout)
        where = "standard output" if error.filename is None else error.filename
        _tell(FileError(where, error.strerror or error, "writable"))
        return BAD_INPUT
    return status


def writes_unicode(stream: TextIO | None) -> bool:
    """Whether a stream takes every character as it is.

    Examples
    --------
    >>> writes_unicode(io.TextIOWrapper(io.BytesIO(), encoding="latin-1"))
    False
    """
    encoding = getattr(stream, "encoding", None)
    return encoding is None or codecs.lookup(encoding).name.startswith("utf-")


def _ended(work: Callable[[], int]) -> int:
    try:
        return work()
    except SystemExit as end:  # argparse's own way out of --help and --version
        return int(end.code or 0)


def _tell(error: InputError) -> None:
    if sys.stderr is None:
        return
    try:
        print(f"burstwise: {error}", file=sys.stderr, flush=True)
    except OSError:
        _let_go(sys.stderr)


def _let_go(stream: TextIO | None) -> None:
    """Let what is still to be written go nowhere, so that the interpreter's end is quiet."""
    if stream is None:
        return
    try:
        nowhere = os.open(os.devnull, os.O_WRONLY)
        try:
            os.dup2(nowhere, stream.fileno())
        finally:
            os.close(nowhere)
    except OSError:  # no file of the system stands behind the stream
        return


def _spelled(error: UnicodeError) -> tuple[str, int]:
    if not isinstance(error, UnicodeEncodeError):
        raise error
    marks = error.object[error.start : error.end]
    return "".join(_plain(mark) for mark in marks), error.end


def _plain(mark: str) -> str:
    base = unicodedata.normalize("NFKD", mark).encode("ascii", "ignore").decode("ascii")
    return _PLAIN.get(mark) or base or mark.encode("unicode_escape").decode("ascii")


codecs.register_error(_HANDLER, _spelled)
