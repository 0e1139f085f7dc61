"""Heat sink that a design needs."""

from __future__ import annotations

import math
from dataclasses import dataclass

from burstwise.core.evaluate.results import Results


@dataclass(frozen=True, slots=True)
class HeatSinkNeed:
    """Largest thermal resistance from heat sink to air that holds both limits [K/W].

    Attributes
    ----------
    heat : float
        Mean heat of the device [W].
    for_sink, for_junction : float
        Allowed by the heat sink's own limit and by the junction's peak; the second is an
        extrapolation with constant heat.
    largest : float
        The smaller of both.
    designed : float
        What the design has.
    """

    heat: float
    for_sink: float
    for_junction: float
    largest: float
    designed: float


def largest_sink_resistance(rise: float, heat: float) -> float:
    """Thermal resistance that makes a rise [K] at a heat [W], ``R = dT/P`` [K/W].

    Examples
    --------
    >>> largest_sink_resistance(60.0, 8.0)
    7.5
    """
    return rise / heat if heat > 0 else math.inf


def heat_sink_need(results: Results) -> HeatSinkNeed:
    """Heat sink for the operating point; 0 K/W where no heat sink is enough."""
    design = results.design
    heat = results.operation.device_power
    cooling, limit = design.cooling, design.device.highest_junction
    for_sink = largest_sink_resistance(cooling.sink_limit - cooling.ambient, heat)
    spare = limit - results.junction_peak
    for_junction = cooling.sink_resistance + largest_sink_resistance(spare, heat)
    if not math.isfinite(results.junction_peak):
        for_junction = 0.0
    largest = max(min(for_sink, for_junction), 0.0)
    return HeatSinkNeed(heat, for_sink, for_junction, largest, cooling.sink_resistance)
