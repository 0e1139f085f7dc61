"""Margins of all ratings over many operating points at once, from a carrier table."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from burstwise.core.arrays import Array
from burstwise.core.burst.operation import Operation, operation, thermal_path
from burstwise.core.design.document import Design
from burstwise.core.evaluate.evaluation import effective_duty
from burstwise.core.evaluate.load import figures_between, load_from
from burstwise.core.interrupter.resolve import resolved_interrupter
from burstwise.core.limits.load import Load
from burstwise.core.limits.ratings import RATINGS, Margins, margins
from burstwise.core.studies.stage_table import StageTable


@dataclass(frozen=True, slots=True)
class Field:
    """Operating points of one design with what they ask of the parts."""

    point: Operation[Array]
    load: Load
    margins: Margins


def field_of(
    design: Design,
    ready: StageTable,
    *,
    voltage: ArrayLike | None = None,
    duty: ArrayLike | None = None,
    frequency: ArrayLike | None = None,
) -> Field:
    """Operating points of a design over arrays of supply, duty and interrupter frequency.

    Parameters
    ----------
    design : Design
        The design; what is not given as an array is taken from it.
    ready : StageTable
        Carrier table of the design's stage.
    voltage, duty, frequency : array_like, optional
        Supply [V], duty [1], interrupter frequency [Hz], broadcast together.
    """
    supply = design.supply.voltage if voltage is None else voltage
    share = effective_duty(design) if duty is None else duty
    rate = resolved_interrupter(design).frequency if frequency is None else frequency
    V, D, f = (
        np.atleast_1d(x)
        for x in np.broadcast_arrays(
            *(np.asarray(x, dtype=np.float64) for x in (supply, share, rate))
        )
    )
    point = operation(
        ready.table,
        design.device,
        design.supply,
        thermal_path(design.device, design.cooling),
        duty=D,
        frequency=f,
        source_voltage=V,
    )
    figures = figures_between(
        ready, point.voltage, point.on_resistance, bursts=design.interrupter.enabled
    )
    load = load_from(design, ready.coil, figures, point, source_voltage=V, frequency=f)
    return Field(point, load, margins(design, load))


def in_rating_order(found: Margins) -> Array:
    """Margins in the order of `RATINGS`, inf where a rating does not apply."""
    shape = found.margin.shape[1:]
    whole = np.full((len(RATINGS), *shape), np.inf)
    for place, rating in enumerate(RATINGS):
        if rating.name in found.names:
            whole[place] = found.of(rating.name)
    return whole
