"""Field tab: contours where the report has its distances, and a sentence where there are none."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QColor

from burstwise.app.screens.coil.field_panel import NOTE
from burstwise.app.screens.coil.screen import CoilScreen
from burstwise.app.session import Session
from burstwise.core.evaluate import results_object
from burstwise.core.storage import load

EXAMPLE = (
    Path(__file__).parents[3] / "resources" / "examples" / "classroom-gated-interrupted.burstwise"
)
FIELDS = ("electric", "magnetic")
LEFT = Qt.MouseButton.LeftButton


@pytest.fixture
def screen(qtbot, theme, full_session: Session) -> CoilScreen:
    full_session.document.open(load(EXAMPLE), None)
    made = CoilScreen(full_session, theme)
    qtbot.addWidget(made)
    made.resize(1100, 680)
    with qtbot.waitActive(made):
        made.show()
    return made


def open_field(screen: CoilScreen, qtbot) -> None:
    bar = screen.tabs.tabBar()
    qtbot.mouseClick(bar, LEFT, pos=bar.tabRect(bar.count() - 1).center())
    assert screen.tabs.currentWidget() is screen.field


def test_contours_reach_the_distances_of_the_report_and_follow_the_supply(
    screen, qtbot, theme
) -> None:
    panel, session = screen.field, screen._session
    open_field(screen, qtbot)
    qtbot.waitUntil(lambda: panel.drawing.picture is not None, timeout=60_000)
    picture = panel.drawing.picture
    known = results_object(session.latest.results)["field_distance"]
    names = [f"{who}_{what}" for who in ("public", "occupational") for what in FIELDS]
    for level, name in zip(picture.levels, names, strict=True):
        farthest = max(float(np.max(line[:, 0])) for line in level.lines)
        assert farthest == pytest.approx(known[f"{name}_m"], rel=0.02), name
    assert picture.keep == known["public_electric_m"]
    assert "83 V/m, general public: keep 1.23 m" in picture.levels[0].words
    assert "permission" in NOTE
    assert panel.note.isVisible()
    # To scale: a metre is as many pixels across as up.
    to = panel.drawing.scale()
    assert to.x(picture.reach) <= panel.drawing.width()
    assert to.y(picture.height) >= 0.0
    assert to.x(1.0) - to.x(0.0) == pytest.approx(to.y(0.0) - to.y(1.0))
    # The public's line is where it is drawn.
    image = panel.drawing.grab().toImage()
    scale = image.devicePixelRatio()
    line = np.concatenate(picture.levels[0].lines)
    x, y = line[np.argmin(np.abs(line[:, 1] - 0.5 * line[:, 1].max()))]
    place = to.point(float(x), float(y))
    wanted = QColor(theme.tokens.series[0]).rgb()
    seen = [
        image.pixelColor(int(scale * (place.x() + step)), int(scale * place.y())).rgb()
        for step in range(-3, 4)
    ]
    assert wanted in seen
    before = picture
    session.document.edit("supply.voltage", 30.0, text="Supply")
    qtbot.waitUntil(lambda: panel.drawing.picture is not before and not panel.busy, timeout=60_000)
    assert panel.drawing.picture.keep < before.keep


def test_measured_coil_says_that_there_is_no_field_to_show(screen, qtbot) -> None:
    panel = screen.field
    open_field(screen, qtbot)
    qtbot.waitUntil(lambda: panel.drawing.picture is not None, timeout=60_000)
    screen.given.setCurrentIndex(1)
    qtbot.waitUntil(lambda: panel.drawing.picture is None, timeout=60_000)
    assert "measured values" in panel.drawing.empty
    assert panel.drawing.accessibleDescription() == panel.drawing.empty


def test_nothing_is_computed_while_the_tab_is_hidden(screen, qtbot) -> None:
    session = screen._session
    qtbot.waitUntil(lambda: session.latest is not None, timeout=60_000)
    assert not screen.field.busy
    assert screen.field.drawing.picture is None
    assert "No results yet" in screen.field.drawing.empty


def test_all_tabs_fit_side_by_side(screen) -> None:
    bar = screen.tabs.tabBar()
    assert bar.count() == 6
    assert bar.tabRect(5).right() <= screen.tabs.width()
