"""Corners of a design: the states that a stage meets beside the one it is designed for.

A rating is judged at the worst of them. `corners` lists them, each with the design and the coil
that belong to it; `corner_points` works them out, one or two engine runs each, next to a carrier
table that stands already. `corner_point` answers for one of them, e.g. what the instruments show
before the discharge has formed::

    results = evaluate(design)
    quiet = corner_point(design, NO_DISCHARGE, results.table)
    quiet.run.drain_voltage_peak, quiet.run.frequency, quiet.load.supply_current_mean
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from concurrent.futures import Executor
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from burstwise.core.burst.operation import Operation, operation, thermal_path
from burstwise.core.burst.table import CarrierTable
from burstwise.core.coil.resolve import ResolvedCoil, coil_of
from burstwise.core.design.document import Design
from burstwise.core.evaluate.corner_table import corner_stage
from burstwise.core.evaluate.load import figures_between, load_from, single
from burstwise.core.interrupter.resolve import resolved_interrupter
from burstwise.core.limits.load import Load
from burstwise.core.limits.ratings import AS_DESIGNED, CornerLoad
from burstwise.core.stage.build import stage_circuit
from burstwise.core.stage.carrier import Carrier, carrier
from burstwise.core.stopping import carried
from burstwise.core.units import percent

SUPPLY_HIGH: Final = "supply high"
NO_DISCHARGE: Final = "no discharge"
LOADED_TOP: Final = "loaded top"
"""Names of the corners in which the stage runs."""
NEAR_HAND: Final = 0.05
"""Rise of the top's capacitance by a hand or an earthed thing within reach of the discharge [1].

A sphere whose middle is two diameters from an earthed plane has about 1.14 times its capacitance in
free space (image charges), and a top load holds a fifth to a half of the whole capacitance: 3 to
7 %. That a hand counts as such a plane is common practice, no source.
"""
NEAR_LOSS: Final = 0.5
"""Rise of the secondary's loss by the same; common practice, no source."""
_ROUNDS: Final = 6
"""Runs of one corner at most; close to thermal runaway its on-resistance is found slowly."""
_APART_VOLTS: Final = 0.01
_APART_OHMS: Final = 0.05
"""Distance of a corner's own point from where it was run, above which it is run there as well,"""
_CLOSE_OHMS: Final = 0.01
"""and the on-resistance's then."""


@dataclass(frozen=True, slots=True)
class Corner:
    """One state of a stage.

    Attributes
    ----------
    name : str
        One of the names above.
    title : str
        In words, as they stand behind 'worst'.
    design : Design
        The design with the supply of this corner.
    coil : ResolvedCoil
        The coil with the breakout and the loading of this corner.
    rise : float
        Its supply over the one that was designed [1].
    """

    name: str
    title: str
    design: Design
    coil: ResolvedCoil
    rise: float


@dataclass(frozen=True, slots=True)
class CornerPoint:
    """Operating point of a corner.

    Attributes
    ----------
    corner : Corner
        Which.
    run : Carrier
        Engine run beside it, within 1 % of its bus voltage and 5 % of its on-resistance.
    operation : Operation
        Burst scale.
    load : Load
        What is asked of the parts.
    """

    corner: Corner
    run: Carrier
    operation: Operation[float]
    load: Load


def corners(design: Design, coil: ResolvedCoil) -> tuple[Corner, ...]:
    """Corners in which the stage of a design runs, beside the designed one.

    The supply stands at the upper end of its tolerance in all of them; without a tolerance there
    is no corner for the supply alone.

    Parameters
    ----------
    design : Design
        The design, with an active calibration laid over it.
    coil : ResolvedCoil
        Its coil.
    """
    tolerance = design.supply.tolerance
    rise = 1.0 + tolerance
    high = _supplied(design, voltage=rise * design.supply.voltage)
    told = f"supply {percent(tolerance)} up"
    up = f", {told}" if tolerance else ""
    found = [Corner(SUPPLY_HIGH, f"with the {told}", high, coil, rise)] if tolerance else []
    quiet = undischarged(coil)
    if quiet is not None:
        found.append(Corner(NO_DISCHARGE, f"without discharge{up}", high, quiet, rise))
    near = f"with a hand near the top load{up}"
    found.append(Corner(LOADED_TOP, near, high, near_hand(coil), rise))
    return tuple(found)


def undischarged(coil: ResolvedCoil) -> ResolvedCoil | None:
    """The coil before a discharge forms, or whose point is missing; None if it never breaks out."""
    if math.isinf(coil.breakout_voltage):
        return None
    return replace(coil, breakout_voltage=math.inf)


