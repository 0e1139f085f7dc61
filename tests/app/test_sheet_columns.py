"""Two columns of pieces: nothing lost, no head left alone, both about as long."""

from __future__ import annotations

import pytest

from burstwise.app.sheet_columns import Piece, column_height, filled, two_columns


def nothing(left: float, top: float) -> None:
    pass


def pieces_of(*rows: int) -> list[Piece]:
    """Tables of some numbers of rows, 10 pt each."""
    pieces = []
    for count in rows:
        head = Piece(10.0, nothing, above=8.0, kept=True)
        pieces += [head, *(Piece(10.0, nothing, head=head) for _ in range(count))]
    return pieces


def bodies(pieces: list[Piece]) -> list[Piece]:
    return [piece for piece in pieces if not piece.kept]


@pytest.mark.parametrize("room", [60.0, 100.0, 200.0, 1000.0])
@pytest.mark.parametrize("rows", [(5,), (3, 9, 2), (1, 1, 1, 1), (30,)])
def test_every_row_stands_once_and_no_head_alone(rows, room) -> None:
    rest = pieces_of(*rows)
    wanted, found = bodies(rest), []
    while rest:
        left, right, rest = two_columns(rest, room)
        for column in (left, right):
            assert column_height(column) <= room
            assert not column or (column[0].kept and not column[-1].kept)
            found += bodies(column)
    assert [id(piece) for piece in found] == [id(piece) for piece in wanted]


def test_columns_are_even_where_all_fits() -> None:
    left, right, rest = two_columns(pieces_of(6, 6), 1000.0)
    assert not rest
    assert abs(column_height(left) - column_height(right)) <= 10.0


def test_a_table_that_goes_on_has_its_head_again() -> None:
    made = pieces_of(8)
    taken, rest = filled(made, 45.0)
    assert taken[0] is rest[0] is made[0]
    assert len(taken) + len(rest) == len(made) + 1


def test_rows_kept_together_go_on_together() -> None:
    made = [Piece(10.0, nothing), *(Piece(10.0, nothing, kept=True) for _ in range(3))]
    taken, rest = filled([*made, Piece(10.0, nothing)], 45.0)
    assert (len(taken), len(rest)) == (1, 4)
