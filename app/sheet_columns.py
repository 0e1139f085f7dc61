"""How the rows of narrow tables are shared out over two columns of a page."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

from burstwise.core.assembly.sheet import Block, Picture, Table

TABLE_GAP: Final = 8.0
"""Room between two tables of a column [pt]."""


@dataclass(frozen=True, slots=True)
class Line:
    """One row of a table, or its head.

    Attributes
    ----------
    table : int
        Which of the tables it belongs to.
    cells : tuple of str
        Its texts.
    height : float
        [pt].
    head : bool
        Whether it is the table's head; a gap stands above it but at the top of a column.
    """

    table: int
    cells: tuple[str, ...]
    height: float
    head: bool = False


def column_height(lines: Sequence[Line]) -> float:
    """Height of lines below one another, with the gaps between tables [pt].

    Examples
    --------
    >>> a, b = Line(0, ("a",), 10.0, head=True), Line(1, ("b",), 10.0, head=True)
    >>> column_height([a, b])
    28.0
    """
    gaps = sum(TABLE_GAP for line in lines[1:] if line.head)
    return sum(line.height for line in lines) + gaps


def filled(lines: Sequence[Line], room: float) -> tuple[list[Line], list[Line]]:
    """Lines that fit into a column, and those left over.

    A head never stands alone at the foot of a column; a table that goes on begins with its head.
    """
    count = 0
    while count < len(lines) and column_height(lines[: count + 1]) <= room:
        count += 1
    while 0 < count < len(lines) and lines[count - 1].head:
        count -= 1
    taken, rest = list(lines[:count]), list(lines[count:])
    if taken and rest and not rest[0].head:
        head = next(line for line in lines if line.head and line.table == rest[0].table)
        rest.insert(0, replace(head))
    return taken, rest


def two_columns(lines: Sequence[Line], room: float) -> tuple[list[Line], list[Line], list[Line]]:
    """Left and right column as even as they can be, and what is left for the next page.

    Parameters
    ----------
    lines : sequence of Line
        All rows with the heads of their tables.
    room : float
        Height left on the page [pt].
    """
    heights = sorted({column_height(lines[:count]) for count in range(1, len(lines) + 1)})
    for height in (*(high for high in heights if high < room), room):
        left, after = filled(lines, height)
        right, rest = filled(after, height)
        if not rest:
            return left, right, []
    return left, right, rest


Group = Block | tuple[Table, ...] | tuple[Picture, Picture]


def grouped(blocks: Sequence[Block]) -> list[Group]:
    """Blocks with narrow tables that follow one another together, and half-wide pictures in pairs.

    Examples
    --------
    >>> pair = Table(("Name", ""), (("a", "1 V"),), (3, 2))
    >>> [len(group) for group in grouped([pair, pair])]
    [2]
    """
    groups: list[Group] = []
    for block in blocks:
        last = groups[-1] if groups else None
        if isinstance(block, Table) and block.narrow:
            if isinstance(last, tuple) and isinstance(last[0], Table):
                groups[-1] = (*last, block)
            else:
                groups.append((block,))
        elif isinstance(block, Picture) and isinstance(last, Picture) and block.half and last.half:
            groups[-1] = (last, block)
        else:
            groups.append(block)
    return groups
