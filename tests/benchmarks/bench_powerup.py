"""First power-up under common faults: what each stage reads, and whether the plan names them.

Prints, for each example and each stage with the coil, the readings of the good build and of the
common faults, then for seeded builds with tolerance and instrument error how often a good build
passes and a fault is named. Run from the repository's root:

    python tests/benchmarks/bench_powerup.py [builds [seed]]
"""

from __future__ import annotations

import math
import sys
import time
from collections import Counter
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path

import numpy as np

from burstwise.core.assembly.bus_loads import bleed_current
from burstwise.core.assembly.parts import parts_list
from burstwise.core.assembly.powerup import PowerupPlan, Stage, judge
from burstwise.core.assembly.powerup_faults import METERS
from burstwise.core.assembly.powerup_naming import named_fault
from burstwise.core.assembly.powerup_stages import powerup_plan, stages_with_coil
from burstwise.core.assembly.stage_readings import StagePoint, readings_of, stage_point
from burstwise.core.bench.faults import Fault, with_fault
from burstwise.core.evaluate import evaluate
from burstwise.core.evaluate.results import Results
from burstwise.core.stage.carrier import carrier
from burstwise.core.stage.circuit import StageCircuit
from burstwise.core.storage import load

EXAMPLES = Path(__file__).parents[2] / "resources" / "examples"
SIZES = {
    Fault.SHORTED_TURN: (0.85, 0.97),
    Fault.EARLY_BREAKOUT: (0.4, 0.7),
}


def varied(circuit: StageCircuit, random: np.random.Generator) -> StageCircuit:
    """A build within its usual tolerances; common practice, no source.

    Standard deviations of 4 % of coupling and 2 % of capacitance; loss within 15 %, on-resistance
    within 10 %, breakout within 8 %.
    """
    coil = replace(
        circuit.coil,
        coupling=circuit.coil.coupling * (1.0 + 0.04 * random.standard_normal()),
        secondary_resistance=circuit.coil.secondary_resistance * random.uniform(0.85, 1.15),
        secondary_capacitance=circuit.coil.secondary_capacitance
        * (1.0 + 0.02 * random.standard_normal()),
        breakout_voltage=circuit.coil.breakout_voltage * random.uniform(0.92, 1.08),
    )
    return replace(circuit, coil=coil).with_on_resistance(
        circuit.switch.on_resistance * random.uniform(0.9, 1.1)
    )


def with_error(values: Mapping[str, float], random: np.random.Generator) -> dict[str, float]:
    """Readings with the error of each instrument, half of its limit as standard deviation."""
    found = {}
    for name, value in values.items():
        relative, fixed = METERS[name]
        error = 0.5 * random.standard_normal() * (relative * abs(value) + fixed)
        exact = not value or math.isinf(value) or name == "discharge"
        found[name] = value if exact else value + error
    return found


def cold_readings(circuit: StageCircuit, fault: Fault | None, sound: Results) -> dict[str, float]:
    """What the stages without power would read of a build."""
    constants = sound.coil.constants
    path = (
        math.inf
        if fault is Fault.OPEN_FEEDBACK or constants is None
        else (constants.secondary_resistance_dc)
    )
    coil = circuit.coil
    return {
        "feedback_path": path,
        "resonance": coil.resonance,
        "bandwidth": coil.resonance / coil.quality_factor,
    }


def measured(
    circuit: StageCircuit, fault: Fault | None, at: Results, point: StagePoint, onset: float | None
) -> dict[str, float]:
    """Readings of a build at a stage."""
    run = carrier(circuit.with_supply(point.bus_voltage), hint=at.carrier.regions)
    values = readings_of(run, point)
    if onset is not None and "discharge" in values:
        part = circuit.coil.breakout_voltage / at.carrier.circuit.coil.breakout_voltage
        values["onset"] = onset * part
    return values


def read_of(
    plan: PowerupPlan, stage: Stage, values: Mapping[str, float], cold: Mapping[str, float]
) -> dict[tuple[str, str], float]:
    """Readings of a stage and of those without power, as the plan takes them."""
    found = {}
    for one in plan.stages:
        for wanted in one.expectations:
            told = (
                values
                if one is stage
                else cold
                if one.name in ("before-power", "coil-alone")
                else {}
            )
            if wanted.name in told:
                found[one.name, wanted.name] = told[wanted.name]
    return found


