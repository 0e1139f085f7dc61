"""Carrier tables of a circuit alone, for tests that need no design."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np

from burstwise.core.burst.grid_runs import GridRuns
from burstwise.core.burst.table import CarrierTable, table_of
from burstwise.core.stage.circuit import StageCircuit


def carrier_table(
    circuit: StageCircuit,
    voltages: Sequence[float],
    resistances: Sequence[float],
    *,
    progress: Callable[[float], bool] | None = None,
) -> CarrierTable:
    """Table of the engine's runs over supply voltages [V] and on-resistances [ohm]."""
    volts, ohms = np.asarray(voltages, float), np.asarray(resistances, float)
    runs = GridRuns(circuit, progress, expected=len(volts) * len(ohms))
    return table_of(volts, ohms, runs.rows(volts, ohms))
