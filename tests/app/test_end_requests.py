"""What Ctrl+C and the system's request to end do to a window: nothing half done, nothing lost."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from burstwise.app.end_requests import EndRequests

NAMES = [name for name in ("SIGINT", "SIGTERM", "SIGHUP") if hasattr(signal, name)]


@pytest.mark.parametrize("name", NAMES)
def test_a_signal_is_told_out_of_the_loop_and_raises_nowhere(qapp, qtbot, name: str) -> None:
    number = getattr(signal, name)
    found = signal.signal(number, signal.SIG_DFL)  # a shell's job in the background ignores some
    before = signal.getsignal(number)
    requests = EndRequests()
    told: list[int] = []
    requests.asked.connect(told.append)
    try:
        signal.raise_signal(number)
        sum(range(1000))  # where an interrupt would come up
        assert told == []
        qtbot.waitUntil(lambda: told == [number])
    finally:
        requests.remove()
        restored = signal.signal(number, found)
    assert restored == before


def test_a_signal_that_is_ignored_stays_ignored(qapp, qtbot) -> None:
    before = signal.signal(signal.SIGTERM, signal.SIG_IGN)
    requests = EndRequests()
    told: list[int] = []
    requests.asked.connect(told.append)
    try:
        assert signal.getsignal(signal.SIGTERM) is signal.SIG_IGN
        signal.raise_signal(signal.SIGTERM)
        qtbot.wait(50)
        assert told == []
    finally:
        requests.remove()
        signal.signal(signal.SIGTERM, before)


INTERRUPTED = """
import os, signal
import burstwise.app.launch as launch

def start_work(window, file, problem):
    assert not problem, problem
    window.session.document.edit("supply.voltage", 41.0)
    os.kill(os.getpid(), signal.SIGINT)

signal.signal(signal.SIGINT, signal.default_int_handler)
launch._start_work = start_work
launch.open_window(None)
"""


@pytest.mark.skipif(os.name != "posix", reason="signals between processes as POSIX has them")
def test_an_interrupted_window_leaves_its_unsaved_work_for_the_next_start(tmp_path: Path) -> None:
    places = {"XDG_DATA_HOME": str(tmp_path), "XDG_CONFIG_HOME": str(tmp_path)}
    ended = subprocess.run(
        [sys.executable, "-c", INTERRUPTED],
        env={**os.environ, **places}, capture_output=True, text=True, check=False, timeout=120,
    )  # fmt: skip
    assert ended.returncode == 128 + signal.SIGINT, ended.stderr
    assert "Traceback" not in ended.stderr
    (copy,) = (tmp_path / "burstwise" / "recovery").glob("*.json")
    design = json.loads(json.loads(copy.read_text(encoding="utf-8"))["design"])
    assert design["supply"]["voltage"] == 41.0
