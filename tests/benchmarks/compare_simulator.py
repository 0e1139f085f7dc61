"""The engine against a circuit simulator from outside, on the same netlist.

Run with ``python tests/benchmarks/compare_simulator.py [--designs 60] [--simulator ngspice]``.
Prints the differences of a burst from rest for the examples and for random designs, the parts of
each, and what was seen with finer steps where a difference is above a percent; then how long either
takes to the steady state of the examples at the same error. A third of the random designs keeps
the charges of its device, a third has constant capacitances, a third falling ones as drawn.
"""

from __future__ import annotations

import argparse
import importlib.util
import os
import sys
import time
from dataclasses import dataclass, replace
from pathlib import Path
from types import ModuleType

os.environ["OPENBLAS_NUM_THREADS"] = "1"

import numpy as np

from burstwise.core.coil.resolve import resolved_coil
from burstwise.core.design.document import Design
from burstwise.core.stage.build import stage_circuit
from burstwise.core.stage.carrier import Carrier, carrier
from burstwise.core.stage.charge import ChargeSegments
from burstwise.core.stage.circuit import StageCircuit
from burstwise.core.stage.netlist import STEPS_PER_CYCLE, netlist_of
from burstwise.core.storage import load

TESTS = Path(__file__).parents[1]
EXAMPLES = TESTS.parent / "resources" / "examples"
LIMIT = 0.01
MOST_CYCLES = 150
FINER = 4.0


def module(path: Path) -> ModuleType:
    """Module of a test file."""
    spec = importlib.util.spec_from_file_location(path.stem, path)
    assert spec is not None
    assert spec.loader is not None
    made = importlib.util.module_from_spec(spec)
    sys.modules[path.stem] = made
    spec.loader.exec_module(made)
    return made


RUNNER = module(TESTS / "core" / "stage" / "spice_runner.py")
FIGURES = module(TESTS / "core" / "stage" / "spice_figures.py")


@dataclass(frozen=True)
class Compared:
    """Differences of one burst, and the cause where one is large."""

    name: str
    parts: str
    cycles: int
    differences: dict[str, float]
    cause: str


def circuit_of(design: Design) -> StageCircuit:
    """Stage circuit of a design, cold."""
    return stage_circuit(design, resolved_coil(design.coil))


def random_circuit(design: Design, seed: int) -> StageCircuit:
    """Stage of a random design with the charges that its turn has."""
    circuit, device = circuit_of(design), design.device
    if seed % 3 == 0:
        return circuit
    reverse = device.reverse_capacitance
    constants = (device.output_capacitance - reverse, reverse)
    draw = np.random.default_rng(seed)
    laws = [
        ChargeSegments.constant(farad) if seed % 3 == 1 else falling(farad, draw)
        for farad in constants
    ]
    switch = replace(
        circuit.switch, drain_source_capacitance=laws[0], gate_drain_capacitance=laws[1]
    )
    return replace(circuit, switch=switch)


def falling(farad: float, draw: np.random.Generator) -> ChargeSegments:
    """Charge with a knee somewhere, down to a capacitance far above it."""
    knee, fall, order = draw.uniform(2, 40), draw.uniform(3, 60), draw.uniform(0.5, 2)
    knots = np.geomspace(0.2 * knee, 20 * knee, int(draw.integers(3, 9)))
    middles = np.append(np.sqrt(knots[:-1] * knots[1:]), 2 * knots[-1])
    farads = farad * (1 + (fall - 1) / (1 + middles / knee) ** order)
    return ChargeSegments(tuple(knots.tolist()), (fall * farad, *farads.tolist()))


def parts_of(circuit: StageCircuit) -> str:
    """Letters of the parts that are fitted."""
    marks = {
        "gated": circuit.gated,
        "shunt": circuit.shunted,
        "snubber": circuit.snubbed,
        "clamp": circuit.clamps.drain_voltage < 1e9,
        "reservoir": circuit.has_reservoir,
        "reversed": circuit.reversed_sense,
        "bending": len(circuit.switch.drain_source_capacitance.farads) > 1,
    }
    return " ".join(name for name, there in marks.items() if there) or "direct, bare"


def simulated(circuit: StageCircuit, run: object, simulator: str, steps: float) -> object:
    """Figures of the simulator for the burst that the engine ran."""
    for finer in (1, FINER):
        text = netlist_of(
            circuit,
            duration=run.duration,
            on_time=run.on_time,
            steps_per_cycle=steps * finer,
            title="compared",
        )
        try:
            signals = RUNNER.run(text, simulator)
            break
        except RuntimeError:  # now and then its iteration does not converge
            if finer == FINER:
                raise
    return FIGURES.of_signals(signals, circuit, run.on_time), float(signals["seconds"])


def cycles_to_settle(found: Carrier) -> int:
    """Cycles of the ring-up, and the window."""
    settled = int((found.envelope[:, 0] <= found.ring_up.time[-1]).sum())
    return min(settled + FIGURES.WINDOW, MOST_CYCLES)


def compared(name: str, circuit: StageCircuit, cycles: int, simulator: str) -> Compared:
    """One burst by both, and a second look at it where they differ by more than a percent."""
    run = FIGURES.of_engine(circuit, cycles)
    figures, _ = simulated(circuit, run, simulator, STEPS_PER_CYCLE)
    differences = figures.differences(run.figures)
    cause = ""
    if max(differences.values()) > LIMIT:
        finer = FIGURES.of_engine(circuit, cycles, steps_per_cycle=40 * FINER)
        again, _ = simulated(circuit, finer, simulator, STEPS_PER_CYCLE * FINER)
        cause = _cause(
            differences,
            own=finer.figures.differences(run.figures),
            theirs=again.differences(figures),
            left=again.differences(finer.figures),
        )
    return Compared(name, parts_of(circuit), cycles, differences, cause)


