"""Tables that let the picture follow a drag at once, kept beside the full evaluation.

The window evaluates twice: a quick picture from a standing carrier table within the drag's own
frame, and the full evaluation off the GUI thread once the hand rests. Nothing here computes; it
decides which table is still good.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from burstwise.app.worker import Task
from burstwise.core.design.calibrated import calibrated
from burstwise.core.design.document import Design
from burstwise.core.errors import InputError

if TYPE_CHECKING:
    from burstwise.core.evaluate.results import Results
    from burstwise.core.studies.bands import Bands, ScatteredStage
    from burstwise.core.studies.first_break import CornerTable, FirstBreak
    from burstwise.core.studies.quick import KnownCorners
    from burstwise.core.studies.stage_table import StageTable

REACHES: Final = (12.0, 24.0, 40.0, 60.0, 100.0, 160.0, 250.0, 400.0)
"""Upper ends that the supply's slider may have [V]."""
_ROOM: Final = 1.5
AHEAD: Final = 24
"""Supplies looked at on each side of the present one for what breaks first."""

EACH: Final = 2
"""One in so many quick pictures of a drag looks ahead, in one stage of all: the design or one of
its corners. All of them at once would cost as much as a frame may."""
MARKED: Final = 3
"""Ratings whose break is marked on the supply's slider."""


@dataclass(frozen=True, slots=True)
class Ahead:
    """What breaks first in words, and titles with supplies [V] of the first few breaks."""

    words: str = ""
    breaks: tuple[tuple[str, float], ...] = ()


def supply_reach(voltage: float) -> float:
    """Upper end of the supply's slider for a design's supply voltage [V].

    Examples
    --------
    >>> supply_reach(36.0), supply_reach(390.0)
    (60.0, 400.0)
    """
    return next((reach for reach in REACHES if reach >= _ROOM * voltage), REACHES[-1])


class LiveModel:
    """Carrier tables of the design in hand.

    `evaluate` and `prepare` run in threads of their own, `glimpse` in the window's; each swaps or
    reads whole references, which needs no lock.
    """

    def __init__(self) -> None:
        self._drag_pictures = 0
        self._looks: tuple[tuple[FirstBreak, ...], ...] = ()
        """What breaks as designed, then in each corner."""
        self._near: StageTable | None = None
        self._wide: StageTable | None = None
        self._live: StageTable | None = None
        self._known: KnownCorners | None = None
        self._beside: tuple[CornerTable, ...] = ()
        self._scattered: ScatteredStage | None = None

    def evaluate(self, design: Design, task: Task) -> Results:
        """Full evaluation; its table serves the next drags."""
        from burstwise.core.evaluate import evaluate
        from burstwise.core.studies.quick import known_corners, merged, near_table, reaches

        task.check()
        if self._near is None:
            task.progress(0.1, "Starting the engine")
        results = evaluate(design)
        design = results.design
        self._known = known_corners(results)
        near = self._near = near_table(results)
        wide = self._wide
        self._live = merged(wide, near) if wide is not None and reaches(wide, design) else near
        return results

    def glimpse(self, design: Design) -> Results | None:
        """Quick picture of a design, None while no table serves it."""
        live = self._live
        if live is None:
            return None
        from burstwise.core.studies.quick import quick, reaches

        try:
            design = calibrated(design)
        except InputError:  # told by the full evaluation
            return None
        return quick(design, live, corners=self._known) if reaches(live, design) else None

    def ahead(self, results: Results, *, during_drag: bool = False) -> Ahead:
        """What breaks as the supply rises; nothing while no table knows.

        Parameters
        ----------
        results : Results
            Of the design.
        during_drag : bool
            During a drag: one in `EACH` looks anew in one stage, in turns; what the others broke
            at was looked at a few pictures ago, and only the distance is told anew.
        """
        wide = self._wide
        design = results.design
        if wide is None or not results.carrier.oscillates:
            return Ahead()
        from burstwise.core.studies.first_break import break_words, breaks_in_stage, first_of_each

        if not wide.serves(design, highest=design.supply.voltage):
            return Ahead()
        highest = float(wide.table.voltages[-1])
        stages, looks = (None, *self._beside), list(self._looks)
        during_drag = during_drag and len(looks) == len(stages)
        self._drag_pictures = self._drag_pictures + 1 if during_drag else 0
        for place, stage in enumerate(stages):
            if not during_drag or self._drag_pictures == EACH * (place + 1):
                look = breaks_in_stage(design, wide, corner=stage, points=AHEAD)
                looks[place : place + 1] = [look]
        if self._drag_pictures >= EACH * len(stages):
            self._drag_pictures = 0
        self._looks = tuple(looks[: len(stages)])
        found = first_of_each(self._looks)
        first = found[0] if found else None
        return Ahead(
            break_words(first, design, highest=highest),
            tuple((each.title, each.supply) for each in found[:MARKED]),
        )

    def bands(self, results: Results, task: Task) -> Bands | None:
        """Bands of tolerance; the engine runs only where no scattered stage serves the results.

        Raises
        ------
        StoppedError
            The task was told to stop.
        """
        from burstwise.core.studies.bands import bands, scattered_stage

        task.check()
        stage = self._scattered
        if stage is None or not stage.serves(results):
            stage = self._scattered = scattered_stage(results)
        return bands(results, stage)

    def prepare(self, design: Design, task: Task) -> None:
        """Make the wide table of a design unless one stands that serves it.

        Raises
        ------
        StoppedError
            The task was told to stop.
        """
        from burstwise.core.studies.first_break import corner_tables
        from burstwise.core.studies.quick import merged, moved_to, same_stage
        from burstwise.core.studies.stage_table import stage_table

        design = calibrated(design)
        reach = supply_reach(design.supply.voltage)
        wide = self._wide
        if wide is not None and wide.serves(design, highest=reach):
            return
        if (
            wide is not None
            and wide.table.voltages[-1] >= reach
            and same_stage(wide.design, design)
        ):
            wide = moved_to(wide, design)
        else:
            wide = stage_table(design, reach, progress=lambda _: not task.cancelled)
            self._beside = corner_tables(design, wide, progress=lambda _: not task.cancelled)
        self._wide = wide
        near = self._near
        if near is not None and near.serves(design, highest=0.0):
            self._live = merged(wide, near)