def main(builds: int, seed: int) -> None:
    """Print the table and the counts."""
    random = np.random.default_rng(seed)
    counts: Counter[str] = Counter()
    for file in sorted(EXAMPLES.glob("*.burstwise")):
        results = evaluate(load(file), verify=False)
        parts = parts_list(results)
        start = time.perf_counter()
        plan = powerup_plan(results, parts)
        print(f"\n== {file.stem}: plan in {time.perf_counter() - start:.2f} s")
        for name, at in stages_with_coil(results):
            stage = next(one for one in plan.stages if one.name == f"coil-{name}")
            print_stage(stage)
            point = point_of(stage, at, bleed_current(parts, at.design.supply.voltage))
            counts += run_builds(plan, stage, at, point, builds, random, results)
    print_counts(counts)


def point_of(stage: Stage, at: Results, bleed: float) -> StagePoint:
    """Point of a stage, with its current limit."""
    limit = max(1.5 * float(at.load.source_current_peak) + bleed, 0.2)
    return stage_point(at, steady_current=bleed, current_limit=limit)


def run_builds(
    plan: PowerupPlan,
    stage: Stage,
    at: Results,
    point: StagePoint,
    builds: int,
    random: np.random.Generator,
    results: Results,
) -> Counter[str]:
    """Good builds and builds with each fault that shows at a stage."""
    counts: Counter[str] = Counter()
    sound = results.carrier.circuit
    onset = next((one.expected for one in stage.expectations if one.name == "onset"), None)
    for _ in range(builds):
        circuit = varied(sound, random)
        values = with_error(measured(circuit, None, at, point, onset), random)
        read = read_of(
            plan, stage, values, with_error(cold_readings(circuit, None, results), random)
        )
        counts["good"] += 1
        counts["good passed"] += passes(plan, read)
        for one in plan.stages:
            for wanted in one.expectations:
                value = read.get((one.name, wanted.name))
                if value is not None and not judge(wanted, value).passed:
                    counts[f"good fails: {at.design.name}, {one.name}, {wanted.name}"] += 1
        for fault in dict.fromkeys(one.fault for one in stage.faults):
            size = random.uniform(*SIZES[fault]) if fault in SIZES else fault.sizes[0]
            broken = with_fault(varied(sound, random), fault, size)
            if broken is None:
                continue
            values = with_error(measured(broken, fault, at, point, onset), random)
            cold = with_error(cold_readings(broken, fault, results), random)
            counts += judged_fault(plan, stage, read_of(plan, stage, values, cold), fault)
    return counts


def judged_fault(
    plan: PowerupPlan, stage: Stage, read: Mapping[tuple[str, str], float], fault: Fault
) -> Counter[str]:
    """How a build with a fault fares: passed, named, named second, or something else."""
    counts: Counter[str] = Counter({f"{fault.value}: seeded": 1, "faults": 1})
    if passes(plan, read):
        counts[f"{fault.value}: passes"] += 1
        return counts
    failing = next(one for one in plan.stages if not passes_stage(one, read))
    named = named_fault(plan, failing, read)
    if named is not None and named.best.fault is fault:
        counts[f"{fault.value}: named"] += 1
        counts["faults named"] += 1
    else:
        other = "none" if named is None else named.best.fault.value
        counts[f"{fault.value}: taken for {other} at {stage.name}"] += 1
    return counts


def passes(plan: PowerupPlan, read: Mapping[tuple[str, str], float]) -> bool:
    """Whether all that was read lies within its band."""
    return all(passes_stage(stage, read) for stage in plan.stages)


def passes_stage(stage: Stage, read: Mapping[tuple[str, str], float]) -> bool:
    """Whether all that was read at a stage lies within its band."""
    return all(
        judge(wanted, read[stage.name, wanted.name]).passed
        for wanted in stage.expectations
        if (stage.name, wanted.name) in read
    )


def print_stage(stage: Stage) -> None:
    """Readings of the good build and of each fault."""
    print(f"-- {stage.title}")
    print(
        "   good build         ",
        {one.name: one.text(one.expected, digits=3) for one in stage.expectations},
    )
    for item in stage.faults:
        told = {
            one.name: one.text(item.values[one.name], digits=3)
            for one in stage.expectations
            if one.name in item.values
        }
        print(f"   {item.fault.value:<17} {item.size:<4g}", told)


def print_counts(counts: Counter[str]) -> None:
    """Rates, and what was taken for what."""
    print()
    for name in sorted(counts):
        print(f"{name:<60} {counts[name]}")
    print(f"good builds that pass: {counts['good passed'] / max(counts['good'], 1):.1%}")
    print(f"faults named: {counts['faults named'] / max(counts['faults'], 1):.1%}")


if __name__ == "__main__":
    numbers = [int(one) for one in sys.argv[1:]]
    main(*(numbers + [4, 12][len(numbers) :]))
