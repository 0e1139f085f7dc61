"""The one door: Design -> Results."""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from typing import Final

import numpy as np

from burstwise.core.arrays import Array
from burstwise.core.burst.grid_runs import GridRuns
from burstwise.core.burst.operation import Operation, ThermalPath, operation, thermal_path
from burstwise.core.burst.table import CarrierTable, table_of
from burstwise.core.burst.warmup import COURSE_POINTS, period_course
from burstwise.core.coil.resolve import ResolvedCoil, coil_of
from burstwise.core.design.calibrated import calibrated
from burstwise.core.design.document import Design
from burstwise.core.evaluate.chain import chain_findings
from burstwise.core.evaluate.corners import corner_loads, corner_points
from burstwise.core.evaluate.earth_strike import earth_strike, earth_strike_findings
from burstwise.core.evaluate.findings import findings_of
from burstwise.core.evaluate.load import load_of
from burstwise.core.evaluate.lost_loop import lost_loop, lost_loop_findings, lost_loop_load
from burstwise.core.evaluate.results import DutyCurves, Results
from burstwise.core.evaluate.second_looks import looked_at_twice
from burstwise.core.findings import Finding, heaviest_first
from burstwise.core.interrupter.resolve import resolved_interrupter
from burstwise.core.limits.load import Load
from burstwise.core.limits.ratings import limits_over
from burstwise.core.stage.build import on_resistance_at, stage_circuit
from burstwise.core.stage.carrier import Carrier, carrier
from burstwise.core.stopping import carried

HOTTEST: Final = 220.0
"""Junction temperature up to which every table is computed [C]."""
_JUNCTIONS: Final = {
    "gated": (0.0, 100.0, HOTTEST),
    "direct": (0.0, 35.0, 70.0, 105.0, 140.0, 180.0, HOTTEST),
}
"""Junction temperatures of the table's on-resistances [C]; see docs/theory_burst.md."""
_HOT: Final = (300.0, 400.0, 500.0)
"""Further ones, for a device that goes beyond the hottest [C]."""
_APART: Final = (0.98, 1.0, 1.02)
"""On-resistances of the table over the device's own where the junction does not move it."""
CLOSE: Final = (0.95, 1.0)
"""Supply voltages of a table around one operating point, over the design's own; where the bus falls
below them,"""
FURTHER: Final = (0.6, 0.8, *CLOSE)
"""these."""
DUTIES: Final = np.unique(np.concatenate([np.geomspace(0.002, 0.1, 24), np.linspace(0.1, 1.0, 73)]))
"""Duties of the duty curves."""


def evaluate(
    design: Design,
    *,
    table: CarrierTable | None = None,
    verify: bool = True,
) -> Results:
    """Everything about a design.

    Parameters
    ----------
    design : Design
        The design; an active calibration is laid over it, also in the results' design.
    table : CarrierTable, optional
        Carrier table of the same coil, device, drive and protection, down to where the bus falls;
        made here if not given.
    verify : bool
        Run the steady state again with half the step and report the difference; run the point
        again with what is assumed taken otherwise (`burstwise.core.evaluate.second_looks`).

    Raises
    ------
    InputError
        The design cannot be evaluated as it stands, e.g. overlapping windings.
    """
    design = calibrated(design)
    coil = coil_of(design)
    around = _table_around(design, coil) if table is None else table

    def stage_at(point: Operation[float]) -> tuple[Carrier, Load]:
        run = _exact(design, coil, point, around, verify=verify)
        return run, load_of(design, coil, run, point)

    plain = at_burst_scale(design, coil, around, stage_at)
    plain, looks = _beside(plain, verify=verify)
    lost = lost_loop(design, coil, plain.load)
    states = corner_loads(plain.load, plain.corners)
    if lost is not None:
        states.append(lost_loop_load(design, coil, plain.load, lost))
    known = replace(plain, lost_loop=lost, limits=limits_over(design, states))
    told = [*findings_of(known), *looks, *chain_findings(known)]
    if lost is not None:
        told += lost_loop_findings(design, lost, running_peak=_running_peak(known))
    if known.earth_strike is not None:
        told += earth_strike_findings(design, known.earth_strike)
    return replace(known, findings=heaviest_first(told))


def at_burst_scale(
    design: Design,
    coil: ResolvedCoil,
    table: CarrierTable,
    stage_at: Callable[[Operation[float]], tuple[Carrier, Load]],
    *,
    points: int = COURSE_POINTS,
) -> Results:
    """Results of the stage as designed, before anything is judged.

    Parameters
    ----------
    design, coil, table
        The design with its coil and its carrier table.
    stage_at : callable
        The stage at the operating point, and what that asks of the parts.
    points : int
        Points in each of on-time and off-time of the course.
    """
    path = thermal_path(design.device, design.cooling)
    found = _operations(design, table, path)
    point = found.at(-1)
    run, load = stage_at(point)
    return Results(
        design=design,
        coil=coil,
        carrier=run,
        table=table,
        operation=point,
        top_part=float(reached_part(table, found)[-1]),
        curves=_curves(table, found.taken(slice(0, -1))),
        course=period_course(
            table,
            design.supply,
            path,
            point,
            frequency=resolved_interrupter(design).frequency,
            points=points,
        ),
        load=load,
    )


