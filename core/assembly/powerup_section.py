"""Build sheet: the first power-up on paper, with hook-ups and what common faults would read."""

from __future__ import annotations

from burstwise.core.assembly.powerup import Expectation, FaultReadings, PowerupPlan, Stage
from burstwise.core.assembly.sheet import Paragraph, Table
from burstwise.core.bench.faults import Fault

_NOTHING = "–"


class _Said:
    """Stages in which words stood first: what was said once is pointed to, not said again."""

    def __init__(self) -> None:
        self.stage = 0
        self._first: dict[tuple[str, ...], int] = {}

    def before(self, *words: str) -> int:
        """Earlier stage that has these words; 0 if this one says them first."""
        first = self._first.setdefault(words, self.stage)
        return first if first != self.stage else 0

    def cell(self, title: str, word: str, text: str) -> str:
        """Words of a cell, or where they stand."""
        first = self.before(title, word, text) if text else 0
        return f"as in stage {first}" if first else text or _NOTHING


def power_up_section(plan: PowerupPlan) -> tuple[Paragraph | Table, ...]:
    """Blocks of all stages.

    Parameters
    ----------
    plan : PowerupPlan
        The plan.
    """
    blocks: list[Paragraph | Table] = [
        Paragraph(
            "Take the stages in order and never skip one. A reading outside its band means stop, "
            "find out why, and begin the stage again.",
            "caution",
        )
    ]
    said = _Said()
    for number, stage in enumerate(plan.stages, start=1):
        said.stage = number
        blocks.append(Paragraph(f"{number}. {stage.title}", "head"))
        blocks += [Paragraph(action, "item") for action in stage.actions]
        blocks += [_readings(stage, said), *_hookups(stage, said)]
        if stage.faults:
            blocks.append(_faults(stage))
            blocks += [Paragraph(text, "item") for text in _remedies(stage, said)]
        blocks.append(Paragraph(f"{stage.go_on} {stage.stop}"))
    return tuple(blocks)


def _readings(stage: Stage, said: _Said) -> Table:
    return Table(
        ("Reading", "Expected", "Band", "Read", "If lower", "If higher"),
        tuple(
            (
                item.title,
                item.text(item.expected, digits=3),
                item.band_text,
                "________",
                said.cell(item.title, "low", item.if_low),
                said.cell(item.title, "high", item.if_high),
            )
            for item in stage.expectations
        ),
        (20, 10, 15, 11, 22, 24),
    )


def _hookups(stage: Stage, said: _Said) -> list[Paragraph | Table]:
    """Hook-ups that are new in a stage, and where the others stand."""
    rows = [
        (
            item.title,
            item.hookup.tip or _NOTHING,
            item.hookup.clip or _NOTHING,
            item.hookup.instrument,
        )
        for item in stage.expectations
    ]
    earlier = {row: said.before(*row) for row in rows}
    new = tuple(row for row in rows if not earlier[row])
    blocks: list[Paragraph | Table] = []
    if new:
        blocks.append(Table(("Reading", "Tip at", "Clip at", "Instrument"), new, (6, 4, 4, 5)))
    stages = sorted({first for first in earlier.values() if first})
    if stages:
        which = " and ".join(map(str, stages))
        words = "The other readings are" if new else "All readings are"
        blocks.append(Paragraph(f"{words} hooked up as in stage {which}."))
    return blocks


def _faults(stage: Stage) -> Table:
    """Readings of a good build and of each fault, over its sizes."""
    columns = [
        item for item in stage.expectations if any(item.name in one.values for one in stage.faults)
    ]
    rows = [("good build", *(item.text(item.expected, digits=3) for item in columns))]
    for fault in dict.fromkeys(one.fault for one in stage.faults):
        sizes = [one for one in stage.faults if one.fault is fault]
        rows.append((fault.value, *(_over_sizes(item, sizes) for item in columns)))
    heads = tuple(item.name.replace("_", " ") for item in columns)
    return Table(("What it would read", *heads), tuple(rows), (3, *(2 for _ in columns)))


def _over_sizes(item: Expectation, sizes: list[FaultReadings]) -> str:
    values = sorted(one.values[item.name] for one in sizes if item.name in one.values)
    if not values:
        return _NOTHING
    ends = [values[0]] if values[0] == values[-1] else [values[0], values[-1]]
    return " to ".join(dict.fromkeys(item.text(end, digits=3) for end in ends))


def _remedies(stage: Stage, said: _Said) -> list[str]:
    """What to do about each fault, with the power that it would take; known remedies together."""
    new: dict[Fault, str] = {}
    known: dict[Fault, str] = {}
    first = 0
    for one in stage.faults:
        if one.fault in new or one.fault in known:
            continue
        words = f"{one.fault.value.capitalize()}: {one.fault.remedy}"
        earlier = said.before(words)
        if earlier:
            first = earlier
            known[one.fault] = f"{one.fault.value}: {one.heat}" if one.heat else ""
        else:
            new[one.fault] = f"{words} Power then: {one.heat}." if one.heat else words
    if not known:
        return list(new.values())
    heats = "; ".join(filter(None, known.values()))
    power = f" Power then: {heats}." if heats else ""
    return [*new.values(), f"What to do about the others: as in stage {first}.{power}"]
