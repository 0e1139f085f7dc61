"""Fixtures for tests of the window: warnings fail, nothing outlives its test."""

from __future__ import annotations

import gc
import json
import logging
import threading
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from pathlib import Path

import pytest
from PySide6.QtCore import QCoreApplication, QEvent, QPoint, QPointF, Qt, QThread, QTimer
from PySide6.QtGui import QWheelEvent
from PySide6.QtWidgets import QApplication, QWidget
from shiboken6 import Shiboken

from burstwise.app.places import Places
from burstwise.app.session import Job, Session, Summary
from burstwise.app.theme import Theme, WindowStyle
from burstwise.app.window import MainWindow
from burstwise.app.wiring import design_job
from burstwise.app.worker import Task
from burstwise.core.assembly.symbol_style import SymbolStyle
from burstwise.core.design.document import Design, design_from, value_at, with_values
from burstwise.core.errors import FileError
from burstwise.core.findings import Severity, note, stop


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


def _let_threads_end(known_alive: set[int]) -> None:
    """A closed worker does not wait for its thread, which must end by itself before long."""
    for thread in threading.enumerate():
        if id(thread) not in known_alive:
            thread.join(30.0)


@pytest.fixture(scope="session")
def known_alive(session_theme: Theme) -> set[int]:
    """What lives before the first test.

    What has outlived a collection is set aside, here and after each test, so that the next ones
    look at what a test has made and not at every module that is loaded: 0.3 s a test.
    """
    _settle()
    gc.freeze()
    return _alive()


@pytest.fixture(autouse=True)
def remembered_engine(engine_once: None) -> None:
    """Designs that several tests show are evaluated once."""


@pytest.fixture(autouse=True)
def temporary_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Where stand-ins for an own folder are made and looked for; the user's own are not touched."""
    made = tmp_path / "temporary"
    monkeypatch.setattr("burstwise.app.places.gettempdir", lambda: str(made))
    return made


@pytest.fixture(autouse=True)
def nothing_outlives_the_test(known_alive: set[int]) -> Iterator[None]:
    yield
    _settle()
    _let_threads_end(known_alive)
    _settle()
    left = _alive() - known_alive
    known_alive |= left
    gc.freeze()
    assert not left, f"left alive: {_describe(left)}"


@pytest.fixture(autouse=True)
def no_unexpected_log_records(caplog: pytest.LogCaptureFixture) -> Iterator[None]:
    """Fail on a warning or worse; a test that expects one checks it and calls `caplog.clear`."""
    yield
    records = [record for record in caplog.get_records("call") if record.levelno >= logging.WARNING]
    assert not records, [record.getMessage() for record in records]


@pytest.fixture(scope="session")
def session_theme(qapp: QApplication) -> Theme:
    made = Theme(qapp)
    WindowStyle(made, qapp)  # most tests show a single widget without the window that would wear it
    return made


@pytest.fixture
def theme(session_theme: Theme) -> Iterator[Theme]:
    yield session_theme
    session_theme.set_dark(False)
    session_theme.set_symbols(SymbolStyle.IEC)


@dataclass(frozen=True)
class ToyResults:
    """Stand-in results with simple arithmetic, so that the window is tested without physics."""

    power: float


def toy_evaluate(design: Design, task: Task) -> ToyResults:
    task.progress(0.5, "half way")
    if design.supply.voltage == 13.0:
        raise ZeroDivisionError("thirteen")
    return ToyResults(design.supply.voltage * design.interrupter.duty)


def toy_summary(results: ToyResults, *, during_drag: bool = False) -> Summary:
    findings = (note("toy", "supply.voltage", "A note about the supply."),)
    if results.power > 20.0:
        findings += (stop("too-much", "interrupter.duty", "More than 20 W is too much."),)
    return Summary(
        now=f"Oscillates at 412 kHz, {results.power:.1f} W in, top 62 kV",
        first_limit="junction temperature 131 °C of 150 °C",
        margin=f"{20.0 - results.power:.1f} W below the limit, reached at 41 V",
        severity=Severity.STOP if results.power > 20.0 else None,
        findings=findings,
    )


@pytest.fixture
def toy_job(small_design: Design, tmp_path: Path) -> Job:
    def load(file: Path) -> Design:
        try:
            return design_from(json.loads(file.read_text()))
        except (OSError, ValueError) as error:
            raise FileError(file, "nothing usable", "a design file") from error

    def save(design: Design, file: Path) -> None:
        try:
            file.write_text(design.model_dump_json())
        except OSError as error:
            raise FileError(file, error.strerror, "a file that can be written") from error

    example = tmp_path / "example.json"
    save(with_values(small_design, {"name": "Example", "supply.voltage": 24.0}), example)
    return Job(
        new=lambda: small_design,
        load=load,
        save=save,
        to_text=lambda design: design.model_dump_json(),
        from_text=lambda text: design_from(json.loads(text)),
        with_values=with_values,
        value_at=value_at,
        evaluate=toy_evaluate,
        summarise=toy_summary,
        examples=lambda: {"Example": example},
    )


@pytest.fixture
def places(tmp_path: Path) -> Places:
    return Places(settings=tmp_path / "settings", data=tmp_path / "data")


@pytest.fixture
def window(qtbot, theme: Theme, toy_job: Job, places: Places) -> MainWindow:
    made = MainWindow(Session(toy_job), theme, places)
    qtbot.addWidget(made, before_close_func=_give_up_edits)
    made.resize(1366, 768)
    with qtbot.waitActive(made):
        made.show()
    return made


def _give_up_edits(window: MainWindow) -> None:
    window.session.document.undo_stack.setClean()


def _session(job: Job) -> Iterator[Session]:
    made = Session(job)
    yield made
    made.close()


@pytest.fixture
def session(qapp: QApplication, toy_job: Job) -> Iterator[Session]:
    """Session whose evaluation is a toy."""
    yield from _session(toy_job)


@pytest.fixture
def full_session(qapp: QApplication) -> Iterator[Session]:
    """Session that evaluates in earnest."""
    yield from _session(design_job())


@pytest.fixture
def still_session(qapp: QApplication) -> Iterator[Session]:
    """Session of real designs that never evaluates."""
    yield from _session(replace(design_job(), evaluate=lambda design, task: None))


@pytest.fixture
def turn_wheel() -> Callable[[QWidget, int], None]:
    """Turn the mouse wheel over the middle of a widget by a number of notches."""

    def turn(widget: QWidget, notches: int) -> None:
        at = QPointF(widget.rect().center())
        event = QWheelEvent(
            at,
            QPointF(widget.mapToGlobal(at.toPoint())),
            QPoint(),
            QPoint(0, 120 * notches),
            Qt.MouseButton.NoButton,
            Qt.KeyboardModifier.NoModifier,
            Qt.ScrollPhase.NoScrollPhase,
            False,
        )
        QApplication.sendEvent(widget, event)

    return turn


@pytest.fixture
def show_when_ready(qtbot) -> Callable[[QWidget], None]:
    """Show a screen at its size in the smallest window and wait until it is ready."""

    def show(screen: QWidget) -> None:
        qtbot.addWidget(screen)
        screen.resize(1114, 666)
        with qtbot.waitActive(screen):
            screen.show()
        qtbot.waitUntil(lambda: screen.ready, timeout=60_000)

    return show
