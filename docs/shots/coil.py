"""Coil: a larger example with its results, and a measured breakout voltage that overrides."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

SCREEN = "Coil"
OPENS = "demonstration-gated-large.burstwise"


def prepare(window: Any, screen: Any, wait: Callable[[Callable[[], bool]], None]) -> None:
    """Wait for its coil."""
    design = window.session.document.design
    wait(lambda: screen.work.latest is not None and screen.work.latest.design is design)
