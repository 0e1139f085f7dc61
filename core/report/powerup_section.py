"""Build sheet: the first power-up on paper, with hook-ups and what common faults would read."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

from burstwise.core.assembly.hookup import Hookup
from burstwise.core.assembly.powerup import Expectation, FaultReadings, PowerupPlan, Stage
from burstwise.core.bench.faults import Fault
from burstwise.core.report.sheet import Paragraph, Table

_NOTHING: Final = "–"
_FEW: Final = 5
"""Most columns of figures that stand in one table with what they mean."""


class _FirstMention:
    """Stages in which words stood first: what was said once is pointed to, not said again."""

    def __init__(self) -> None:
        self.stage = 0
        self._first: dict[tuple[str, ...], int] = {}

    def before(self, *words: str) -> int:
        """Earlier stage that has these words; 0 if this one says them first."""
        first = self._first.setdefault(words, self.stage)
        return first if first != self.stage else 0

    def cell(self, name: str, what: str, text: str) -> str:
        """Words of a cell, or where they stand."""
        first = self.before(name, what, text) if text else 0
        return f"as in stage {first}" if first else text or _NOTHING


def power_up_section(plan: PowerupPlan) -> tuple[Paragraph | Table, ...]:
    """Blocks of all stages.

    Parameters
    ----------
    plan : PowerupPlan
        The plan.
    """
    stops = " ".join(dict.fromkeys(stage.stop for stage in plan.stages if stage.stop))
    blocks: list[Paragraph | Table] = [
        Paragraph(
            "Take the stages in order and never skip one. A reading outside its band means stop, "
            f"find out why, and begin the stage again. In every stage: {stops}",
            "caution",
        )
    ]
    said = _FirstMention()
    for number, stage in enumerate(plan.stages, start=1):
        said.stage = number
        blocks.append(Paragraph(f"{number}. {stage.title}", "head"))
        blocks += [Paragraph(action, "item") for action in stage.actions]
        blocks += _readings(stage, said)
        blocks += [Paragraph(text, "item") for text in _remedies(stage, said)]
        blocks.append(Paragraph(stage.go_on))
    return tuple(blocks)


def _readings(stage: Stage, said: _FirstMention) -> list[Paragraph | Table]:
    """Figures of a stage beside what faults would read; how to read them is said once.

    Both stand in one table where few faults show.
    """
    figures, meanings = _figures(stage), _meanings(stage, said)
    if len(figures.head) > _FEW:
        told = tuple(row for row in meanings.rows if set(row[1:]) - {_NOTHING} - _pointers(row))
        stages = sorted({word.split()[-1] for row in meanings.rows for word in _pointers(row)})
        blocks: list[Paragraph | Table] = [figures]
        if stages:
            which = " and ".join(stages)
            words = f"Leads, and what readings outside the band mean: as in stage {which}"
            blocks.append(Paragraph(f"{words}, but for these." if told else f"{words}."))
        if told:
            blocks.append(replace(meanings, rows=told))
        return blocks
    (title, *figure_heads), (_, *meaning_heads) = figures.head, meanings.head
    return [
        Table(
            (title, *figure_heads, *meaning_heads),
            tuple((*one, *two[1:]) for one, two in zip(figures.rows, meanings.rows, strict=True)),
            (*figures.widths, *meanings.widths[1:]),
        )
    ]


def _pointers(row: tuple[str, ...]) -> set[str]:
    return {cell for cell in row if cell.startswith("as in stage")}


def _figures(stage: Stage) -> Table:
    """Readings with their bands, room to write, and what a build with each fault would read."""
    faults = dict.fromkeys(one.fault for one in stage.faults)
    sizes = {fault: [one for one in stage.faults if one.fault is fault] for fault in faults}
    return Table(
        ("Reading", "Expected", "Band", "Read", *(f"If {fault.value}" for fault in faults)),
        tuple(
            (
                item.title,
                item.text(item.expected, digits=3),
                item.band_text,
                "______",
                *(_over_sizes(item, sizes[fault]) for fault in faults),
            )
            for item in stage.expectations
        ),
        (28, 9, 12, 9, *(10 for _ in faults)),
    )


def _meanings(stage: Stage, said: _FirstMention) -> Table:
    """Where the leads go for each reading, and what one outside its band means."""
    return Table(
        ("Reading", "Leads and instrument", "If lower", "If higher"),
        tuple(
            (
                item.title,
                said.cell(item.name, "leads", _leads(item.hookup)),
                said.cell(item.name, "low", item.if_low),
                said.cell(item.name, "high", item.if_high),
            )
            for item in stage.expectations
        ),
        (28, 30, 30, 32),
    )


def _leads(hookup: Hookup) -> str:
    tip = f"tip: {hookup.tip}; " if hookup.tip else ""
    clip = f"clip: {hookup.clip}; " if hookup.clip else ""
    return f"{tip}{clip}{hookup.instrument}"


def _over_sizes(item: Expectation, sizes: list[FaultReadings]) -> str:
    values = sorted(one.values[item.name] for one in sizes if item.name in one.values)
    if not values:
        return _NOTHING
    ends = [values[0]] if values[0] == values[-1] else [values[0], values[-1]]
    return " to ".join(dict.fromkeys(item.text(end, digits=3) for end in ends))


def _remedies(stage: Stage, said: _FirstMention) -> list[str]:
    """What to do about each fault, with the power that it would take; known remedies together."""
    new: dict[Fault, str] = {}
    known: dict[Fault, tuple[int, str]] = {}
    for one in stage.faults:
        if one.fault in new or one.fault in known:
            continue
        words = f"{one.fault.value.capitalize()}: {one.fault.remedy}"
        earlier = said.before(words)
        if earlier:
            known[one.fault] = (earlier, f"{one.fault.value}: {one.heat}" if one.heat else "")
        else:
            new[one.fault] = f"{words} Power then: {one.heat}." if one.heat else words
    if not known:
        return list(new.values())
    where: dict[int, list[str]] = {}
    for fault, (stage_number, _) in known.items():
        where.setdefault(stage_number, []).append(fault.value)
    told = "; ".join(
        f"{', '.join(names)} as in stage {number}" for number, names in sorted(where.items())
    )
    heats = "; ".join(heat for _, heat in known.values() if heat)
    power = f" Power then: {heats}." if heats else ""
    return [*new.values(), f"What to do: {told}.{power}"]
