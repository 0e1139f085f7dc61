"""Build sheet: the first power-up on paper, with hook-ups and what common faults would read."""

from __future__ import annotations

from core.assembly.powerup import Expectation, FaultReadings, PowerupPlan, Stage
from core.assembly.sheet import Paragraph, Table
from core.bench.faults import Fault

_NOTHING = "–"


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
    for number, stage in enumerate(plan.stages, start=1):
        blocks.append(Paragraph(f"{number}. {stage.title}", "head"))
        blocks += [Paragraph(action, "item") for action in stage.actions]
        blocks += [_readings(stage), _hookups(stage)]
        if stage.faults:
            blocks.append(_faults(stage))
            blocks += [Paragraph(text, "item") for text in _remedies(stage)]
        blocks.append(Paragraph(f"{stage.go_on} {stage.stop}"))
    return tuple(blocks)


def _readings(stage: Stage) -> Table:
    return Table(
        ("Reading", "Expected", "Band", "Read", "If lower", "If higher"),
        tuple(
            (
                item.title,
                item.text(item.expected, digits=3),
                item.band_text,
                "________",
                item.if_low or _NOTHING,
                item.if_high or _NOTHING,
            )
            for item in stage.expectations
        ),
        (20, 10, 15, 11, 22, 24),
    )


def _hookups(stage: Stage) -> Table:
    return Table(
        ("Reading", "Tip at", "Clip at", "Instrument"),
        tuple(
            (
                item.title,
                item.hookup.tip or _NOTHING,
                item.hookup.clip or _NOTHING,
                item.hookup.instrument,
            )
            for item in stage.expectations
        ),
        (6, 4, 4, 5),
    )


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


def _remedies(stage: Stage) -> list[str]:
    said: dict[Fault, str] = {}
    for one in stage.faults:
        power = f" Power then: {one.heat}." if one.heat else ""
        said.setdefault(one.fault, f"{one.fault.value.capitalize()}: {one.fault.remedy}{power}")
    return list(said.values())
