"""Columns of a table are as wide as their words need, and no word is cut."""

from __future__ import annotations

import pytest

from burstwise.app.sheet_widths import column_widths, held, lines_needed


def total_lines(widths, rows, pad) -> int:
    return sum(
        max(lines_needed(cell, 1.0, width - pad) for cell, width in zip(row, widths, strict=True))
        for row in rows
    )


def test_lines_by_hand() -> None:
    """Words of 4 with blanks of 1: two in 9, one in 8, and each word has at least a line."""
    assert lines_needed([4.0] * 5, 1.0, 9.0) == 3
    assert lines_needed([4.0] * 5, 1.0, 8.9) == 5
    assert lines_needed([], 1.0, 9.0) == 1


def test_no_column_is_below_its_longest_word() -> None:
    rows = [[[30.0], [5.0] * 40], [[8.0, 8.0], [5.0] * 3]]
    widths = column_widths([10.0, 190.0], rows, space=1.0, pad=2.0)
    assert sum(widths) == pytest.approx(200.0)
    assert widths[0] >= 32.0


def test_width_goes_where_it_saves_lines_and_stays_where_it_saves_none() -> None:
    long, short = [5.0] * 60, [10.0]
    rows = [[short, long]] * 4
    asked = [100.0, 100.0]
    widths = column_widths(asked, rows, space=1.0, pad=2.0)
    assert total_lines(widths, rows, 2.0) <= 0.75 * total_lines(asked, rows, 2.0)
    assert column_widths(asked, [[short, short]], space=1.0, pad=2.0) == asked


def test_words_without_room_are_shrunk_alike() -> None:
    assert held([10.0, 10.0], [30.0, 10.0]) == [15.0, 5.0]
