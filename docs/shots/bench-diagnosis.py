"""Bench: causes of what deviates, ranked."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from bench import fill

from burstwise.core.bench.fault_stage import sound_stage
from burstwise.core.bench.faults import Fault, with_fault
from burstwise.core.stage.circuit import StageCircuit

SCREEN = "Bench"
OPENS = "classroom-gated-interrupted.burstwise"


def prepare(window: Any, screen: Any, wait: Callable[[Callable[[], bool]], None]) -> None:
    """Put readings of a faulty build into the table and diagnose."""

    def slipped(design: Any) -> StageCircuit:
        return with_fault(sound_stage(design), Fault.SLIPPED_COUPLING, 0.65)

    fill(window, wait, made=slipped)
    screen.tabs.setCurrentWidget(screen.diagnosis)
    screen.diagnosis.work.start.click()
    wait(lambda: screen.diagnosis.result is not None)
