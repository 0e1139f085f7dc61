"""Errors of bad input: each names the field, the value received and the limit it broke."""

from __future__ import annotations

from typing import Final

_LONGEST: Final = 160


def told(value: object, *, longest: int = _LONGEST) -> str:
    r"""Text of anything for a message of one line: control characters escaped, cut if long.

    Examples
    --------
    >>> told("two\nlines"), told("\ud800"), len(told(10 ** 5000)) < 100
    ('two\\nlines', '\\ud800', True)
    """
    try:
        text = str(value)
    except ValueError:  # an integer of more digits than Python writes
        return "a number of several thousand digits"
    plain = "".join(
        one if one.isprintable() else one.encode("unicode_escape").decode("ascii") for one in text
    )
    return plain if len(plain) <= longest else f"{plain[: longest - 24]}… ({len(text)} characters)"


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
    """

    def __init__(self, field: str, value: object, limit: str) -> None:
        self.field = field
        self.value = value
        self.limit = limit
        super().__init__(
            f"{told(field, longest=4096)} must be {limit}; instead received {told(value)}"
        )


class FileError(InputError):
    """A file cannot be read or written: names the file, and the line where it is known."""

    def __init__(self, path: object, value: object, limit: str, *, line: int | None = None) -> None:
        self.path = str(path)
        self.line = line
        where = self.path if line is None else f"{self.path}, line {line}"
        super().__init__(where, value, limit)
