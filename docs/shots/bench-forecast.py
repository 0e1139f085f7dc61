"""Bench: which rating is reached first."""

from __future__ import annotations

import importlib.util
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
    """Fill the table and wait for the forecast."""
    shared = _shared()
    shared.fill(window, wait)
    screen.tabs.setCurrentWidget(screen.forecast)
    wait(lambda: screen.forecast.told is not None and not screen.forecast.worker.busy)