def _cause(
    differences: dict[str, float],
    *,
    own: dict[str, float],
    theirs: dict[str, float],
    left: dict[str, float],
) -> str:
    """What finer steps of either do to the figure that is farthest off."""
    worst = max(differences, key=differences.__getitem__)
    if left[worst] > LIMIT:
        whose = "not settled by finer steps"
    else:
        whose = "engine's step" if own[worst] > theirs[worst] else "simulator's step"
    return (
        f"{whose}: {worst} {differences[worst]:.1%}; with {FINER:g} times finer steps the engine "
        f"moves {own[worst]:.2%}, the simulator {theirs[worst]:.2%}, left {left[worst]:.2%}"
    )


def shown(row: Compared) -> str:
    """One line of the table."""
    values = " ".join(f"{100 * value:9.3f}" for value in row.differences.values())
    return f"{row.name:30} {row.cycles:4} {values}  {row.parts}"


def head() -> str:
    """Head of the table."""
    names = [part.name.replace("_", " ")[:9] for part in FIGURES.fields(FIGURES.Figures)]
    return f"{'differences in percent':30} {'n':>4} " + " ".join(f"{name:>9}" for name in names)


def show_examples(simulator: str) -> None:
    """Steady state of the example designs."""
    print(head())
    for file in sorted(EXAMPLES.glob("*.burstwise")):
        circuit = circuit_of(load(file))
        row = compared(file.stem, circuit, cycles_to_settle(carrier(circuit)), simulator)
        print(shown(row), flush=True)
        if row.cause:
            print(f"    {row.cause}")


def show_random(wanted: int, simulator: str) -> None:
    """Random designs that oscillate, until enough of them are found."""
    random_design = module(TESTS / "end2end" / "conftest.py")._random_design
    print(head())
    rows: list[Compared] = []
    silent = failed = 0
    seed = 0
    while len(rows) + failed < wanted:
        design, seed = random_design(seed), seed + 1
        circuit = random_circuit(design, seed)
        try:
            found = carrier(circuit)
            if not found.oscillates or not found.trusted:
                silent += 1
                continue
            row = compared(design.name, circuit, cycles_to_settle(found), simulator)
        except (RuntimeError, ArithmeticError) as error:
            failed += 1
            print(f"{design.name:30} not run, {parts_of(circuit)}: {str(error)[-120:]!r}")
            continue
        rows.append(row)
        print(shown(row), flush=True)
        if row.cause:
            print(f"    {row.cause}", flush=True)
    close = sum(max(row.differences.values()) <= LIMIT for row in rows)
    print(
        f"{seed} designs drawn: {silent} do not oscillate or are refused, {failed} not run, "
        f"{len(rows)} compared, {close} within {LIMIT:.0%} in every figure"
    )
    for name in rows[0].differences:
        values = sorted(row.differences[name] for row in rows)
        print(
            f"  {name:14} median {100 * values[len(values) // 2]:.3f} %, "
            f"nine in ten below {100 * values[int(0.9 * len(values))]:.3f} %, "
            f"worst {100 * values[-1]:.3f} %"
        )


def show_times(simulator: str) -> None:
    """Time to the steady state at the same error of drain peak and power."""
    print("\nTo the steady state from rest, error the larger of drain peak and power")
    print(f"{'example':30}  cycles  engine ms  error    simulator s  steps  error    ratio")
    for file in sorted(EXAMPLES.glob("*.burstwise")):
        circuit = circuit_of(load(file))
        found = carrier(circuit)
        cycles = cycles_to_settle(found)
        true = FIGURES.of_engine(circuit, cycles, steps_per_cycle=640).figures
        run = FIGURES.of_engine(circuit, cycles)
        mine = _error(run.figures, true)
        took = min(_seconds(circuit) for _ in range(9))
        for steps in (125, 250, 500, 1000, 2000, 4000, 8000, 16000):
            figures, theirs = simulated(circuit, run, simulator, steps)
            error = _error(figures, true)
            if error <= mine:
                break
        print(
            f"{file.stem:30} {cycles:7} {1e3 * took:10.2f}  {mine:.1e} {theirs:12.2f} {steps:6}"
            f"  {error:.1e} {'>' if error > mine else ' '}{theirs / took:7.0f}",
            flush=True,
        )


def _error(figures: object, true: object) -> float:
    found = figures.differences(true)
    return float(max(found["drain_peak"], found["power"]))


def _seconds(circuit: StageCircuit) -> float:
    start = time.perf_counter()
    carrier(circuit)
    return time.perf_counter() - start


def main() -> int:
    """Print what the arguments ask for."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--designs", type=int, default=60, help="random designs to compare")
    parser.add_argument("--simulator", choices=("ngspice", "neospice"), default="ngspice")
    told = parser.parse_args()
    reason = RUNNER.missing(told.simulator)
    if reason:
        print(f"cannot compare: {reason}", file=sys.stderr)
        return 1
    show_examples(told.simulator)
    if told.designs:
        show_random(told.designs, told.simulator)
    show_times(told.simulator)
    return 0


if __name__ == "__main__":
    sys.exit(main())
