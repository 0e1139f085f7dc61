"""Where the high voltage may leave its way: between turns, and from secondary to primary.

Both work per volt on the top load, so that one look at the geometry serves every supply voltage.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np

from burstwise.core.coil.breakout import (
    relative_air_density,
    uneven_gap_voltage,
    uniform_gap_voltage,
)
from burstwise.core.coil.clearance import primary_gaps, strike_distance, strike_ring
from burstwise.core.coil.resolve import ResolvedCoil, primary_geometry, secondary_geometry, top_load
from burstwise.core.design.coil import CoilGeometry

ENAMEL_STRENGTH: Final = 50e6
"""Working strength of enamel [V/m]: common practice, no source; new films stand three times it."""

STRIKE_STRENGTH: Final = 2e5
"""Top voltage over the way of a discharge that bursts have grown in warm air [V/m].

Discharges fed by many bursts in a row become two to three times as long as a single spark of the
same voltage; from memory. The lower end.
"""


@dataclass(frozen=True, slots=True)
class Insulation:
    """Stress per volt on top, and what the insulation stands.

    Attributes
    ----------
    turn_stress : float
        Largest voltage between neighbouring turns per volt on top [1].
    turn_withstand : float
        Two enamel films and the gap between them [V].
    gap_stress : float
        Voltage across the worst gap to the primary per volt on top [1].
    gap_withstand : float
        What that gap stands with edges at its ends [V].
    gap : float
        That gap [m].
    strike_withstand : float
        Top voltage whose discharge reaches from the top load to the primary [V]; inf with a strike
        ring, which takes it.
    strike_distance : float
        Shortest way from top load to primary [m].
    """

    turn_stress: float
    turn_withstand: float
    gap_stress: float
    gap_withstand: float
    gap: float
    strike_withstand: float
    strike_distance: float


def insulation(
    geometry: CoilGeometry, coil: ResolvedCoil, *, temperature: float
) -> Insulation | None:
    """Insulation of a coil; None for a coil that is known by measured values only.

    Parameters
    ----------
    geometry : CoilGeometry
        As designed.
    coil : ResolvedCoil
        Values computed from it.
    temperature : float
        Air temperature [C].

    Notes
    -----
    The primary stands at earth potential. The gap is taken as one between uneven electrodes, at
    the lower end of what long gaps stand; a strike as a discharge that has grown over many bursts.
    """
    constants = coil.constants
    if constants is None:
        return None
    secondary, primary = secondary_geometry(geometry), primary_geometry(geometry)
    density = relative_air_density(geometry.air_pressure, temperature)
    withstand = (secondary.overall_diameter - secondary.bare_diameter) * ENAMEL_STRENGTH
    if secondary.spacing > 0.0:
        withstand += uniform_gap_voltage(secondary.spacing, density=density)
    ring = geometry.strike_ring_height
    gaps = primary_gaps(
        primary, secondary, ring=None if ring is None else strike_ring(primary, ring)
    )
    profile = constants.profile
    stress = np.interp(gaps.heights, profile.ring_heights, np.abs(profile.voltage))
    stands = np.array([uneven_gap_voltage(float(gap), density=density) for gap in gaps.each])
    worst = int(np.argmax(stress / stands))
    way = strike_distance(primary, secondary, top_load(geometry))
    return Insulation(
        turn_stress=constants.turn_voltage,
        turn_withstand=withstand,
        gap_stress=float(stress[worst]),
        gap_withstand=float(stands[worst]),
        gap=float(gaps.each[worst]),
        strike_withstand=STRIKE_STRENGTH * density * way if ring is None else math.inf,
        strike_distance=way,
    )
