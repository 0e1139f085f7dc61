"""Two columns of narrow tables: nothing lost, no head left alone, both about as long."""

from __future__ import annotations

import pytest

from burstwise.app.sheet_columns import Line, column_height, filled, grouped, two_columns
from burstwise.core.assembly.sheet import Paragraph, Picture, Table


def lines_of(*rows: int) -> list[Line]:
    """Tables of some numbers of rows, 10 pt each."""
    return [
        Line(table, (f"{table}.{row}",), 10.0, head=row == 0)
        for table, count in enumerate(rows)
        for row in range(count + 1)
    ]


def bodies(lines: list[Line]) -> list[Line]:
    return [line for line in lines if not line.head]


@pytest.mark.parametrize("room", [60.0, 100.0, 200.0, 1000.0])
@pytest.mark.parametrize("rows", [(5,), (3, 9, 2), (1, 1, 1, 1), (30,)])
def test_every_row_stands_once_and_no_head_alone(rows, room) -> None:
    rest = lines_of(*rows)
    wanted, found = bodies(rest), []
    while rest:
        left, right, rest = two_columns(rest, room)
        for column in (left, right):
            assert column_height(column) <= room
            assert not column or (column[0].head and not column[-1].head)
            found += bodies(column)
    assert found == wanted


def test_columns_are_even_where_all_fits() -> None:
    left, right, rest = two_columns(lines_of(6, 6), 1000.0)
    assert not rest
    assert abs(column_height(left) - column_height(right)) <= 10.0


def test_a_table_that_goes_on_has_its_head_again() -> None:
    taken, rest = filled(lines_of(8), 45.0)
    assert [line.cells for line in taken[:1]] == [line.cells for line in rest[:1]] == [("0.0",)]


def test_only_lists_of_figures_and_half_pictures_are_put_together() -> None:
    narrow = Table(("Coil", ""), (("f0", "1 MHz"),), (3, 2))
    wide = Table(("Weight", "Finding"), (("note", "long"),), (1, 7))
    half, full = Picture("<svg/>", "a", half=True), Picture("<svg/>", "b")
    groups = grouped([Paragraph("x"), narrow, narrow, wide, half, half, half, full])
    assert [len(group) if isinstance(group, tuple) else 0 for group in groups] == [0, 2, 0, 2, 0, 0]
