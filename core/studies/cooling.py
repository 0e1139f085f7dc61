"""The device's heat on its way to the air: temperature at each place, and other heat sinks."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

import numpy as np

from burstwise.core.arrays import Array
from burstwise.core.burst.foster import Foster
from burstwise.core.burst.operation import operation
from burstwise.core.evaluate.results import Results

if TYPE_CHECKING:
    from burstwise.core.studies.chance import BuildsPoint

OTHER_SINKS: Final = np.linspace(1.0 / 3.0, 3.0, 25)
"""Heat sinks worth a look: their resistances to air over the design's own."""


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
    resistance : Array (sinks,)
        [K/W], rising.
    junction_peak, heat_sink : Array (sinks,) or (sinks, builds)
        [C]; inf where the device runs away.
    """

    resistance: Array
    junction_peak: Array
    heat_sink: Array


def sink_study(at: Results | BuildsPoint, resistances: Sequence[float] | Array) -> SinkStudy:
    """What the operating point of some results or builds would be with other heat sinks.

    Each is evaluated anew, as a cooler device has a lower on-resistance and makes less heat.

    Parameters
    ----------
    at : Results or BuildsPoint
        Evaluated design, or builds of it.
    resistances : sequence of float
        Heat sink to air [K/W], rising; a build's own departs from it as from the design's.
    """
    design, network = at.design, at.path.network
    ohms = np.asarray(resistances, dtype=np.float64)
    duty = np.stack([np.asarray(at.duty)] * len(ohms))
    scale = np.ones((*duty.shape, network.resistance.shape[-1]))
    # The sink's heat capacity stays: its time constant goes with the resistance.
    scale.T[-1] = ohms / design.cooling.sink_resistance
    others = Foster(network.resistance * scale, network.time_constant * scale)
    point = operation(
        at.table,
        design.device,
        design.supply,
        replace(at.path, network=others),
        duty=duty,
        frequency=at.frequency,
        source_voltage=at.source_voltage,
    )
    return SinkStudy(ohms, point.junction_peak, point.heat_sink)
