"""Fixtures for tests of the window: warnings fail, nothing outlives its test."""

from __future__ import annotations

import gc
import logging
import threading
from collections.abc import Iterator
from pathlib import Path

import pytest
from PySide6.QtCore import QCoreApplication, QEvent, QThread, QTimer
from PySide6.QtWidgets import QApplication, QWidget
from shiboken6 import Shiboken

from app.theme import Theme
from core.design.document import Design, design_from


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    here = Path(__file__).parent
    for item in items:
        if here in item.path.parents:
            item.add_marker(pytest.mark.qt_log_level_fail("WARNING"))
            item.add_marker(pytest.mark.qt_log_ignore("does not support propagateSizeHints"))


def _alive() -> set[int]:
    """Identities of live top-level widgets, active timers and running threads."""
    found = [
        thing
        for thing in gc.get_objects()
        if isinstance(thing, (QWidget, QTimer, QThread)) and Shiboken.isValid(thing)
    ]
    kept = {id(thing) for thing in found if isinstance(thing, QWidget) and thing.isWindow()}
    kept |= {id(thing) for thing in found if isinstance(thing, QTimer) and thing.isActive()}
    kept |= {id(thing) for thing in found if isinstance(thing, QThread) and thing.isRunning()}
    return kept | {id(thread) for thread in threading.enumerate()}


def _describe(identities: set[int]) -> list[str]:
    things = [*gc.get_objects(), *threading.enumerate()]
    return sorted({repr(thing) for thing in things if id(thing) in identities})


def _settle() -> None:
    QCoreApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)
    QCoreApplication.processEvents()
    gc.collect()
    QCoreApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)


@pytest.fixture(autouse=True)
def nothing_outlives_the_test(qapp: QApplication) -> Iterator[None]:
    _settle()
    before = _alive()
    yield
    _settle()
    left = _alive() - before
    assert not left, f"left alive: {_describe(left)}"


@pytest.fixture(autouse=True)
def no_unexpected_log_records(caplog: pytest.LogCaptureFixture) -> Iterator[None]:
    """Fail on a warning or worse; a test that expects one checks it and calls `caplog.clear`."""
    yield
    records = [record for record in caplog.get_records("call") if record.levelno >= logging.WARNING]
    assert not records, [record.getMessage() for record in records]


@pytest.fixture(scope="session")
def session_theme(qapp: QApplication) -> Theme:
    return Theme(qapp)


@pytest.fixture
def theme(session_theme: Theme) -> Iterator[Theme]:
    yield session_theme
    session_theme.set_dark(False)


@pytest.fixture
def small_design() -> Design:
    """A small measured coil, all else at its defaults."""
    return design_from(
        {
            "coil": {
                "measured": {
                    "primary_inductance": 2.5e-6,
                    "primary_resistance": 0.05,
                    "secondary_inductance": 12e-3,
                    "secondary_capacitance": 9e-12,
                    "quality_factor": 150.0,
                    "coupling": 0.2,
                    "breakout_voltage": 20e3,
                }
            }
        }
    )
