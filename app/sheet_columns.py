"""How the pieces of a sheet are shared out over pages and over two columns of a page."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

Draw = Callable[[float, float], None]
"""Draws at a place: left, top [pt]."""


@dataclass(frozen=True, slots=True)
class Piece:
    """What stands in a column as a whole: a paragraph, a heading, a row, a picture.

    Attributes
    ----------
    height : float
        [pt].
    draw : callable
        Draws it with its upper left corner at a place.
    above : float
        Room above it, but not at the top of a column [pt].
    kept : bool
        Whether it is not parted from what follows it, as a heading or the head of a table.
    head : Piece or None
        Head that stands again above it where it begins a column.
    """

    height: float
    draw: Draw
    above: float = 0.0
    kept: bool = False
    head: Piece | None = None


def column_height(pieces: Sequence[Piece]) -> float:
    """Height of pieces below one another, with the room between them [pt].

    Examples
    --------
    >>> one = Piece(10.0, lambda left, top: None, above=8.0)
    >>> column_height([one, one])
    28.0
    """
    return sum(piece.height for piece in pieces) + sum(piece.above for piece in pieces[1:])


def filled(pieces: Sequence[Piece], room: float) -> tuple[list[Piece], list[Piece]]:
    """Pieces that fit into a column, and those left over.

    What is kept with its follower never stands last; a row that begins the rest has its head again.
    """
    count, height = 0, 0.0
    while count < len(pieces):
        piece = pieces[count]
        height += piece.height + (piece.above if count else 0.0)
        if height > room:
            break
        count += 1
    while 0 < count < len(pieces) and pieces[count - 1].kept:
        count -= 1
    taken, rest = list(pieces[:count]), list(pieces[count:])
    if taken and rest and rest[0].head is not None:
        rest.insert(0, rest[0].head)
    return taken, rest


def two_columns(
    pieces: Sequence[Piece], room: float
) -> tuple[list[Piece], list[Piece], list[Piece]]:
    """Left and right column as even as they can be, and what is left for the next page.

    Parameters
    ----------
    pieces : sequence of Piece
        In the order of reading.
    room : float
        Height left on the page [pt].
    """
    heights = sorted({column_height(pieces[:count]) for count in range(1, len(pieces) + 1)})
    for height in (*(high for high in heights if high < room), room):
        left, after = filled(pieces, height)
        right, rest = filled(after, height)
        if not rest:
            return left, right, []
    return left, right, rest
