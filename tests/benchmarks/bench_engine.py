"""Speed of the stage engine: against CVODE, against its own floor, and a whole operating point.

Run with ``python tests/benchmarks/bench_engine.py [--json]``. Every ratio comes from one run, the
measurements interleaved and the least of the times taken, since the machine may be shared.
"""

from __future__ import annotations

import importlib.util
import os
import sys
import time
from collections.abc import Callable, Iterator
from dataclasses import replace
from functools import partial
from itertools import chain
from pathlib import Path
from types import ModuleType

# As the program itself does before it loads the library for linear algebra.
os.environ["OPENBLAS_NUM_THREADS"] = "1"

import numpy as np
from figures import Figure, tell
from numba import njit

from burstwise.core.stage import kernel
from burstwise.core.stage.carrier import carrier
from burstwise.core.stage.charge import ChargeSegments
from burstwise.core.stage.circuit import (
    ClampValues,
    CoilValues,
    DirectFeed,
    GatedFeed,
    StageCircuit,
    SwitchValues,
)
from burstwise.core.stage.engine import Engine
from burstwise.core.stage.network import Visited

constant = ChargeSegments.constant

ERROR = 1e-4
CYCLES = 20.37
ROUNDS = 15

WHERE = {"hot": "on one table in the nearest cache", "in place": "on the run's own tables"}
CHANGES = {
    "coil": "another coil",
    "supply": "another supply, tables taken over",
    "half": "with half steps beside",
}
_SCALES = (0, 2, 3, 4)  # i1, v_top, v_ds, v_gs of the second model


def circuits() -> dict[str, StageCircuit]:
    """Stages measured: either drive, and one with every clamp fitted."""
    coil = CoilValues(8e-6, 12e-3, 0.2, 0.05, 200.0, 14e-12, 25e3)
    switch = SwitchValues(
        1.8,
        3.5,
        2.5,
        632e-12,
        constant(8e-12),
        constant(72e-12),
        avalanche_voltage=690,
    )
    gate = GatedFeed(12, 8, 8, 40e-9, False, 2.1, 1.2, 30e-12, 5.6, 0.6, 2, 5, 10e3)
    gated = StageCircuit(36, coil, switch, gate, shunt_resistance=0.1)
    direct = replace(gated, feed=DirectFeed(3.9, 4700, 12, 0.7, 3, 5))
    clamps = ClampValues(480.0, 4.0, 100.0, 220e-12, 22e-9, 22e3)
    return {"direct": direct, "gated": gated, "gated, all clamps": replace(gated, clamps=clamps)}


