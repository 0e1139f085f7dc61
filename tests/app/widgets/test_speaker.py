"""What is told when the state changes: once, and not at every step of a drag."""

from __future__ import annotations

from dataclasses import replace

import pytest
from PySide6.QtGui import QAccessible, QAccessibleAnnouncementEvent
from PySide6.QtWidgets import QLabel

from burstwise.app.session import Summary
from burstwise.app.widgets import announce as module
from burstwise.app.widgets.speaker import Speaker
from burstwise.core.findings import Severity, stop

CALM = Summary("now", "drain 60 V of 100 V", "40 V in hand", None, (), first_break="fuse at 47 V")


@pytest.fixture
def said(monkeypatch) -> list[str]:
    found: list[str] = []

    class Recorder(QAccessible):
        @staticmethod
        def updateAccessibility(event: QAccessibleAnnouncementEvent) -> None:
            assert isinstance(event, QAccessibleAnnouncementEvent)
            found.append(event.message())

    monkeypatch.setattr(module, "QAccessible", Recorder)
    return found


def test_changes_alone_are_told_and_the_last_of_a_drag(said: list[str], qtbot) -> None:
    label = QLabel()
    qtbot.addWidget(label)
    speaker = Speaker(label)
    speaker.follow(CALM)
    assert said == ["ok: drain 60 V of 100 V; 40 V in hand. First to break: fuse at 47 V"]
    finding = stop("x", "supply.voltage", "Too much.")
    for volts in (39, 38, 37):
        speaker.follow(replace(CALM, margin=f"{volts} V in hand", findings=(finding,)))
    assert len(said) == 1
    speaker._pause.timeout.emit()
    assert said[1] == "ok: drain 60 V of 100 V; 37 V in hand. Finding, stop: Too much."
    speaker._pause.timeout.emit()
    speaker._pause.stop()
    speaker.follow(replace(CALM, margin="37 V in hand", findings=(finding,)))
    assert len(said) == 2
    speaker.follow(replace(CALM, margin="37 V in hand", severity=Severity.CAUTION))
    assert said[2].startswith("caution: drain")
    assert said[2].endswith("No longer: stop: Too much.")
    speaker._pause.stop()
