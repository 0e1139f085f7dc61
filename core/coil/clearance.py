"""Do the parts of a coil fit: primary against secondary, earth plane and top load."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from burstwise.core.coil.arrays import Floats
from burstwise.core.coil.geometry import (
    PRIMARY,
    PrimaryGeometry,
    SecondaryGeometry,
    TopLoad,
    TopLoadKind,
)
from burstwise.core.errors import InputError


@dataclass(frozen=True, slots=True, eq=False)
class PrimaryGaps:
    """Air gap of each primary loop to the winding, and its height above the foot [m]."""

    each: Floats
    heights: Floats

    @property
    def smallest(self) -> float:
        """The smallest gap [m]."""
        return float(np.min(self.each))


@dataclass(frozen=True, slots=True)
class StrikeRing:
    """Open ring at 0 V above the primary's outer edge, which takes strikes from the top [m].

    Attributes
    ----------
    radius : float
        To the middle of its conductor.
    height : float
        Above the foot of the winding.
    """

    radius: float
    height: float


def strike_ring(primary: PrimaryGeometry, above: float) -> StrikeRing:
    """Ring as wide as the primary and so far above its highest turn.

    Parameters
    ----------
    primary : PrimaryGeometry
        The primary.
    above : float
        Height over the upper side of its highest turn [m].
    """
    loops = primary.loops(used_only=False)
    top = float(np.max(loops.heights)) + primary.half_height
    return StrikeRing(float(np.max(loops.radii)), top + above)


def primary_gaps(
    primary: PrimaryGeometry, secondary: SecondaryGeometry, *, ring: StrikeRing | None = None
) -> PrimaryGaps:
    """Air gaps from each loop of the primary, tapped off or not, to the winding.

    Parameters
    ----------
    primary, secondary : geometry
        The two windings.
    ring : StrikeRing, optional
        Counts as one loop more; its conductor as thin.

    Examples
    --------
    >>> from burstwise.core.coil.geometry import ConductorKind, PrimaryConductor, PrimaryShape
    >>> wire = PrimaryConductor(ConductorKind.WIRE, diameter=0.0025)
    >>> helix = PrimaryGeometry(PrimaryShape.HELICAL, wire, 0.085, 8, 0.01)
    >>> coil = SecondaryGeometry(0.11, 0.000315, 0.00036, 1000)
    >>> f"{primary_gaps(helix, coil).smallest * 1e3:.2f} mm"
    '28.39 mm'
    """
    loops = primary.loops(used_only=False)
    sideways = loops.radii - primary.half_width - secondary.outer_radius
    below = -(loops.heights + primary.half_height)
    above = loops.heights - primary.half_height - secondary.length
    beyond = np.maximum(np.maximum(below, above), 0.0)
    gaps = np.where(sideways > 0.0, np.hypot(np.maximum(sideways, 0.0), beyond), beyond)
    if ring is None:
        return PrimaryGaps(gaps, loops.heights)
    beside = max(ring.radius - secondary.outer_radius, 0.0)
    over = max(-ring.height, ring.height - secondary.length, 0.0)
    return PrimaryGaps(
        np.append(gaps, np.hypot(beside, over)), np.append(loops.heights, ring.height)
    )


def strike_distance(
    primary: PrimaryGeometry, secondary: SecondaryGeometry, top_load: TopLoad
) -> float:
    """Shortest way through air from the top load to the primary [m].

    From the end of the winding where there is no top load.

    Examples
    --------
    >>> from burstwise.core.coil.geometry import ConductorKind, PrimaryConductor, PrimaryShape
    >>> wire = PrimaryConductor(ConductorKind.WIRE, diameter=0.002)
    >>> flat = PrimaryGeometry(PrimaryShape.FLAT, wire, 0.1, 1, 0.01)
    >>> coil = SecondaryGeometry(0.11, 0.000315, 0.00036, 1000)
    >>> ball = TopLoad(TopLoadKind.SPHERE, diameter=0.2, centre_height=0.1)
    >>> round(strike_distance(flat, coil, ball), 3)
    0.371
    """
    reach = max(primary.half_width, primary.half_height)
    if top_load.kind is TopLoadKind.NONE:
        loops = primary.loops(used_only=False)
        away = np.hypot(loops.radii - secondary.outer_radius, loops.heights - secondary.length)
        return max(float(np.min(away)) - reach, 0.0)
    return max(_to_top_load(primary, secondary, top_load) - top_load.tube_radius - reach, 0.0)


def _to_top_load(
    primary: PrimaryGeometry, secondary: SecondaryGeometry, top_load: TopLoad
) -> float:
    """Shortest way from the loops' middle to the middle line of the top load's body [m]."""
    loops = primary.loops(used_only=False)
    rise = loops.heights - secondary.length - top_load.centre_height
    if top_load.kind is TopLoadKind.DISC:
        inwards = np.maximum(loops.radii - 0.5 * top_load.diameter, 0.0)
    elif top_load.kind is TopLoadKind.TOROID:
        inwards = loops.radii - top_load.ring_radius
    else:
        inwards = loops.radii
    return float(np.min(np.hypot(inwards, rise)))


def check_primary_position(
    primary: PrimaryGeometry,
    secondary: SecondaryGeometry,
    top_load: TopLoad,
    *,
    base_height: float,
) -> None:
    """Refuse a primary that cuts the secondary, the earth plane or the top load.

    Raises
    ------
    InputError
        Names ``coil.primary.inner_radius`` or ``coil.primary.start_height``.

    Examples
    --------
    >>> from burstwise.core.coil.geometry import ConductorKind, PrimaryConductor, PrimaryShape
    >>> wire = PrimaryConductor(ConductorKind.WIRE, diameter=0.0025)
    >>> helix = PrimaryGeometry(PrimaryShape.HELICAL, wire, 0.055, 8, 0.01)
    >>> coil = SecondaryGeometry(0.11, 0.000315, 0.00036, 1000)
    >>> bare = TopLoad(TopLoadKind.NONE)
    >>> check_primary_position(helix, coil, bare, base_height=0.1)
    Traceback (most recent call last):
    burstwise.core.errors.InputError: coil.primary.inner_radius must be more than 0.05661 m, ...
    """
    if primary_gaps(primary, secondary).smallest <= 0.0:
        need = secondary.outer_radius + primary.half_width
        raise InputError(
            f"{PRIMARY}.inner_radius",
            primary.inner_radius,
            f"more than {need:.4g} m, clear of the secondary winding",
        )
    loops = primary.loops(used_only=False)
    lowest = float(np.min(loops.heights)) - primary.half_height
    if base_height + lowest <= 0.0:
        raise InputError(
            f"{PRIMARY}.start_height",
            primary.start_height,
            "such that the whole primary lies above the earth plane",
        )
    if top_load.kind is TopLoadKind.NONE:
        return
    reach = max(primary.half_width, primary.half_height) + top_load.tube_radius
    if _to_top_load(primary, secondary, top_load) <= reach:
        raise InputError(
            f"{PRIMARY}.start_height",
            primary.start_height,
            "such that the primary clears the top load",
        )
