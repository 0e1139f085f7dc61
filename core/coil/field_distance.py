"""Distance from a coil at which its field is down to published reference levels."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

import numpy as np
from scipy.optimize import brentq

from burstwise.core.coil.arrays import Floats
from burstwise.core.coil.field_around import FieldSources, electric_field, magnetic_field

LEAST_FREQUENCY: Final = 3e3
MOST_FREQUENCY: Final = 10e6
"""Frequencies between which the reference levels hold [Hz]."""

CHEST: Final = 1.3
"""Height of a standing adult's chest [m] (common practice, no source)."""
HEAD: Final = 1.6
"""Height of a standing adult's head [m] (common practice, no source)."""
HEIGHTS: Final = (0.0, 0.4, 0.8, 1.0, CHEST, HEAD, 2.0)
"""Heights above the earth plane that are looked at [m], beside those of the coil's own parts."""

_FARTHEST: Final = 1000.0
_RADII: Final = 24


@dataclass(frozen=True, slots=True)
class ReferenceLevel:
    """One reference level.

    Parameters
    ----------
    name : str
        Key, such as ``"public_electric"``.
    title : str
        In words.
    value : float
        RMS level [V/m] or [T].
    unit : str
        Unit of the value.
    """

    name: str
    title: str
    value: float
    unit: str

    @property
    def electric(self) -> bool:
        """Whether it is one of the electric field."""
        return self.unit == "V/m"


REFERENCE_LEVELS: Final = (
    ReferenceLevel("public_electric", "General public, electric field", 83.0, "V/m"),
    ReferenceLevel("public_magnetic", "General public, magnetic field", 27e-6, "T"),
    ReferenceLevel("occupational_electric", "Occupational, electric field", 170.0, "V/m"),
    ReferenceLevel("occupational_magnetic", "Occupational, magnetic field", 100e-6, "T"),
)
"""Reference levels for the undisturbed field, RMS, from 3 kHz to 10 MHz.

Source: ICNIRP, Guidelines for limiting exposure to time-varying electric and magnetic fields (1 Hz
to 100 kHz), Health Physics 99 (2010) 818; quoted from reprints, from memory.
"""


@dataclass(frozen=True, slots=True)
class Emission:
    """Strength of the sources during a burst, RMS.

    Parameters
    ----------
    top_voltage : float
        Voltage on top [V].
    primary_current : float
        Primary current without its mean [A].
    frequency : float
        Carrier frequency [Hz].
    """

    top_voltage: float
    primary_current: float
    frequency: float


@dataclass(frozen=True, slots=True, eq=False)
class FieldDistance:
    """Distances from the axis beyond which one reference level is kept.

    Parameters
    ----------
    level : ReferenceLevel
        The level.
    heights : array of shape (n,)
        Heights above the earth plane [m].
    distances : array of shape (n,)
        Distance at each height [m], never less than the coil's outline.
    """

    level: ReferenceLevel
    heights: Floats
    distances: Floats

    @property
    def largest(self) -> float:
        """Distance at which the level is kept at every height [m]."""
        return float(np.max(self.distances))

    def at(self, height: float) -> float:
        """Distance at one of the heights [m]."""
        return float(self.distances[int(np.argmin(np.abs(self.heights - height)))])


def field_distances(sources: FieldSources, emission: Emission) -> tuple[FieldDistance, ...]:
    """Distance from the axis at which each of the reference levels is met, per height.

    The outermost crossing counts; the heights are those of a person and of the coil's parts.
    Where the level is kept right at the coil's outline, the outline is the answer, for nothing is
    computed inside of it.

    Parameters
    ----------
    sources : FieldSources
        The coil.
    emission : Emission
        Its voltage and current.

    Notes
    -----
    Looked for from the outline to 1 km on a grid of 24 radii in equal steps of the logarithm,
    then with Brent's method to 0.1 mm; infinite where the field is above the level still at 1 km.

    Examples
    --------
    >>> from burstwise.core.coil.field_around import field_sources
    >>> from burstwise.core.coil.geometry import *
    >>> wire = PrimaryConductor(ConductorKind.WIRE, diameter=0.0025)
    >>> helix = PrimaryGeometry(PrimaryShape.HELICAL, wire, 0.085, 8, 0.01)
    >>> coil = SecondaryGeometry(0.10964, 0.000315, 0.00036, 1000)
    >>> ring = TopLoad(TopLoadKind.TOROID, 0.25, 0.05, centre_height=0.05)
    >>> sources = field_sources(helix, coil, ring, base_height=0.1)
    >>> for found in field_distances(sources, Emission(14e3, 3.0, 263e3)):
    ...     print(f"{found.level.title}: {found.largest:.2f} m")
    General public, electric field: 2.63 m
    General public, magnetic field: 0.19 m
    Occupational, electric field: 2.05 m
    Occupational, magnetic field: 0.16 m
    """

    def electric(radius: Floats, height: Floats) -> Floats:
        return electric_field(sources, radius, height, top_voltage=emission.top_voltage)

    def magnetic(radius: Floats, height: Floats) -> Floats:
        return magnetic_field(
            sources,
            radius,
            height,
            top_voltage=emission.top_voltage,
            primary_current=emission.primary_current,
            frequency=emission.frequency,
        )

    heights = np.unique([*HEIGHTS, *_own_heights(sources)])
    radii = np.geomspace(sources.edge, _FARTHEST, _RADII)
    fields = {True: electric, False: magnetic}
    grids = {key: field(radii, heights[:, None]) for key, field in fields.items()}
    return tuple(
        FieldDistance(
            level,
            heights,
            np.array(
                [
                    _outermost(fields[level.electric], row, radii, float(height), level.value)
                    for row, height in zip(grids[level.electric], heights, strict=True)
                ]
            ),
        )
        for level in REFERENCE_LEVELS
    )


def _own_heights(sources: FieldSources) -> list[float]:
    """Heights at which a field close to the coil is largest: top load, windings' ends, middles."""
    found = [sources.top_height]
    for loops in (sources.primary, sources.winding):
        if loops.heights.size:
            low, high = float(np.min(loops.heights)), float(np.max(loops.heights))
            found += [low, 0.5 * (low + high), high]
    return found


def _outermost(
    field: Callable[[Floats, Floats], Floats],
    row: Floats,
    radii: Floats,
    height: float,
    level: float,
) -> float:
    above = np.flatnonzero(row > level)
    if not above.size:
        return float(radii[0])
    last = int(above[-1])
    if last == len(radii) - 1:
        return math.inf
    at = np.array(height)

    def excess(radius: float) -> float:
        return float(field(np.array(radius), at)) / level - 1.0

    return float(brentq(excess, radii[last], radii[last + 1], xtol=1e-4))
