"""Carrier table of a stage with its losses, and the design that it serves."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from typing import Final

import numpy as np
from scipy.interpolate import PchipInterpolator

from core.burst.table import CarrierTable, table_of
from core.coil.resolve import ResolvedCoil, resolved_coil
from core.design.document import Design
from core.evaluate.evaluation import RESISTANCE_AT, WIDE
from core.evaluate.load import SLOPE, diode_slope
from core.stage.build import on_resistance_at, stage_circuit
from core.stage.carrier import Carrier, carrier

SLACK: Final = 1.001
"""How far above its highest supply voltage a table is used."""
LOWEST: Final = 0.03
"""Lowest supply of a table over its highest; below it figures are scaled."""
REACH_LINES: Final = tuple(sorted({LOWEST, 0.07, *WIDE, 0.36, 0.48, 0.62, 0.78, 0.93}))
"""Supply voltages of a table for maps, over its upper end."""
NEAR_LINES: Final = (0.55, 0.8, 0.92, 1.0)
"""Supply voltages of a table for one operating point, over the supply."""


_WORKERS: Final = 2
"""Engine runs at a time; the engine releases the interpreter's lock."""


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
    losses : interpolator
        Those over supply voltage, giving (resistances, names) over V^2.
    """

    design: Design
    coil: ResolvedCoil
    table: CarrierTable
    loss_names: tuple[str, ...]
    losses: PchipInterpolator

    def serves(self, design: Design, *, highest: float) -> bool:
        """Whether the table is good for a design up to a supply voltage [V]."""
        mine = self.design
        return (
            highest <= SLACK * self.table.voltages[-1]
            and design.coil == mine.coil
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
    progress : callable
        Told the share done; answers whether to go on.

    Raises
    ------
    InterruptedError
        `progress` answered no.
    """
    if coil is None:
        coil = resolved_coil(design.coil, temperature_c=design.cooling.ambient)
    circuit = stage_circuit(design, coil)
    volts = np.array([part * highest for part in lines])
    ohms = np.array([on_resistance_at(design.device, celsius) for celsius in RESISTANCE_AT])
    first = carrier(circuit.with_supply(volts[-1]).with_on_resistance(ohms[0]), trace=True)

    def run(place: int) -> Carrier:
        line, column = divmod(place, len(ohms))
        at = circuit.with_supply(float(volts[line])).with_on_resistance(float(ohms[column]))
        return carrier(at, hint=first.regions, trace=True)

    found: list[Carrier] = []
    count = len(volts) * len(ohms)
    with ThreadPoolExecutor(max_workers=_WORKERS) as pool:
        for result in pool.map(run, range(count)):
            found.append(result)
            if progress is not None and not progress(len(found) / count):
                pool.shutdown(cancel_futures=True)
                raise InterruptedError("the carrier table was stopped")
    rows = tuple(tuple(found[i : i + len(ohms)]) for i in range(0, count, len(ohms)))
    return with_losses(design, coil, table_of(volts, ohms, rows))


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
