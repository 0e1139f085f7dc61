"""The way of one value that DEVELOPERS.md tells is the way that it takes."""

from __future__ import annotations

import re
import sys
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from types import FrameType

from PySide6.QtCore import Qt

from burstwise.app.screens.operating_point.screen import OperatingPoint
from burstwise.core.design.supply import Supply
from burstwise.core.evaluate import evaluate

ROOT = Path(__file__).parents[2]
PART = (ROOT / "DEVELOPERS.md").read_text("utf-8").split("## One value's way")[1].split("\n## ")[0]
STOPS = re.findall(r"^\d+\. `([\w/]+\.py)`, `([\w.]+)`", PART, re.MULTILINE)


@contextmanager
def passed(calls: set[tuple[str, str]]) -> Iterator[None]:
    """Functions called meanwhile, by file and name, in this thread and in those that begin."""

    def note(frame: FrameType, event: str, _argument: object) -> None:
        if event == "call":
            code = frame.f_code
            calls.add((code.co_filename, code.co_qualname))

    threading.setprofile(note)
    sys.setprofile(note)
    try:
        yield
    finally:
        sys.setprofile(None)
        threading.setprofile(None)


def test_supply_voltage_passes_each_stop_from_slider_to_plot(full_session, theme, qtbot) -> None:
    """The first stop is the field's declaration; the others are functions, or classes of some."""
    assert len(STOPS) == 10
    assert STOPS[0] == ("core/design/supply.py", Supply.__name__)
    assert "voltage" in Supply.model_fields
    session, calls = full_session, set()
    evaluate(session.document.design)  # compiles what is not, which takes long
    with passed(calls):
        # A design that no other test has evaluated.
        session.document.edit("supply.voltage", 33.7)
        page = OperatingPoint(session, theme)
        qtbot.addWidget(page)
        page.show()
        qtbot.waitUntil(lambda: session.latest is not None, timeout=60_000)
        with qtbot.waitSignal(session.evaluated, timeout=60_000):
            qtbot.keyClick(page.controls.supply.slider, Qt.Key.Key_Right)
    files = {(Path(file).resolve(), name) for file, name in calls}
    missed = [
        (file, stop)
        for file, stop in STOPS[1:]
        if not any(
            path == ROOT / file and (name == stop or name.startswith(f"{stop}."))
            for path, name in files
        )
    ]
    assert missed == []