def second_model() -> ModuleType:
    """The hand-written equations that the tests use too."""
    path = Path(__file__).parents[1] / "core" / "stage" / "nodal_model.py"
    spec = importlib.util.spec_from_file_location("stage_nodal_model", path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules["stage_nodal_model"] = module
    spec.loader.exec_module(module)
    return module


def seconds(work: Callable[[], object]) -> float:
    """Time of one call."""
    start = time.perf_counter()
    work()
    return time.perf_counter() - start


@njit(error_model="numpy", fastmath={"contract"}, _nrt=False)
def bare_products(steps, places, one, two, rounds):
    """Nothing but products, each on the result of the one before."""
    for _ in range(rounds):
        for i in range(places.shape[0] // 2):
            kernel.apply_step(steps, places[2 * i], one, two)
            kernel.apply_step(steps, places[2 * i + 1], two, one)


def ready(circuit: StageCircuit, hint: Visited, **options: float) -> Engine:
    """Engine with its tables built, drive just released."""
    engine = Engine(circuit, hint=hint, **options)
    engine.enable(True)
    return engine


def state_error(nodal: ModuleType, circuit: StageCircuit, found: object, true: object) -> float:
    """Largest error of the end state in parts of each state's swing over the run."""
    swings = np.abs(true).max(axis=0)
    return float(max(abs(found[-1, k] - true[-1, k]) / swings[k] for k in _SCALES))


def engine_rows(circuit: StageCircuit, hint: Visited, times: object) -> object:
    """States of the engine at the given times in the order of the second model."""
    engine = ready(circuit, hint)
    rows = np.zeros((len(times), 6))
    for place, when in enumerate(times):
        engine.run(when - engine.time, book=False)
        gate, drain, top, _, _, primary, *_ = engine.values()
        rows[place, [0, 2, 3, 4]] = primary, top, drain, gate
    return rows


def run_time(circuit: StageCircuit, hint: Visited, span: float, *, book: bool) -> float:
    """Time of an engine run of `span` seconds from the cold start, tables built [s]."""
    engine = ready(circuit, hint)
    return seconds(lambda: engine.run(span, book=book))


def against_cvode() -> Iterator[Figure]:
    """Engine and CVODE at the same end-state error."""
    nodal = second_model()
    for name, circuit in circuits().items():
        if circuit.clamps.snubber_capacitance:
            continue
        hint = carrier(circuit).regions
        end = CYCLES / circuit.coil.resonance
        times = np.linspace(end / 200, end, 200)
        true = nodal.Reference(circuit, "cvode", rtol=1e-11, energies=False).run(times)
        mine = state_error(nodal, circuit, engine_rows(circuit, hint, times), true)
        rtol, error = 1e-3, np.inf
        while error > ERROR and rtol > 1e-11:
            rtol /= 10**0.5
            run = nodal.Reference(circuit, "cvode", rtol=rtol, energies=False).run(times)
            error = state_error(nodal, circuit, run, true)
        lean, theirs = [], []
        for _ in range(5):
            lean += [run_time(circuit, hint, end, book=False) for _ in range(5)]
            other = nodal.Reference(circuit, "cvode", rtol=rtol, energies=False)
            theirs.append(seconds(partial(other.run, times[-1:])))
        yield Figure(
            f"a carrier cycle of a stage with {name} drive, error {mine:.1e}",
            min(lean) / CYCLES,
            peer=min(theirs) / CYCLES,
            peer_is=f"CVODE with a compiled right-hand side, rtol {rtol:.0e}, error {error:.1e}",
        )


def accepted_places(engine: Engine) -> object:
    """Table places of all products that the accepted steps of a traced run are made of."""
    machine = engine._machine
    count = machine.numbers[kernel.TRACED]
    lengths = np.diff(machine.trace_time[:count], prepend=0.0).astype(int)
    places = []
    for code, ticks in zip(machine.trace_code[:count], lengths, strict=True):
        first = engine.regions.slot(code) * kernel.LENGTHS
        if ticks == kernel.TICKS:
            places.append(first + kernel.FULL)
            continue
        for level in range(kernel.LEVELS):
            digit = ticks >> (kernel.SHIFT * (kernel.LEVELS - 1 - level)) & (kernel.RADIX - 1)
            if digit:
                places.append(first + level * (kernel.RADIX - 1) + digit - 1)
    return np.array(places, dtype=np.int64) * kernel.BLOCK


def against_floor() -> Iterator[Figure]:
    """Engine against nothing but the matrix-vector products that it used.

    The floor is measured twice: on one table that stays in the nearest cache, and on the very
    tables that the run's accepted steps went through.
    """
    span = 200
    for name, circuit in circuits().items():
        hint = carrier(circuit).regions
        period = 1 / circuit.coil.resonance
        traced = ready(circuit, hint)
        traced.run(span * period, trace=True)
        places = accepted_places(traced)
        hot_places = np.full(len(places), kernel.FULL * kernel.BLOCK)
        steps = traced.regions.tables(traced._law).steps
        one, two = traced._machine.end.copy(), traced._machine.end.copy()
        bare_products(steps, places, one, two, 1)
        counted = ready(circuit, hint)
        counted.run(span * period, book=False)
        products, taken = (counted.counts[key] / span for key in ("products", "steps"))
        best = dict.fromkeys(("lean", "booked", "hot", "in place"), np.inf)
        for _ in range(ROUNDS):
            for key, book in (("lean", False), ("booked", True)):
                best[key] = min(best[key], run_time(circuit, hint, span * period, book=book))
            for key, chosen in (("hot", hot_places), ("in place", places)):
                one[:], two[:] = traced._machine.point, 0.0
                took = seconds(partial(bare_products, steps, chosen, one, two, 1))
                best[key] = min(best[key], took / len(places))
        counts = f"{products:.0f} products and {taken:.0f} steps"
        for key, words in (("lean", "without books"), ("booked", "with books")):
            for place in ("in place", "hot"):
                yield Figure(
                    f"a carrier cycle {words}, {name}, {counts}",
                    best[key] / span,
                    floor=best[place] * products,
                    floor_is=f"its bare matrix-vector products, {WHERE[place]}",
                )


def operating_point() -> Iterator[Figure]:
    """Cold start to steady state, books, ring-down: one call of `carrier`.

    Another coil leaves no table as it is, another supply all of them but for a row.
    """
    for name, circuit in circuits().items():
        result = carrier(circuit)
        found: dict[str, list[float]] = {key: [] for key in CHANGES}
        stepping = np.inf
        for turn in range(1, ROUNDS + 1):
            part = 1 + 1e-7 * turn
            inductance = part * circuit.coil.secondary_inductance
            coil = replace(circuit, coil=replace(circuit.coil, secondary_inductance=inductance))
            supply = circuit.with_supply(part * circuit.supply_voltage)
            hint = result.regions
            found["coil"].append(seconds(partial(carrier, coil)))
            found["supply"].append(seconds(partial(carrier, supply, hint=hint)))
            found["half"].append(seconds(partial(carrier, circuit, hint=hint, verify=True)))
            span = (len(result.envelope) + len(result.ring_down.time)) / circuit.coil.resonance
            stepping = min(stepping, run_time(circuit, hint, span, book=True))
        cycles = len(result.envelope) + len(result.ring_down.time)
        regions = len(result.regions.codes)
        for key, words in CHANGES.items():
            yield Figure(
                f"an operating point, {name}, {words}: {cycles} cycles, {regions} regions",
                min(found[key]),
                floor=stepping,
                floor_is="stepping through as many cycles with books",
            )


def main() -> None:
    """Print all figures."""
    tell(chain(against_cvode(), against_floor(), operating_point()))


if __name__ == "__main__":
    main()
