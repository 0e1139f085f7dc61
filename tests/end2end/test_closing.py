"""Closing the window while something is computed ends the process, whatever its threads do.

The limits are more than ten times what an idle machine takes (0.03 s and 0.15 s).
"""

from __future__ import annotations

import os
import subprocess
import sys
import time
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
EXAMPLE = ROOT / "resources" / "examples" / "classroom-gated-interrupted.burstwise"
PATIENCE = 300.0
WINDOW_GONE = 2.0
PROCESS_GONE = 5.0


@pytest.mark.parametrize("kind", ["evaluation", "chance", "goal"])
def test_the_process_is_gone_soon_after_its_window(kind: str, tmp_path: Path) -> None:
    places = {name: str(tmp_path / name) for name in ("XDG_DATA_HOME", "XDG_CONFIG_HOME")}
    environment = {
        **os.environ,
        **places,
        "QT_QPA_PLATFORM": "offscreen",
        "PYTHONPATH": str(ROOT / ".package"),
    }
    child = subprocess.Popen(
        [sys.executable, str(Path(__file__).with_name("close_while_working.py")), kind, EXAMPLE],
        env=environment,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )
    try:
        # The pipes end with the last process that holds them: those of the search, too.
        told, complaints = child.communicate(timeout=PATIENCE)
        ended = time.time()
    finally:
        child.kill()
    assert child.returncode == 0, complaints
    when = {name: float(at) for name, at in (line.split() for line in told.splitlines())}
    assert when["gone"] - when["close"] < WINDOW_GONE
    assert ended - when["close"] < PROCESS_GONE
    data = tmp_path / "XDG_DATA_HOME" / "burstwise"
    assert list((data / "recovery").iterdir()) == []
    assert "Traceback" not in complaints
    assert (tmp_path / "XDG_CONFIG_HOME" / "burstwise" / "settings.ini").exists()
