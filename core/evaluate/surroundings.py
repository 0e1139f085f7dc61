"""Field around the coil of evaluated results, and the distance at which levels are met."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

import numpy as np

from burstwise.core.coil.arrays import Floats
from burstwise.core.coil.field_around import (
    FieldSources,
    electric_field,
    field_sources,
    magnetic_field,
    quasi_static_reach,
)
from burstwise.core.coil.field_distance import (
    LEAST_FREQUENCY,
    MOST_FREQUENCY,
    REFERENCE_LEVELS,
    Emission,
    FieldDistance,
    field_distances,
)
from burstwise.core.coil.resolve import primary_geometry, secondary_geometry, top_load
from burstwise.core.design.coil import CoilGeometry
from burstwise.core.evaluate.results import Results
from burstwise.core.units import shown

NO_GEOMETRY: Final = (
    "Not computed: the coil is given by measured values, and without its geometry the field "
    "around it is not known."
)
LARGEST_MAP: Final = 100.0
"""Distance from the axis that a map shows at most [m]."""
_MAP_POINTS: Final = 44
"""Its points in each direction."""
NO_CARRIER: Final = "Not computed: the stage does not oscillate."


@dataclass(frozen=True, slots=True, eq=False)
class Surroundings:
    """Sources of the field around a coil and the distances that follow.

    Parameters
    ----------
    sources : FieldSources
        Charges and currents.
    emission : Emission
        Their strength.
    distances : tuple of FieldDistance
        One for each of `REFERENCE_LEVELS`.
    """

    sources: FieldSources
    emission: Emission
    distances: tuple[FieldDistance, ...]

    @property
    def farthest(self) -> float:
        """Largest of all the distances [m]."""
        return max(item.largest for item in self.distances)

    def farthest_of(self, group: str) -> float:
        """Largest of the distances of a group of levels, ``"public"`` or ``"occupational"`` [m]."""
        return max(item.largest for item in self.distances if item.level.name.startswith(group))

    @property
    def beyond_reach(self) -> bool:
        """Whether a distance lies beyond what the quasi-static field is good for."""
        return self.farthest > quasi_static_reach(self.emission.frequency)


def emission_of(results: Results) -> Emission:
    """Strength of the field's sources towards the end of a burst, RMS.

    The steady peak top voltage as a sine; the primary current without its mean, its harmonics
    counted in.

    Parameters
    ----------
    results : Results
        Evaluated design.
    """
    run = results.carrier
    square = run.supply_current_rms**2 - run.supply_current_mean**2
    return Emission(
        top_voltage=run.top_voltage_peak / math.sqrt(2.0),
        primary_current=math.sqrt(max(square, 0.0)),
        frequency=run.frequency,
    )


def why_not_computed(results: Results) -> str:
    """Why there is no field to compute, in a sentence; empty where there is one."""
    if results.design.coil.given_by != "geometry":
        return NO_GEOMETRY
    if not results.carrier.oscillates:
        return NO_CARRIER
    if not LEAST_FREQUENCY <= results.carrier.frequency <= MOST_FREQUENCY:
        return (
            f"Not computed: the reference levels hold from {shown(LEAST_FREQUENCY, 'Hz')} to "
            f"{shown(MOST_FREQUENCY, 'Hz')}, the carrier is at "
            f"{shown(results.carrier.frequency, 'Hz')}."
        )
    return ""


def surroundings_of(results: Results) -> Surroundings | None:
    """Field around the coil of evaluated results; None where `why_not_computed` says why.

    Parameters
    ----------
    results : Results
        Evaluated design.

    Notes
    -----
    Kept for the last 16 coils and operating points.
    """
    if why_not_computed(results):
        return None
    return _surroundings(results.design.coil.geometry, emission_of(results))


def field_distance_object(results: Results) -> dict[str, float | str | None]:
    """Distances by reference level as a JSON-ready object [m], and why there are none."""
    found = surroundings_of(results)
    values: dict[str, float | str | None] = {f"{level.name}_m": None for level in REFERENCE_LEVELS}
    for item in () if found is None else found.distances:
        values[f"{item.level.name}_m"] = item.largest if math.isfinite(item.largest) else None
    return {**values, "not_computed": why_not_computed(results) or None}


@dataclass(frozen=True, slots=True, eq=False)
class FieldMap:
    """Field over a half-plane through the axis.

    Parameters
    ----------
    radii : array of shape (n,)
        Distances from the axis [m].
    heights : array of shape (m,)
        Heights above the earth plane [m].
    electric, magnetic : array of shape (n, m)
        RMS field [V/m], [T].
    """

    radii: Floats
    heights: Floats
    electric: Floats
    magnetic: Floats


def field_map(found: Surroundings) -> FieldMap:
    """Field from the axis to somewhat beyond the farthest distance, closer points near the coil.

    Parameters
    ----------
    found : Surroundings
        The coil and its strength.

    Notes
    -----
    On a ring itself the field has no value; the largest other one stands there. Where a level is
    met farther than `LARGEST_MAP`, the map ends there.
    """
    sources, strength = found.sources, found.emission
    reach = min(max(found.farthest, 3.0 * sources.edge), LARGEST_MAP)
    radii = _closer_near(1.1 * reach, 2.0 * sources.edge)
    # A dipole reaches 2^(1/3) times as far along its axis as beside it.
    heights = _closer_near(1.3 * reach + sources.top_height, 1.5 * sources.top_height)
    r, z = radii[:, None], heights[None, :]
    with np.errstate(divide="ignore", invalid="ignore"):
        electric = electric_field(sources, r, z, top_voltage=strength.top_voltage)
        magnetic = magnetic_field(
            sources,
            r,
            z,
            top_voltage=strength.top_voltage,
            primary_current=strength.primary_current,
            frequency=strength.frequency,
        )
    return FieldMap(radii, heights, _finite(electric), _finite(magnetic))


def _closer_near(end: float, near: float) -> Floats:
    """Places from 0 to an end, their steps growing with the distance, even up to about `near`."""
    bend = math.asinh(end / near)
    return np.asarray(near * np.sinh(bend * np.linspace(0.0, 1.0, _MAP_POINTS)))


def _finite(values: Floats) -> Floats:
    there = np.isfinite(values)
    return np.where(there, values, np.max(values[there]))


@lru_cache(maxsize=16)
def _surroundings(geometry: CoilGeometry, emission: Emission) -> Surroundings:
    sources = field_sources(
        primary_geometry(geometry),
        secondary_geometry(geometry),
        top_load(geometry),
        base_height=geometry.base_height,
    )
    return Surroundings(sources, emission, field_distances(sources, emission))