def near_hand(coil: ResolvedCoil) -> ResolvedCoil:
    """The coil with a hand or an earthed thing near its top load, see `NEAR_HAND`."""
    return replace(
        coil,
        secondary_capacitance=coil.secondary_capacitance * (1.0 + NEAR_HAND),
        secondary_resistance=coil.secondary_resistance * (1.0 + NEAR_LOSS),
    )


def corner_points(
    design: Design, coil: ResolvedCoil, table: CarrierTable, *, run: Carrier, pool: Executor
) -> tuple[CornerPoint, ...]:
    """Operating points of all corners of a stage that runs.

    Parameters
    ----------
    design, coil
        As for `corners`.
    table : CarrierTable
        Of the stage as designed.
    run : Carrier
        Engine run at the operating point as designed. A corner that cannot differ is left out:
        all where the stage does not run, that without discharge where none is reached.
    pool : Executor
        Threads for the engine's runs.
    """
    if not run.oscillates:
        return ()
    asked = [item for item in corners(design, coil) if not _same(item, coil, run)]
    return tuple(pool.map(carried(lambda item: _worked_out(item, table, run)), asked))


def corner_point(design: Design, name: str, table: CarrierTable) -> CornerPoint | None:
    """Operating point of one corner at the design's own supply, not at its tolerance.

    Parameters
    ----------
    design : Design
        The design, with an active calibration laid over it.
    name : str
        `NO_DISCHARGE` or `LOADED_TOP`.
    table : CarrierTable
        Of the stage as designed, as in `Results.table`.

    Returns
    -------
    CornerPoint or None
        None for a corner that the design does not have, as one without discharge where the
        breakout is never.

    Raises
    ------
    InputError
        The design cannot be evaluated as it stands.
    """
    exact = _supplied(design, tolerance=0.0)
    coil = coil_of(design)
    found = next((item for item in corners(exact, coil) if item.name == name), None)
    return None if found is None else _worked_out(found, table, table.results[-1][0])


def _supplied(design: Design, **values: float) -> Design:
    return design.model_copy(update={"supply": design.supply.model_copy(update=values)})


def _same(corner: Corner, coil: ResolvedCoil, run: Carrier) -> bool:
    """Whether no discharge is reached that could be missing, the supply's rise counted in."""
    highest = corner.rise * run.top_voltage_peak
    return corner.name == NO_DISCHARGE and highest < coil.breakout_voltage


def _worked_out(corner: Corner, table: CarrierTable, near: Carrier) -> CornerPoint:
    """Point of a corner: run where the design runs, and again where the corner itself comes to.

    Parameters
    ----------
    corner : Corner
        Which.
    table : CarrierTable
        Of the stage as designed.
    near : Carrier
        A run near by, for its on-resistance and its regions.
    """
    volts, ohms = corner.design.supply.voltage, near.circuit.switch.on_resistance
    apart = _APART_OHMS
    for rounds in range(_ROUNDS):
        circuit = stage_circuit(corner.design, corner.coil, supply_voltage=volts)
        run = carrier(circuit.with_on_resistance(ohms), hint=near.regions, trace=True)
        point, load = point_beside(corner, table, run)
        found, hot = point.voltage, point.on_resistance
        if abs(found / volts - 1) < _APART_VOLTS and abs(hot / ohms - 1) < apart:
            break
        # Close to runaway the answer swings around the right one: from the second run on, halfway.
        volts, ohms = found, hot if rounds == 0 else math.sqrt(ohms * hot)
        apart = _CLOSE_OHMS
    return CornerPoint(corner, run, point, load)


def point_beside(
    corner: Corner, table: CarrierTable, run: Carrier
) -> tuple[Operation[float], Load]:
    """Operating point and load of a corner from one engine run beside it.

    Parameters
    ----------
    corner : Corner
        Which.
    table : CarrierTable
        Of the stage as designed: tells how figures move with voltage and on-resistance.
    run : Carrier
        Run of the corner.
    """
    design, timer = corner.design, resolved_interrupter(corner.design)
    ready = corner_stage(table, run)
    point = operation(
        ready.table,
        design.device,
        design.supply,
        thermal_path(design.device, design.cooling),
        duty=np.array([timer.duty]),
        frequency=timer.frequency,
    )
    figures = figures_between(
        ready, point.voltage, point.on_resistance, bursts=design.interrupter.enabled
    )
    many = load_from(design, corner.coil, figures, point, source_voltage=design.supply.voltage)
    return point.at(0), single(many)


def corner_loads(load: Load, points: Sequence[CornerPoint]) -> list[CornerLoad]:
    """What the design and its corners ask of the parts, the design first."""
    told = [CornerLoad(item.corner.name, item.corner.title, item.load) for item in points]
    return [CornerLoad(AS_DESIGNED, "", load), *told]
