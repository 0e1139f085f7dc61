"""Bench: causes of what deviates, ranked."""

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
    """Put readings of a faulty build into the table and diagnose."""
    shared = _shared()
    from core.bench.faults import Fault, with_fault

    shared.build_of = lambda design: with_fault(
        shared.sound_stage(design), Fault.SLIPPED_COUPLING, 0.65
    )
    shared.fill(window, wait)
    screen.tabs.setCurrentWidget(screen.diagnosis)
    screen.diagnosis.work.start.click()
    wait(lambda: screen.diagnosis.told is not None)
