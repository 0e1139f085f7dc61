"""The window's job done by the real core; what is heavy of it is imported when first computed."""

from __future__ import annotations

import math
from collections.abc import Mapping
from importlib import resources
from pathlib import Path
from typing import TYPE_CHECKING, Final

from burstwise.app.live import Ahead, LiveModel
from burstwise.app.session import Job, Summary
from burstwise.app.worker import Task
from burstwise.core import storage
from burstwise.core.design.document import Design, value_at, with_values
from burstwise.core.errors import InputError
from burstwise.core.findings import Severity
from burstwise.core.units import percent, shown

if TYPE_CHECKING:
    from burstwise.core.evaluate.results import Results
    from burstwise.core.limits.ratings import Limit

NEW_FROM: Final = "classroom-gated-interrupted.burstwise"
"""Example that a new design starts from."""
NOT_KNOWN: Final = Ahead()
"""While no table says what breaks first."""


def design_job() -> Job:
    """All that the window needs, on the real core."""
    live = LiveModel()

    def evaluate(design: Design, task: Task) -> Results:
        return live.evaluate(design, task)

    def summarise(results: Results, *, during_drag: bool = False) -> Summary:
        return summary_of(results, ahead=live.ahead(results, during_drag=during_drag))

    return Job(
        new=new_design,
        load=storage.load,
        save=storage.save,
        to_text=storage.text_of,
        from_text=storage.design_from_text,
        with_values=with_values,
        value_at=value_at,
        evaluate=evaluate,
        summarise=summarise,
        examples=examples,
        glimpse=live.glimpse,
        prepare=live.prepare,
        bands=live.bands,
    )


def examples_folder() -> Path:
    """Directory of the example designs."""
    return Path(str(resources.files("burstwise.resources") / "examples"))


def new_design() -> Design:
    """Design to start from: a small coil that works, under a name of its own."""
    example = storage.load(examples_folder() / NEW_FROM)
    return with_values(example, {"name": "New design", "notes": ""})


def examples() -> Mapping[str, Path]:
    """Example files by the name of the design in them; one that cannot be read is left out."""
    found: dict[str, Path] = {}
    for file in sorted(examples_folder().glob(f"*{storage.SUFFIX}")):
        try:
            found[storage.load(file).name] = file
        except InputError:
            continue
    return found


def summary_of(results: Results, *, ahead: Ahead = NOT_KNOWN) -> Summary:
    """What the standing strip says about some results.

    Parameters
    ----------
    results : Results
        The results.
    ahead : Ahead
        What breaks as the supply rises; empty while that is not known.
    """
    first = results.first_limit
    severity = first.severity
    stopped = any(finding.severity is Severity.STOP for finding in results.findings)
    return Summary(
        now=_now(results),
        first_limit=_first_limit(first),
        margin=_distance(first),
        severity=severity,
        findings=results.findings,
        stopped=stopped and (severity is not Severity.STOP or not results.carrier.oscillates),
        first_break=ahead.words,
        breaks=ahead.breaks,
    )


_NOTHING: Final = 1e-6
"""Least current [A] or power [W] that is worth a word."""


def _now(results: Results) -> str:
    from burstwise.core.studies.quick import drawn_on

    run = results.carrier
    if not run.oscillates:
        drawn, power = run.supply_current_mean, run.device_power
        if max(drawn, power) < _NOTHING:  # what rounding leaves may lie below zero
            return "Does not oscillate: next to nothing drawn"
        return (
            f"Does not oscillate: {shown(drawn, 'A', digits=3)} drawn, "
            f"{shown(power, 'W', digits=3)} into the device"
        )
    said = (
        f"Oscillates at {shown(run.frequency, 'Hz', digits=4)}, "
        f"{shown(results.average_power, 'W', digits=3)} on average, "
        f"top {shown(run.top_voltage_peak, 'V', digits=3)} peak"
    )
    return f"{said}; heat of so hot a device drawn on, not computed" if drawn_on(results) else said


def _first_limit(first: Limit) -> str:
    from burstwise.core.limits.ratings import AS_DESIGNED

    where = "" if first.corner == AS_DESIGNED else f" ({first.corner})"
    if math.isinf(first.value):
        return f"{first.title} runs away{where}"
    value = shown(first.value, first.unit, digits=3)
    return f"{first.title} {value} of {shown(first.limit, first.unit, digits=3)}{where}"


def _distance(first: Limit) -> str:
    if math.isinf(first.value):
        return "No stable temperature: less duty, less supply or better cooling"
    gap = shown(abs(first.limit - first.value), first.unit, digits=2)
    share = percent(abs(first.margin))
    word = "in hand" if first.margin >= 0 else "too much"
    of = "the rise above ambient" if first.unit == "°C" else ""
    if share.endswith("times"):
        return f"{gap} {word}, {share} {of or 'the limit'}"
    return f"{gap} {word}, {share}{' of ' if of else ''}{of}"
