"""The device's heat on its way to the air: temperature at each place, and other heat sinks."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from burstwise.core.arrays import Array
from burstwise.core.burst.operation import operation, thermal_path
from burstwise.core.evaluate.results import Results


@dataclass(frozen=True, slots=True)
class Place:
    """One place on the way of the heat.

    Attributes
    ----------
    name : str
        E.g. ``"Heat sink"``.
    temperature : float
        Mean temperature [C]; inf where it runs away.
    resistance : float
        To the next place [K/W]; 0 for the last.
    limit : float or None
        Highest temperature allowed there [C].
    """

    name: str
    temperature: float
    resistance: float
    limit: float | None = None


@dataclass(frozen=True, slots=True)
class HeatWay:
    """Mean heat of the device [W], the junction's peak [C], and the places from it to the air."""

    heat: float
    junction_peak: float
    places: tuple[Place, ...]


def heat_way(results: Results) -> HeatWay:
    """Mean temperatures from the junction to the air, ``T = T(air) + P sum(R)``.

    In the periodic steady state no heat is stored on the mean, so that each resistance carries the
    device's mean heat; the junction's ripple comes on top. Ohm's law of heat (common practice, no
    source).
    """
    load, cooling, device = results.load, results.design.cooling, results.design.device
    places = (
        Place(
            "Junction", float(load.junction_mean), device.junction_to_case, device.highest_junction
        ),
        Place("Case", float(load.case), cooling.interface_resistance),
        Place("Heat sink", float(load.heat_sink), cooling.sink_resistance, cooling.sink_limit),
        Place("Air", cooling.ambient, 0.0),
    )
    return HeatWay(float(load.heat), float(load.junction_peak), places)


@dataclass(frozen=True, slots=True)
class SinkStudy:
    """Temperatures over the resistance from heat sink to air.

    Attributes
    ----------
    resistance : Array
        [K/W], rising.
    junction_peak, heat_sink : Array
        [C]; inf where the device runs away.
    """

    resistance: Array
    junction_peak: Array
    heat_sink: Array


def sink_study(results: Results, resistances: Sequence[float] | Array) -> SinkStudy:
    """What the operating point of some results would be with other heat sinks.

    Each is evaluated anew, as a cooler device has a lower on-resistance and makes less heat.

    Parameters
    ----------
    results : Results
        Evaluated design.
    resistances : sequence of float
        Heat sink to air [K/W], rising.
    """
    design = results.design
    peaks, sinks = [], []
    for resistance in resistances:
        cooling = design.cooling.model_copy(update={"sink_resistance": float(resistance)})
        point = operation(
            results.table,
            design.device,
            design.supply,
            thermal_path(design.device, cooling),
            duty=results.duty,
            frequency=results.frequency,
        )
        peak, heat = float(point.junction_peak), float(point.device_power)
        peaks.append(peak)
        rise = heat * float(resistance) if math.isfinite(peak) else math.inf
        sinks.append(cooling.ambient + rise)
    return SinkStudy(np.asarray(resistances, float), np.asarray(peaks), np.asarray(sinks))
