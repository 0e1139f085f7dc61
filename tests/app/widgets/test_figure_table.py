from __future__ import annotations

import pytest
from PySide6.QtGui import QColor

from burstwise.app.theme import DARK, LIGHT
from burstwise.app.widgets.figure_table import Figure, FigureTable, Group
from burstwise.app.widgets.share_bars import Share, ShareBars
from burstwise.core.findings import Severity

ROWS = (
    Group("Carrier", (Figure("Frequency", "940 kHz"), Figure("Drain", "561 V", Severity.STOP))),
    Group("Heat", (Figure("Junction", "71 °C"),)),
)


def colours(widget) -> set[str]:
    picture = widget.grab().toImage()
    return {
        QColor(picture.pixel(x, y)).name()
        for x in range(picture.width())
        for y in range(picture.height())
    }


@pytest.fixture
def table(theme, qtbot) -> FigureTable:
    made = FigureTable(theme)
    qtbot.addWidget(made)
    made.show_groups(ROWS)
    made.resize(300, made.sizeHint().height())
    return made


def test_rows_are_found_by_name_and_unknown_ones_are_not(table: FigureTable) -> None:
    assert table.value("Junction") == "71 °C"
    assert table.describe() == "Frequency 940 kHz; Drain 561 V; Junction 71 °C"
    with pytest.raises(KeyError):
        table.value("Weight")


def test_a_limit_broken_shows_its_colour_in_both_looks(table: FigureTable, theme) -> None:
    assert LIGHT.stop in colours(table)
    theme.set_dark(True)
    assert DARK.stop in colours(table)


def test_more_rows_ask_for_more_height(table: FigureTable) -> None:
    before = table.sizeHint().height()
    table.show_groups((*ROWS, ROWS[0]))
    assert table.sizeHint().height() > before


def test_bars_come_by_size_and_as_long_as_their_share(theme, qtbot) -> None:
    bars = ShareBars(theme)
    qtbot.addWidget(bars)
    bars.show_shares((Share("Shunt", "1 W", 0.25), Share("Channel", "3 W", 0.75, marked=True)))
    bars.resize(400, bars.sizeHint().height())
    assert [share.name for share in bars.shares] == ["Channel", "Shunt"]
    picture = bars.grab().toImage()
    row = picture.height() // 4
    solid = sum(
        QColor(picture.pixel(x, row)).name() == LIGHT.accent for x in range(picture.width())
    )
    assert solid > 60
    hatched = [QColor(picture.pixel(x, 3 * row)).name() == LIGHT.muted for x in range(100, 170)]
    assert 0 < sum(hatched) < len(hatched)