def _beside(plain: Results, *, verify: bool) -> tuple[Results, tuple[Finding, ...]]:
    """Runs that only hang on the one at the operating point, two at a time.

    Returns
    -------
    tuple
        Results with what second looks tell of the run, with corners and a strike to earth; and
        what the second looks found.
    """
    design, coil, run = plain.design, plain.coil, plain.carrier
    with ThreadPoolExecutor(max_workers=2) as pool:
        # What takes longest begins first.
        look = (lambda item: looked_at_twice(design, coil, item)) if verify else _unchecked
        looks = pool.submit(carried(look), run)
        struck = pool.submit(carried(lambda item: earth_strike(design, coil, item)), run)
        around = corner_points(design, coil, plain.table, run=run, pool=pool)
        checked, found = looks.result()
        return replace(plain, carrier=checked, corners=around, earth_strike=struck.result()), found


def _unchecked(run: Carrier) -> tuple[Carrier, tuple[Finding, ...]]:
    return run, ()


def _running_peak(known: Results) -> float:
    """Highest drain current in all corners in which the stage runs [A]; 0 if it does not."""
    if not known.carrier.oscillates:
        return 0.0
    loads = (known.load, *(item.load for item in known.corners))
    return max(float(item.drain_current_peak) for item in loads)


def effective_duty(design: Design) -> float:
    """Duty that the stage sees: 1 when no interrupter is fitted."""
    return resolved_interrupter(design).duty


def _table_around(design: Design, coil: ResolvedCoil) -> CarrierTable:
    """Carrier table around a design's supply, as far down and as hot as it gets."""
    path = thermal_path(design.device, design.cooling)
    volts, ohms = design.supply.voltage * np.array(CLOSE), np.array(table_resistances(design))
    runs = GridRuns(stage_circuit(design, coil), expected=len(volts) * len(ohms))
    table = table_of(volts, ohms, runs.rows(volts, ohms))
    found = _operations(design, table, path)
    if float(np.min(found.voltage)) < volts[0]:
        volts = design.supply.voltage * np.array(FURTHER)
        table = table_of(volts, ohms, runs.rows(volts, ohms))
        found = _operations(design, table, path)
    if float(found.on_resistance[-1]) > ohms[-1]:
        # What a device does that gets hotter than the table is asked of the engine, not foretold.
        ohms = np.array(hot_resistances(design))
        table = table_of(volts, ohms, runs.rows(volts, ohms))
    return table


def table_resistances(design: Design) -> list[float]:
    """On-resistances of a design's carrier table [ohm], cold to hot.

    Straight lines between three are good for a gated stage. In a direct stage the channel times
    the gate as well, and its losses bend with the on-resistance.
    """
    device = design.device
    if device.hot_resistance_ratio == 1.0:  # a table needs lines apart
        return [part * device.on_resistance for part in _APART]
    return [on_resistance_at(device, celsius) for celsius in _JUNCTIONS[design.drive.kind]]


def hot_resistances(design: Design) -> list[float]:
    """On-resistances of a table up to where no fixed point is looked for any more [ohm]."""
    device, usual = design.device, table_resistances(design)
    further = [on_resistance_at(device, celsius) for celsius in _HOT]
    return usual + [ohms for ohms in further if ohms > usual[-1]]


def _operations(design: Design, table: CarrierTable, path: ThermalPath[float]) -> Operation[Array]:
    """Burst scale at all duties of the curves and, last, at the design's own."""
    timer = resolved_interrupter(design)
    return operation(
        table,
        design.device,
        design.supply,
        path,
        duty=np.append(DUTIES, timer.duty),
        frequency=timer.frequency,
    )


def _curves(table: CarrierTable, found: Operation[Array]) -> DutyCurves:
    reached = reached_part(table, found)
    return DutyCurves(
        duty=DUTIES,
        average_power=found.average_power,
        peak_current=table.value("drain_current_peak", found.voltage, found.on_resistance),
        junction_mean=found.junction_mean,
        junction_peak=found.junction_peak,
        top_voltage=reached * table.value("top_voltage_peak", found.voltage, found.on_resistance),
    )


def reached_part(table: CarrierTable, found: Operation[Array]) -> Array:
    """Part of the steady top voltage that the on-time reaches [1]."""
    part = table.at(found.voltage)
    on = np.where(np.isfinite(found.on_time), found.on_time, part.table.curves.time[-1])
    shape = (*on.shape, len(table.resistances))
    stored = part.energies(np.broadcast_to(on[..., None], shape))[..., 2]
    filled = np.clip(stored / np.maximum(part.rows("stored"), 1e-30), 0.0, 1.0)
    return np.asarray(np.sqrt(table.along(filled, found.on_resistance)))


def _exact(
    design: Design,
    coil: ResolvedCoil,
    point: Operation[float],
    table: CarrierTable,
    *,
    verify: bool,
) -> Carrier:
    """Engine run at the operating point itself, not interpolated."""
    circuit = stage_circuit(design, coil, supply_voltage=point.voltage)
    circuit = circuit.with_on_resistance(point.on_resistance)
    hint = table.results[-1][0].regions
    return carrier(circuit, hint=hint, trace=True, verify=verify)
