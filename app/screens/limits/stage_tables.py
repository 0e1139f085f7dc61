"""Carrier tables of the stage in hand, made once and shared by the panels."""

from __future__ import annotations

import threading
from collections.abc import Callable

from burstwise.core.design.document import Design
from burstwise.core.studies.fail_order import HIGHEST_SUPPLY, reach_of
from burstwise.core.studies.stage_table import StageTable, stage_table


class StageTables:
    """Keeps the last table; a design that it serves does not wait."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._last: StageTable | None = None

    def is_ready(self, design: Design, *, highest: float = 0.0) -> bool:
        """Whether `table` would not have to wait."""
        last = self._last
        wanted = max(reach_of(design), highest)
        return last is not None and last.serves(design, highest=wanted)

    def table(
        self, design: Design, *, highest: float = 0.0, progress: Callable[[float], bool]
    ) -> StageTable:
        """Table that serves a design up to at least three times its supply, or `highest` [V]."""
        wanted = max(reach_of(design), highest)
        with self._lock:
            last = self._last
            fits = last is not None and last.serves(design, highest=wanted)
            if last is not None and fits and last.table.voltages[-1] <= 2.0 * wanted:
                return last
            made = stage_table(design, min(1.15 * wanted, HIGHEST_SUPPLY), progress=progress)
            self._last = made
            return made
