"""Settings that every test needs before Qt is imported, and the book of measured figures."""

from __future__ import annotations

import json
import os
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

if TYPE_CHECKING:
    from burstwise.core.design.document import Design

os.environ["QT_QPA_PLATFORM"] = "offscreen"
# The engine's matrices are far too small for more than one thread of linear algebra.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

Figure = Callable[..., None]
REMEMBERED = 24
"""Evaluations, tables and plans that are kept between window tests; some are 50 MB."""


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption(
        "--figures", default=None, help="append measured figures to this JSON-lines file"
    )
    parser.addoption("--slow", action="store_true", help="run the tests marked slow as well")


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Leave the slow tests to runs that ask for them; for figures run what measures some."""
    if config.getoption("--figures"):
        measures = [item for item in items if "figure" in getattr(item, "fixturenames", ())]
        config.hook.pytest_deselected(items=[item for item in items if item not in measures])
        items[:] = measures
        return
    if config.getoption("--slow"):
        return
    later = pytest.mark.skip(reason="takes long; run with --slow")
    for item in items:
        if item.get_closest_marker("slow"):
            item.add_marker(later)


@pytest.fixture
def figure(request: pytest.FixtureRequest) -> Figure:
    """Record a measured figure for docs/validation.md: what, measured, limit, unit, source."""
    target = request.config.getoption("--figures")

    def record(what: str, measured: float, *, limit: str, unit: str = "", source: str) -> None:
        if target is None:
            return
        row = {
            "part": request.node.path.parent.name,
            "what": what,
            "measured": float(measured),
            "limit": limit,
            "unit": unit,
            "source": source,
            "test": request.node.name,
        }
        with Path(target).open("a", encoding="utf-8") as stream:
            stream.write(json.dumps(row, ensure_ascii=False) + "\n")

    return record


def _once(function: Callable[..., Any], made: dict[Any, Any]) -> Callable[..., Any]:
    """Function of a design, or of what was evaluated of one, that keeps what it returned."""
    from burstwise.core.storage import text_of

    def remembered(
        first: Any, *rest: Any, progress: Any = None, check: Any = None, **named: Any
    ) -> Any:
        design = getattr(first, "design", first)
        # A standing table counts with its reach; parts are those of the design.
        others = [
            float(value.table.voltages[-1]) if hasattr(value, "table") else str(value)
            for value in rest
            if hasattr(value, "table") or isinstance(value, float)
        ]
        key = (function.__name__, text_of(design), *others, *sorted(named.items()))
        stopped = progress is not None and not progress(0.0)
        if stopped or key not in made:
            asked = {"progress": progress, "check": check}
            made[key] = function(
                first, *rest, **named, **{k: v for k, v in asked.items() if v is not None}
            )
        found = made[key] = made.pop(key)  # the last asked for goes last
        while len(made) > REMEMBERED:
            del made[next(iter(made))]
        return found

    return remembered


@pytest.fixture(scope="session")
def _made() -> dict[Any, Any]:
    return {}


@pytest.fixture
def engine_once(monkeypatch: pytest.MonkeyPatch, _made: dict[Any, Any]) -> None:
    """Windows get the very same evaluation, wide table and plan of a design that was seen before.

    The engine answers the same to the last bit whatever ran before (tests/core/stage), so a window
    cannot tell. What the engine says is tested under tests/core.
    """
    import burstwise.app.screens.assembly.screen
    import burstwise.app.screens.compare.screen
    import burstwise.app.screens.limits.stage_tables
    import burstwise.core.evaluate
    import burstwise.core.search  # loaded later it would keep what a test puts in place here
    import burstwise.core.studies.first_break
    import burstwise.core.studies.stage_table

    places = (
        (burstwise.core.evaluate, "evaluate"),
        (burstwise.core.studies.stage_table, "stage_table"),
        (burstwise.core.studies.first_break, "corner_tables"),
        (burstwise.app.screens.compare.screen, "evaluate"),
        (burstwise.app.screens.limits.stage_tables, "stage_table"),
        (burstwise.app.screens.assembly.screen, "powerup_plan"),
    )
    for module, name in places:
        monkeypatch.setattr(module, name, _once(getattr(module, name), _made))


@pytest.fixture
def small_design() -> Design:
    """A small measured coil, all else at its defaults."""
    # Imported late: what it loads must see the settings above.
    from burstwise.core.design.document import design_from

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


@pytest.fixture
def odd_files(tmp_path: Path) -> Iterator[dict[str, Path]]:
    """What may stand where a file should, by the words that name it; a wait ends after a minute."""
    if os.name != "posix":
        pytest.skip("pipes and devices as POSIX has them")
    import signal

    def end_wait(*_: object) -> None:
        raise AssertionError("waits for a pipe or a device")

    pipe, huge = tmp_path / "pipe", tmp_path / "huge"
    os.mkfifo(pipe)
    with huge.open("wb") as stream:
        stream.truncate(10**12)
    linked = tmp_path / "linked"
    linked.symlink_to("/dev/zero")
    before = signal.signal(signal.SIGALRM, end_wait)
    signal.alarm(60)
    yield {"a pipe": pipe, "a device": linked, "a folder": tmp_path, "1 TB": huge}
    signal.alarm(0)
    signal.signal(signal.SIGALRM, before)


class Boxes:
    """Answers message boxes as a user does: by the mouse, on the button with the words.

    Parameters
    ----------
    said : list of str
        Texts of the boxes so far; `titles` and `offered` go with them.
    """

    def __init__(self) -> None:
        from PySide6.QtCore import QTimer

        self.said: list[str] = []
        self.titles: list[str] = []
        self.offered: list[list[str]] = []
        self.shown_as_text: list[bool] = []
        self._answers: list[Any] = []
        self.timer = QTimer()
        self.timer.setInterval(5)
        self.timer.timeout.connect(self._look)
        self.timer.start()

    def answer(self, *words: Any) -> None:
        """Words of the buttons to press in the boxes to come, calls that give them, or keys."""
        self._answers.extend(words)

    @property
    def left(self) -> int:
        """Answers to boxes that have not come."""
        return len(self._answers)

    def _look(self) -> None:
        from PySide6.QtCore import Qt
        from PySide6.QtTest import QTest
        from PySide6.QtWidgets import QApplication, QLabel, QMessageBox

        box: Any = QApplication.activeModalWidget()
        if not isinstance(box, QMessageBox) or not box.isVisible():
            return
        buttons = {each.text().replace("&", ""): each for each in box.buttons()}
        label = box.findChild(QLabel, "qt_msgbox_label")
        self.said.append(box.text())
        self.titles.append(box.windowTitle())
        self.offered.append(list(buttons))
        self.shown_as_text.append(label.textFormat() is Qt.TextFormat.PlainText)
        wanted = self._answers.pop(0) if self._answers else "no answer was expected"
        if isinstance(wanted, Qt.Key):
            QTest.keyClick(box, wanted)
            return
        words = wanted if isinstance(wanted, str) else wanted()
        if words in buttons:
            QTest.mouseClick(buttons[words], Qt.MouseButton.LeftButton)
        else:
            self.said.append(f"no button '{words}' in {list(buttons)}")
            box.done(0)


@pytest.fixture
def boxes(qapp: Any) -> Iterator[Boxes]:
    """Message boxes answered by real clicks; each must be expected, and come."""
    made = Boxes()
    yield made
    made.timer.stop()
    assert not [text for text in made.said if text.startswith("no button ")], made.said
    assert made.left == 0, f"{made.left} boxes did not come"
    assert all(made.shown_as_text), made.said
