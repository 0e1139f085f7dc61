"""The stages of the first power-up of a design, with what the model expects at each."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

from burstwise.core.assembly.low_voltage_parts import low_voltage_fitted, made_from_main
from burstwise.core.assembly.parts import PartsList, parts_list
from burstwise.core.assembly.powerup import PowerupPlan
from burstwise.core.assembly.powerup_coil import CoilStages
from burstwise.core.assembly.powerup_cold import (
    before_power,
    coil_alone,
    driver,
    gate_bias,
    low_voltage,
)
from burstwise.core.assembly.powerup_faults import FaultRuns
from burstwise.core.design.document import Design, field_info, with_values
from burstwise.core.evaluate import evaluate
from burstwise.core.evaluate.results import Results
from burstwise.core.interrupter.resolve import resolved_interrupter

LOW_SUPPLY: Final = 0.3
MIDDLE_SUPPLY: Final = 0.6
"""Supply of the first stages with the coil, over the design's."""
LOW_DUTY: Final = 0.1


def powerup_plan(
    results: Results, parts: PartsList | None = None, *, check: Callable[[], None] = lambda: None
) -> PowerupPlan:
    """Plan of a design from bare resistance checks up to its own operating point.

    Parameters
    ----------
    results : Results
        Evaluated design; its own carrier table serves the stages above `MIDDLE_SUPPLY`.
    parts : PartsList, optional
        Its parts; made here if not given.
    check : callable
        Called before each run of the engine with a fault; may raise to stop.
    """
    parts = parts or parts_list(results)
    stages = [before_power(results, parts), coil_alone(results)]
    if low_voltage_fitted(parts.by_role):
        stages.append(low_voltage(results, parts))
    stages.append(driver(results) if "driver" in parts.by_role else gate_bias(results))
    made = CoilStages(results, parts, FaultRuns(results.carrier.circuit, check), stages)
    bursts = results.design.interrupter.enabled
    stages += [made.stage(name, at, with_duty=bursts) for name, at in stages_with_coil(results)]
    if made_from_main(parts.by_role):
        stages.append(made.linked())
    return PowerupPlan(tuple(stages))


def stages_with_coil(results: Results) -> list[tuple[str, Results]]:
    """Names and evaluations of the stages with the coil, from the lowest supply upwards."""
    return [
        (name, stage_results(results, volts, duty)) for name, volts, duty in _points(results.design)
    ]


def _points(design: Design) -> list[tuple[str, float, float | None]]:
    """Names, supplies [V] and duties of the stages with the coil; no two in a row are alike.

    The first and the last are always there: they tell what is done once, and the design's figures.
    """
    full, least = design.supply.voltage, float(field_info("supply.voltage")["low"])
    low, middle = (max(round(share * full, 3), least) for share in (LOW_SUPPLY, MIDDLE_SUPPLY))
    points: list[tuple[str, float, float | None]]
    if not design.interrupter.enabled:
        points = [("low", low, None), ("middle", middle, None), ("full", full, None)]
    else:
        duty = resolved_interrupter(design).duty
        little = min(LOW_DUTY, duty)
        points = [
            ("low", low, little),
            ("middle", middle, little),
            ("middle-duty", middle, duty),
            ("full", full, duty),
        ]
    first, *between, last = points
    kept = [first]
    for point in between:
        if point[1:] not in (kept[-1][1:], last[1:]):
            kept.append(point)
    return [*kept, last]


def stage_results(results: Results, volts: float, duty: float | None) -> Results:
    """Evaluation of a stage with the coil; the design's own point is not run again."""
    design = results.design
    if volts == design.supply.voltage and (duty is None or duty == results.duty):
        return results
    values: dict[str, object] = {"supply.voltage": volts}
    if duty is not None:
        values["interrupter.given_by"] = "numbers"
        values["interrupter.frequency"] = resolved_interrupter(design).frequency
        values["interrupter.duty"] = duty
    reached = volts > float(results.table.voltages[0])
    at = with_values(design, values)
    return evaluate(at, table=results.table if reached else None, verify=False)
