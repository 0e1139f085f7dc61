"""Where the high voltage may leave its way: between turns, and from secondary to primary.

Both work per volt on the top load, so that one look at the geometry serves every supply voltage.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from core.coil.breakout import relative_air_density, uniform_gap_voltage
from core.coil.clearance import primary_gaps
from core.coil.resolve import ResolvedCoil, primary_geometry, secondary_geometry
from core.design.coil import CoilGeometry

ENAMEL_STRENGTH: Final = 50e6
"""Working strength of enamel [V/m]: common practice, no source; new films stand three times it."""


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
        Breakdown of that gap as a uniform field in air [V].
    gap : float
        That gap [m].
    """

    turn_stress: float
    turn_withstand: float
    gap_stress: float
    gap_withstand: float
    gap: float


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
    An estimate, +-30 %: the primary stands at earth potential and the gap has a uniform field; a
    sharp strip edge or a burr sparks earlier.
    """
    constants = coil.constants
    if constants is None:
        return None
    secondary, primary = secondary_geometry(geometry), primary_geometry(geometry)
    density = relative_air_density(geometry.air_pressure, temperature)
    withstand = (secondary.overall_diameter - secondary.bare_diameter) * ENAMEL_STRENGTH
    if secondary.spacing > 0.0:
        withstand += uniform_gap_voltage(secondary.spacing, density=density)
    gaps = primary_gaps(primary, secondary)
    profile = constants.profile
    stress = np.interp(gaps.heights, profile.ring_heights, np.abs(profile.voltage))
    stands = np.array([uniform_gap_voltage(float(gap), density=density) for gap in gaps.each])
    worst = int(np.argmax(stress / stands))
    return Insulation(
        turn_stress=constants.turn_voltage,
        turn_withstand=withstand,
        gap_stress=float(stress[worst]),
        gap_withstand=float(stands[worst]),
        gap=float(gaps.each[worst]),
    )
