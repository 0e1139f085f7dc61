"""Coil: a larger example with its results, and a measured breakout voltage that overrides."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from app.wiring import examples_folder

SCREEN = "Coil"


def prepare(window: Any, screen: Any, wait: Callable[[Callable[[], bool]], None]) -> None:
    """Open the example and wait for its coil and its evaluation."""
    window.files.open_example(examples_folder() / "demonstration-gated-large.burstwise")
    design = window.session.document.design
    wait(lambda: screen.work.latest is not None and screen.work.latest.design is design)
    wait(lambda: not window.session.worker.busy)
