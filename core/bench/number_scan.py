"""Compiled reading of decimal numbers from the text of large captures.

`numpy.loadtxt` reads five million samples in 2.5 s and holds the interpreter's lock meanwhile, so
that a window would not answer; this scanner takes a fifth of that and releases the lock. What it
does not understand it leaves to `numpy.loadtxt`. Numba keeps what it compiled beside this file.
"""

from __future__ import annotations

from typing import Final

import numpy as np
from numba import njit
from numpy.typing import NDArray

from burstwise.core.arrays import Array

_POWERS: Final = 10.0 ** np.arange(309)
_NEW_LINE: Final = ord("\n")
_RETURN: Final = ord("\r")
_BLANK: Final = ord(" ")
_QUOTE: Final = ord('"')
_PLUS: Final = ord("+")
_MINUS: Final = ord("-")
_ZERO: Final = ord("0")
_NINE: Final = ord("9")
_EXPONENT: Final = (ord("e"), ord("E"))
_MOST_DIGITS: Final = 18


def scanned_numbers(
    text: bytes, *, separator: str, decimal: str, columns: tuple[int, ...], width: int
) -> Array | None:
    r"""Numbers in some columns of whole lines of text.

    Parameters
    ----------
    text : bytes
        Lines, the last one with or without its end.
    separator, decimal : str
        One character each, different from each other.
    columns : tuple of int
        Positions wanted, in rising order.
    width : int
        Largest number of cells that a line may have.

    Returns
    -------
    ndarray, shape (rows, columns), or None
        None where a line has another form, too few or too many cells, or a number with more than
        18 digits. Numbers of up to 15 digits and exponents of up to 22 are rounded exactly, others
        within two units of the last place.

    Examples
    --------
    >>> scanned_numbers(b"1,-2.5e-3\n", separator=",", decimal=".", columns=(0, 1), width=2)
    array([[ 1.    , -0.0025]])
    """
    raw = np.frombuffer(text, dtype=np.uint8)
    wanted = np.zeros(width, dtype=np.bool_)
    wanted[list(columns)] = True
    out = np.empty((text.count(b"\n") + 1, len(columns)))
    rows = _scan(raw, ord(separator), ord(decimal), wanted, out)
    return None if rows < 0 else out[:rows]


@njit(cache=True, nogil=True)  # type: ignore[untyped-decorator]
def _scan(
    raw: NDArray[np.uint8], separator: int, decimal: int, wanted: NDArray[np.bool_], out: Array
) -> int:
    """Rows filled into `out`, -1 where the text has another form."""
    size, width, columns = len(raw), len(wanted), out.shape[1]
    at, row = 0, 0
    while at < size:
        while at < size and raw[at] in (_NEW_LINE, _RETURN, _BLANK):
            at += 1
        if at >= size:
            break
        cell, filled, open_line = 0, 0, True
        while open_line:
            if cell >= width:
                return -1
            if wanted[cell]:
                while at < size and raw[at] in (_BLANK, _QUOTE):
                    at += 1
                negative = at < size and raw[at] == _MINUS
                if at < size and raw[at] in (_MINUS, _PLUS):
                    at += 1
                mantissa, digits, power, seen, behind = 0, 0, 0, False, False
                while at < size:
                    mark = raw[at]
                    if _ZERO <= mark <= _NINE:
                        mantissa = 10 * mantissa + int(mark) - _ZERO
                        seen = True
                        if mantissa > 0:
                            digits += 1
                        if behind:
                            power -= 1
                    elif mark == decimal and not behind:
                        behind = True
                    else:
                        break
                    at += 1
                if not seen or digits > _MOST_DIGITS:
                    return -1
                if at < size and raw[at] in _EXPONENT:
                    at += 1
                    down = at < size and raw[at] == _MINUS
                    if at < size and raw[at] in (_MINUS, _PLUS):
                        at += 1
                    exponent, begin = 0, at
                    while at < size and _ZERO <= raw[at] <= _NINE and exponent < 1000:
                        exponent = 10 * exponent + int(raw[at]) - _ZERO
                        at += 1
                    if at == begin:
                        return -1
                    power += -exponent if down else exponent
                if abs(power) >= len(_POWERS):
                    return -1
                value = mantissa / _POWERS[-power] if power < 0 else mantissa * _POWERS[power]
                out[row, filled] = -value if negative else value
                filled += 1
                while at < size and raw[at] in (_BLANK, _QUOTE, _RETURN):
                    at += 1
            else:
                while at < size and raw[at] != separator and raw[at] != _NEW_LINE:
                    at += 1
            cell += 1
            if at >= size or raw[at] == _NEW_LINE:
                open_line = False
            elif raw[at] != separator:
                return -1
            at += 1
        if filled != columns:
            return -1
        row += 1
    return row
