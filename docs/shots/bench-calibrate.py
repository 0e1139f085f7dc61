"""Bench: fitted parameters, taken over."""

from __future__ import annotations

import importlib.util
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

SCREEN = "Bench"


def _shared() -> Any:
    """The readings and the capture of the first picture."""
    spec = importlib.util.spec_from_file_location("bench_shot", Path(__file__).parent / "bench.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def prepare(window: Any, screen: Any, wait: Callable[[Callable[[], bool]], None]) -> None:
    """Fit readings and capture and take the result over."""
    shared = _shared()
    build = shared.fill(window, wait)
    screen.capture.supply.set_value(24.0)
    with tempfile.TemporaryDirectory() as folder:
        screen.capture.load(shared.capture_of(build, Path(folder)))
        wait(lambda: screen.state.taken is not None)
    screen.tabs.setCurrentWidget(screen.calibrate)
    screen.calibrate.work.start.click()
    wait(lambda: screen.calibrate.result is not None)
    screen.calibrate.take_over.click()
    wait(lambda: not window.session.worker.busy)
