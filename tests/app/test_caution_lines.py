"""Every screen that suggests power shows its line of the one list, with all hazards behind it."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from PySide6.QtWidgets import QLabel, QWidget

from burstwise.app.screens.assembly.powerup_page import PowerupPage
from burstwise.app.screens.bench.screen import BenchScreen
from burstwise.app.screens.interrupter.screen import InterrupterScreen
from burstwise.app.screens.lessons.screen import LessonsScreen
from burstwise.app.screens.limits.screen import LimitsScreen
from burstwise.app.screens.operating_point.screen import OperatingPoint
from burstwise.app.session import Session
from burstwise.app.theme import Theme
from burstwise.core.assembly.cautions import HAZARDS, PLACES, line

SCREENS: dict[str, Callable[[Session, Theme], QWidget]] = {
    "power-up": lambda session, _theme: PowerupPage(session.document),
    "operating point": OperatingPoint,
    "limits": LimitsScreen,
    "forecast": BenchScreen,
    "interrupter": InterrupterScreen,
    "lessons": LessonsScreen,
}


def test_every_place_is_looked_at() -> None:
    assert set(SCREENS) == set(PLACES)


@pytest.mark.parametrize("place", PLACES)
def test_line_stands_in_the_screen(qtbot, full_session: Session, theme: Theme, place: str) -> None:
    screen = SCREENS[place](full_session, theme)
    qtbot.addWidget(screen)
    labels = screen.findChildren(QLabel, "caution-line")
    assert [label.text() for label in labels] == [line(place)]
    for hazard in HAZARDS:
        assert hazard.text in labels[0].toolTip()
        assert hazard.text in labels[0].accessibleDescription()
