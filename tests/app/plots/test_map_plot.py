"""Map: picture, labels, cursor by mouse and keys, click, readable in grey."""

from __future__ import annotations

import numpy as np
import pytest
from PySide6.QtCore import QPoint, Qt

from burstwise.app.plots.axis import Axis
from burstwise.app.plots.map_picture import PATTERNS, Regions, map_picture, pattern_swatch, ticks
from burstwise.app.plots.map_plot import MapPlot
from burstwise.app.theme import DARK, LIGHT


@pytest.fixture
def regions() -> Regions:
    xs, ys = np.linspace(10.0, 60.0, 40), np.geomspace(10.0, 1000.0, 30)
    which = (xs[None, :] > 40).astype(np.intp) + np.zeros((30, 1), dtype=np.intp)
    level = (50.0 - xs)[None, :] + np.zeros((30, 1))
    return Regions(
        Axis("Supply voltage", "V"), Axis("Interrupter frequency", "Hz"), xs, ys, False, True,
        ("Drain voltage", "Junction peak"), which, level,
    )  # fmt: skip


@pytest.fixture
def plot(qtbot, theme, regions) -> MapPlot:
    made = MapPlot(theme)
    qtbot.addWidget(made)
    made.resize(700, 420)
    made.show_regions(regions)
    made.set_point(20.0, 100.0)
    with qtbot.waitActive(made):
        made.show()
    return made


def test_places_go_both_ways(plot):
    for x, y in ((10.0, 10.0), (35.0, 100.0), (60.0, 1000.0)):
        place = plot.pixel(x, y)
        found = plot._value_at(place)
        if found is not None:  # the far corner lies on the frame itself
            assert found == pytest.approx((x, y), rel=1e-6)


def test_words_stand_in_the_map(plot):
    assert set(plot.labels) == {"Drain voltage", "Junction peak"}


def test_cursor_follows_the_mouse_and_a_click_goes_there(qtbot, plot):
    goal = plot.pixel(30.0, 100.0).toPoint()
    qtbot.mouseMove(plot, QPoint(goal.x() - 5, goal.y()))
    qtbot.mouseMove(plot, goal)
    assert plot.cursor_at == pytest.approx((30.0, 100.0), rel=0.03)
    with qtbot.waitSignal(plot.chosen) as heard:
        qtbot.mouseClick(plot, Qt.MouseButton.LeftButton, pos=goal)
    assert heard.args == pytest.approx([30.0, 100.0], rel=0.03)


def test_keys_move_the_cursor_and_return_goes_there(qtbot, plot, regions):
    plot.setFocus()
    qtbot.keyClick(plot, Qt.Key.Key_Right)
    x, y = plot.cursor_at
    assert x > 20.0
    assert y == 100.0
    qtbot.keyClick(plot, Qt.Key.Key_Up, Qt.KeyboardModifier.ShiftModifier)
    assert plot.cursor_at[1] > 300.0
    with qtbot.waitSignal(plot.chosen) as heard:
        qtbot.keyClick(plot, Qt.Key.Key_Return)
    assert tuple(heard.args) == plot.cursor_at
    qtbot.keyClick(plot, Qt.Key.Key_Escape)
    assert plot.cursor_at is None


@pytest.mark.parametrize("tokens", [LIGHT, DARK], ids=["light", "dark"])
def test_regions_and_frontier_differ_in_grey(qapp, regions, tokens):
    """Without hue: ground beyond the frontier differs in lightness, regions in their hatching."""
    picture, which = map_picture(regions, 500, 300, tokens)
    image = picture.toImage()
    grey = np.array(
        [[image.pixelColor(x, y).lightness() for x in range(500)] for y in range(0, 300, 3)]
    )
    safe, beyond = grey[:, 20:280], grey[:, 420:480]
    assert abs(float(np.median(safe)) - float(np.median(beyond))) > 18
    assert which.max() == 1


def test_patterns_are_told_apart(qapp):
    seen = set()
    for place in range(len(PATTERNS)):
        image = pattern_swatch(place, LIGHT, size=40).toImage()
        seen.add(tuple(image.pixelColor(x, y).lightness() > 150
                       for x in range(40) for y in range(40)))  # fmt: skip
    assert len(seen) == len(PATTERNS) == 10


def test_look_changes_with_the_theme(plot, theme):
    before = plot.grab().toImage()
    theme.set_dark(True)
    assert plot.grab().toImage() != before


def test_nothing_yet(qtbot, theme):
    made = MapPlot(theme)
    qtbot.addWidget(made)
    made.show()
    assert made.labels == ()
    qtbot.keyClick(made, Qt.Key.Key_Right)
    assert made.cursor_at is None


def test_ticks_are_round():
    assert ticks(3.0, 60.0, log=False) == [10.0, 20.0, 30.0, 40.0, 50.0, 60.0]
    assert ticks(0.01, 1.0, log=False) == [0.2, 0.4, 0.6, 0.8, 1.0]
