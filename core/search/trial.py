"""One design tried: figures between few engine runs while searching, exact ones before it counts.

A trial that only moves what the stage does not see (supply, duty, frequency, cooling) is read from
one table made at the start.
"""

from __future__ import annotations

import math
from collections import deque
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Final

from burstwise.core.design.calibrated import calibrated
from burstwise.core.design.document import Design, value_at, with_values
from burstwise.core.errors import InputError
from burstwise.core.evaluate.evaluation import evaluate, table_resistances
from burstwise.core.evaluate.results import Results
from burstwise.core.findings import Finding
from burstwise.core.interrupter.resolve import DUTY, duty_edits
from burstwise.core.search.hidden import hidden_findings
from burstwise.core.search.sample import Sample, Trial, judged, sample_of
from burstwise.core.search.space import Free
from burstwise.core.search.wish import Wish
from burstwise.core.studies.quick import KnownCorners, known_corners, quick
from burstwise.core.studies.stage_table import StageTable, stage_table

_LINES: Final = (0.85, 1.0)
"""Supplies of a trial's table over its own; the bus sags below it."""
_recent: Final[deque[StageTable]] = deque(maxlen=8)
"""Tables that this process made last: a trial that moves duty or frequency alone reads one."""
_SEEN: Final = ("coil", "device", "drive", "protection", "cooling.ambient")
"""Fields that the stage sees, apart from its supply."""


@dataclass(frozen=True, slots=True)
class Ground:
    """What every trial of one search shares; passed to the processes once.

    Attributes
    ----------
    design : Design
        Design that the search starts from.
    wish : Wish
        What is wanted.
    free : tuple of Free
        What may move.
    ready : StageTable or None
        Table that serves all trials, where only what the stage does not see moves.
    corners : KnownCorners
        What the worst corners of the design ask over the stage as designed; a trial takes them
        over, the full evaluation works its own corners out.
    hidden : tuple of Finding
        Cautions for free fields that measured values hide.
    """

    design: Design
    wish: Wish
    free: tuple[Free, ...]
    ready: StageTable | None = None
    corners: KnownCorners = field(default_factory=KnownCorners)
    hidden: tuple[Finding, ...] = ()


def ground_of(design: Design, wish: Wish, free: tuple[Free, ...]) -> Ground:
    """Ground of a search, with a table where one serves all its trials.

    Raises
    ------
    InputError
        The design cannot be evaluated as it stands and no free field can mend that.
    """
    corners, hidden = _corners(design), hidden_findings(design, free)
    if any(one.path == seen or one.path.startswith(f"{seen}.") for one in free for seen in _SEEN):
        return Ground(design, wish, free, corners=corners, hidden=hidden)
    highest = max([design.supply.voltage, *_supplies(free)])
    lowest = min([design.supply.voltage, *_supplies(free)])
    if any(one.path.startswith("supply.") for one in free):
        lowest = 0.6 * lowest
    lines = [volts / highest for volts in _between(0.8 * lowest, highest)]
    table = stage_table(calibrated(design), highest, lines=lines)
    return Ground(design, wish, free, table, corners, hidden)


def _corners(design: Design) -> KnownCorners:
    """What a design's corners ask; nothing where it cannot be evaluated as it stands."""
    try:
        return known_corners(evaluate(design, verify=False))
    except InputError:
        return KnownCorners()


def _supplies(free: tuple[Free, ...]) -> list[float]:
    return [
        float(x)
        for one in free
        if one.path == "supply.voltage"
        for x in (one.choices if one.choices else (one.low, one.high))
    ]


def _between(low: float, high: float) -> list[float]:
    count = max(4, math.ceil(math.log(high / low) / math.log(1.25)) + 1)
    return [low * (high / low) ** (step / (count - 1)) for step in range(count)]


def check_names(design: Design, wish: Wish) -> None:
    """Check the names of a wish's figures on the design itself.

    Raises
    ------
    InputError
        A name that results do not have, or a design that cannot be evaluated as it stands.
    """
    figures = wish.figures(_quick(Ground(design, wish, ()), calibrated(design)))
    wish.objective.value(figures)
    for keep in wish.conditions:
        keep.value(figures)


def changed(design: Design, values: Mapping[str, Any]) -> Design:
    """Design with the values of free fields; the duty of timer parts is set by their knob.

    Raises
    ------
    InputError
        The combination is no valid design.
    """
    made = with_values(design, {path: value for path, value in values.items() if path != DUTY})
    if DUTY in values:
        made = with_values(made, duty_edits(made, float(values[DUTY])))
    return made


def differing(design: Design, other: Design, values: Mapping[str, Any]) -> dict[str, Any]:
    """Paths and values that lead from one design to another, among those that a search moves."""
    paths = [*values]
    if DUTY in paths:
        paths += [path for path in duty_edits(other, float(values[DUTY])) if path not in paths]
    return {
        path: value_at(other, path)
        for path in paths
        if value_at(other, path) != value_at(design, path)
    }


def tried(ground: Ground, values: Mapping[str, Any]) -> Trial:
    """Trial from few engine runs, or from the shared table, in the corners of the start."""
    return judged(sampled(ground, values), ground.wish, ground.corners)


def sampled(ground: Ground, values: Mapping[str, Any]) -> Sample:
    """Figures of the stage as designed, from few engine runs or from the shared table."""
    try:
        design = calibrated(changed(ground.design, values))
        results = _quick(ground, design)
    except (InputError, ArithmeticError):
        return Sample(dict(values), None)
    return sample_of(values, results, ground.wish)


def confirmed(ground: Ground, values: Mapping[str, Any]) -> tuple[Sample, Results | None]:
    """Figures of the full evaluation with its half-step check, and its results.

    Results are None where the combination is no design.
    """
    try:
        results = evaluate(changed(ground.design, values))
    except InputError:
        return Sample(dict(values), None, exact=True), None
    return sample_of(values, results, ground.wish, exact=True), results


def _quick(ground: Ground, design: Design) -> Results:
    if ground.ready is not None:
        return quick(design, ground.ready)
    for recent in _recent:
        # Made for this very stage and supply, so that the answer is the one of a table of its own.
        if recent.table.voltages[-1] == design.supply.voltage and recent.serves(
            design, highest=design.supply.voltage
        ):
            return quick(design, recent)
    ohms = table_resistances(design)
    few = ohms[:2] if design.drive.kind == "gated" else [ohms[0], ohms[len(ohms) // 2], ohms[-1]]
    ready = stage_table(design, design.supply.voltage, lines=_LINES, ohms=few, refine=0, workers=1)
    _recent.append(ready)
    return quick(design, ready)
