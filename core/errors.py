"""Errors of bad input: each names the field, the value received and the limit it broke."""

from __future__ import annotations

import unicodedata
from typing import Final

LONGEST_VALUE: Final = 80
"""Most that a message shows of a value that was received [characters]."""
_LONGEST_WORDS: Final = 400
"""Most that it shows of a field's name, or of a limit [characters]."""
_UNSEEN: Final = frozenset({"Cc", "Cf", "Cs", "Zl", "Zp"})
"""Unicode categories of what moves the cursor, turns the writing round, or shows nothing."""


def one_line(text: object, longest: int = LONGEST_VALUE) -> str:
    r"""Start of a text as part of one line: control characters escaped, cut with an ellipsis.

    Examples
    --------
    >>> print(one_line("12\n\x1b[2J V"))
    12\n\x1b[2J V
    >>> one_line("a lot of text", 8)
    'a lot o…'
    """
    try:
        whole = str(text)
    except ValueError:  # an integer of more digits than Python writes
        return "a number of several thousand digits"
    shown: list[str] = []
    room = longest
    for place, mark in enumerate(whole):
        plain = unicodedata.category(mark) not in _UNSEEN
        piece = mark if plain else mark.encode("unicode_escape").decode("ascii")
        last = place == len(whole) - 1
        if len(piece) > (room if last else room - 1):
            return "".join(shown) + "…"
        shown.append(piece)
        room -= len(piece)
    return "".join(shown)


class InputError(ValueError):
    """A value that a person or a file gave cannot be used.

    Parameters
    ----------
    field : str
        Dotted path or column name of what was given, e.g. ``"supply.voltage"``.
    value : object
        What was received, as it was received.
    limit : str
        What it must be, as the end of the sentence '<field> must be ...'.

    Examples
    --------
    >>> print(InputError("supply.voltage", -5, "between 1 V and 1 kV"))
    supply.voltage must be between 1 V and 1 kV; instead received -5

    The message is one line whatever was received; the attributes hold it as it was.
    """

    def __init__(self, field: str, value: object, limit: str) -> None:
        self.field = field
        self.value = value
        self.limit = limit
        name, words = one_line(field, _LONGEST_WORDS), one_line(limit, _LONGEST_WORDS)
        super().__init__(f"{name} must be {words}; instead received {one_line(value)}")


class FileError(InputError):
    """A file cannot be read or written: names the file, and the line where it is known."""

    def __init__(self, path: object, value: object, limit: str, *, line: int | None = None) -> None:
        self.path = str(path)
        self.line = line
        where = self.path if line is None else f"{self.path}, line {line}"
        super().__init__(where, value, limit)
