"""Widths of a table's columns: the ones asked for, moved where that makes the table lower."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from typing import Final

Words = Sequence[float]
"""Widths of the words of a cell."""
_STEPS: Final = (0.24, 0.12, 0.06, 0.03, 0.015)
"""Parts of the table's width that are tried to be moved from column to column."""


def lines_needed(words: Words, space: float, width: float) -> int:
    """Lines that words take in a width, filled one after the other.

    Examples
    --------
    >>> lines_needed([4.0, 4.0, 4.0], 1.0, 9.0)
    2
    """
    lines, used = 1, 0.0
    for word in words:
        if used and used + space + word > width:
            lines, used = lines + 1, word
        else:
            used += word + (space if used else 0.0)
    return lines


def held(shares: Sequence[float], least: Sequence[float]) -> list[float]:
    """Shares of which none is below its least; the others give what they can spare.

    Where all the least ones together have no room, they are shrunk alike.

    Examples
    --------
    >>> held([10.0, 50.0], [20.0, 10.0])
    [20.0, 40.0]
    """
    total = sum(shares)
    if sum(least) >= total:
        return [total * one / sum(least) for one in least]
    spare = [max(share - low, 0.0) for share, low in zip(shares, least, strict=True)]
    lacking = sum(max(low - share, 0.0) for share, low in zip(shares, least, strict=True))
    keep = 1.0 - lacking / sum(spare)
    return [low + keep * more for low, more in zip(least, spare, strict=True)]


def column_widths(
    shares: Sequence[float], rows: Sequence[Sequence[Words]], *, space: float, pad: float
) -> list[float]:
    """Widths near those asked for, in which the rows take the fewest lines.

    Parameters
    ----------
    shares : sequence of float
        Asked for; their sum is the width of the table.
    rows : sequence of sequences of Words
        Cells of all rows, the head among them.
    space : float
        Between two words.
    pad : float
        Room on both sides of a cell together.
    """
    columns = [[row[place] for row in rows] for place in range(len(shares))]
    least = [
        pad + max((max(cell, default=0.0) for cell in cells), default=0.0) for cells in columns
    ]

    def lines(place: int, width: float) -> list[int]:
        return [lines_needed(cell, space, width - pad) for cell in columns[place]]

    widths = held(shares, least)
    needed = [lines(place, width) for place, width in enumerate(widths)]
    total = sum(map(max, zip(*needed, strict=True)))
    for step in _STEPS:
        move, moved = step * sum(widths), True
        while moved:
            moved = False
            for giver, taker in itertools.permutations(range(len(widths)), 2):
                if widths[giver] - move < least[giver]:
                    continue
                tried = list(needed)
                tried[giver] = lines(giver, widths[giver] - move)
                tried[taker] = lines(taker, widths[taker] + move)
                fewer = sum(map(max, zip(*tried, strict=True)))
                if fewer < total:
                    widths[giver] -= move
                    widths[taker] += move
                    needed, total, moved = tried, fewer, True
    return widths
