"""Carrier table of a stage with its losses, and the design that it serves."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from scipy.interpolate import PchipInterpolator

from burstwise.core.arrays import Array
from burstwise.core.burst.grid_runs import GridRuns
from burstwise.core.burst.table import CarrierTable, table_of
from burstwise.core.coil.resolve import ResolvedCoil, coil_of
from burstwise.core.design.calibrated import fitted_values
from burstwise.core.design.calibration import COIL_NAMES
from burstwise.core.design.document import Design
from burstwise.core.evaluate.evaluation import table_resistances
from burstwise.core.evaluate.load import SLOPE, diode_slope
from burstwise.core.stage.build import stage_circuit
from burstwise.core.stage.carrier import Carrier

SLACK: Final = 1.001
"""How far above its highest supply voltage a table is used."""

LOWEST: Final = 0.03
"""Lowest supply of a table over its highest; below it figures are scaled."""
REACH_LINES: Final = (LOWEST, 0.07, 0.12, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1.0)
"""Supply voltages that a table for maps starts with, over its upper end."""
ADDED: Final = 6
"""Lines added in one round of refinement at most."""
_APART: Final = 0.04
_WATCHED: Final = (
    "drain_voltage_worst",
    "drain_current_worst",
    "top_voltage_peak",
    "supply_current_rms",
    "drain_current_rms",
    "device_power",
    "gate_highest",
)
_WATCHED_ORDERS: Final = np.array([1.0, 1.0, 1.0, 1.0, 1.0, 2.0, 0.0])
_GOOD: Final = np.array([4e-3, 4e-3, 4e-3, 4e-3, 4e-3, 4e-3, 16e-3])
"""Departures of the watched figures, over their largest, below which no line is added; half of them
or less is left in between. The gate has room: its clamps hold it far below its rating."""
NEAR_LINES: Final = (0.55, 0.8, 0.92, 1.0)
"""Supply voltages of a table for one operating point, over the supply."""


@dataclass(frozen=True, slots=True)
class StageTable:
    """Carrier table with what it was made for.

    Attributes
    ----------
    design : Design
        Design whose coil, device, drive and protection the table belongs to.
    coil : ResolvedCoil
        Its coil.
    table : CarrierTable
        Carrier results.
    loss_names : tuple of str
        Names of the losses, then that of the diode slope.
    losses : callable
        Those over supply voltage, giving (resistances, names) over V^2.
    """

    design: Design
    coil: ResolvedCoil
    table: CarrierTable
    loss_names: tuple[str, ...]
    losses: Callable[[Any], Array]

    def serves(self, design: Design, *, highest: float) -> bool:
        """Whether the table is good for a design up to a supply voltage [V]."""
        mine = self.design
        return (
            highest <= SLACK * self.table.voltages[-1]
            and design.coil == mine.coil
            and fitted_values(design, COIL_NAMES) == fitted_values(mine, COIL_NAMES)
            and design.device == mine.device
            and design.drive == mine.drive
            and design.protection == mine.protection
            and design.cooling.ambient == mine.cooling.ambient
        )


def stage_table(
    design: Design,
    highest: float,
    *,
    lines: Sequence[float] = REACH_LINES,
    coil: ResolvedCoil | None = None,
    ohms: Sequence[float] | None = None,
    refine: int = 5,
    workers: int = 2,
    progress: Callable[[float], bool] | None = None,
) -> StageTable:
    """Table of a design's stage up to a supply voltage.

    Parameters
    ----------
    design : Design
        The design.
    highest : float
        Highest supply voltage [V].
    lines : sequence of float
        Supply voltages over the highest, rising to 1.
    coil : ResolvedCoil, optional
        Another coil than the design's, e.g. one that a hand detunes.
    ohms : sequence of float, optional
        On-resistances, rising [ohm]; those of `table_resistances` if not given.
    refine : int
        Rounds in which lines are added where the table bends most.
    workers : int
        Threads for the engine's runs.
    progress : callable
        Told the share done; answers whether to go on.

    Raises
    ------
    StoppedError
        `progress` answered no.
    """
    if coil is None:
        coil = coil_of(design)
    circuit = stage_circuit(design, coil)
    resistances = np.array(table_resistances(design) if ohms is None else ohms)
    marks = _with_mark(np.array(lines) * highest, design.supply.voltage)
    runs = GridRuns(
        circuit,
        progress,
        expected=(len(marks) + refine * ADDED) * len(resistances),
        workers=workers,
        trace=True,
    )
    rows = runs.rows(marks, resistances)
    for _ in range(refine):
        marks = _refined(marks, rows)
        rows = runs.rows(marks, resistances)
    return with_losses(design, coil, table_of(marks, resistances, rows))


def _with_mark(volts: Array, mark: float) -> Array:
    """Lines with one set on the present supply, in place of one that is close to it."""
    if not volts[0] < mark < volts[-1]:
        return volts
    kept = [v for v in volts[1:-1] if abs(v - mark) > _APART * mark]
    return np.array(sorted([volts[0], *kept, volts[-1], mark]))


def _refined(volts: Array, rows: Sequence[Sequence[Carrier]]) -> Array:
    """Supplies with some added beside those that their neighbours foretell worst [V]."""
    half = len(rows[0]) // 2
    watched = np.array(
        [
            [getattr(run, name) for run in row[: half + 1 : half] for name in _WATCHED]
            for row in rows
        ]
    )
    # What is small here cannot break a rating: departures count against the largest value.
    largest = np.maximum(np.abs(watched).max(axis=0), 1e-12)
    powers = volts[:, None] ** np.tile(_WATCHED_ORDERS, 2)
    good = np.tile(_GOOD, 2)
    watched /= powers
    worst = np.zeros(len(volts))
    for place in range(1, len(volts) - 1):
        others = np.delete(np.arange(len(volts)), place)
        foretold = PchipInterpolator(volts[others], watched[others])(volts[place])
        departure = np.abs(foretold - watched[place]) * powers[place] / largest / good
        worst[place] = float(np.max(departure))
    added: list[float] = []
    for place in np.argsort(worst)[::-1].tolist():
        if worst[place] < 1.0 or len(added) >= ADDED:
            break
        for low, high in ((place - 1, place), (place, place + 1)):
            middle = float(0.5 * (volts[low] + volts[high]))
            if middle not in added and len(added) < ADDED:
                added.append(middle)
    return np.array(sorted([*volts.tolist(), *added]))


def with_losses(design: Design, coil: ResolvedCoil, table: CarrierTable) -> StageTable:
    """Table with the losses of its runs, and the diode slope of those with a trace."""
    names = sorted({name for row in table.results for run in row for name in run.losses})
    diode = design.device.body_diode_voltage

    def figures(run: Carrier) -> list[float]:
        slope = diode_slope(run.trace, frequency=run.frequency, diode_voltage=diode)
        return [*(run.losses.get(name, 0.0) for name in names), slope]

    grid = np.array([[figures(run) for run in row] for row in table.results])
    over = grid / table.voltages[:, None, None] ** 2
    losses = PchipInterpolator(table.voltages, over, axis=0)
    return StageTable(design, coil, table, (*names, SLOPE), losses)
