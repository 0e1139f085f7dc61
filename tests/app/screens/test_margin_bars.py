"""Bars of the limits: as long as the share in use, told apart without colour."""

from __future__ import annotations

import math

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QColor, QImage

from burstwise.app.screens.limits.margin_bars import HEADING
from burstwise.app.screens.limits.tables import PlainTable

MARGINS = (0.6, 0.05, -0.1, math.inf, -math.inf)


@pytest.fixture
def table(qtbot, theme):
    made = PlainTable(("Rating", HEADING), name="Ratings", wide=1)
    qtbot.addWidget(made)
    made.draw_margins(theme)
    made.resize(500, 260)
    made.show_rows([("a rating", "")] * len(MARGINS), margins=MARGINS)
    with qtbot.waitExposed(made):
        made.show()
    return made


def bar_of(table: PlainTable, row: int, colour: str) -> tuple[int, float]:
    """Length of a row's bar [px], and which part of its area is inked."""
    image = table.viewport().grab().toImage().convertToFormat(QImage.Format.Format_RGB32)
    box = table.visualRect(table.model().index(row, 1))
    wanted, middle = QColor(colour), box.center().y()
    inked = [
        [QColor(image.pixel(x, y)) == wanted for x in range(box.left(), box.right())]
        for y in range(middle - 4, middle + 4)
    ]
    columns = [x for x in range(len(inked[0])) if any(line[x] for line in inked)]
    first = columns[0]
    end = next((x for x in range(first, len(inked[0])) if x not in set(columns)), columns[-1])
    area = sum(sum(line[first:end]) for line in inked) / (len(inked) * max(end - first, 1))
    return end - first, area


def test_a_bar_is_as_long_as_the_share_of_the_limit(table, theme) -> None:
    whole = table.columnWidth(1)
    ok, _area = bar_of(table, 0, theme.tokens.ok)
    free, _area = bar_of(table, 3, theme.tokens.ok)
    assert ok == pytest.approx(0.4 / 1.25 * whole, abs=14)
    assert free <= 3


def test_verdicts_differ_in_their_filling(table, theme) -> None:
    _length, solid = bar_of(table, 0, theme.tokens.ok)
    item = table.item(1, 1)
    assert item.data(Qt.ItemDataRole.AccessibleTextRole) == "95 % of the limit"
    _length, hatched = bar_of(table, 1, theme.tokens.caution)
    assert solid > 0.95
    assert hatched < 0.7
