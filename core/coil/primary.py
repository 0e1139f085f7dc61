"""Self-inductance and resistance of the primary winding."""

from __future__ import annotations

import math

import numpy as np

from burstwise.core.coil.copper import skin_depth
from burstwise.core.coil.geometry import (
    PRIMARY,
    ConductorKind,
    LoopSet,
    PrimaryConductor,
    PrimaryGeometry,
    PrimaryShape,
)
from burstwise.core.coil.loops import loop_sum_inductance
from burstwise.core.coil.proximity import thin_skin_proximity_factor, winding_resistance_ratio
from burstwise.core.coil.skin import (
    internal_inductance_ratio,
    skin_resistance_ratio,
    tube_resistance_ratio,
)
from burstwise.core.coil.solenoid import solenoid_inductance
from burstwise.core.constants import MU_0
from burstwise.core.errors import InputError

_STRIP_DISTANCE = 0.2235
_SMALLEST_RADIUS = 4.0
"""Radius over the mean distance of the section from itself, below which a loop is not thin."""


def conductor_mean_distance(conductor: PrimaryConductor) -> float:
    """Geometric mean distance of a conductor's section from itself [m].

    Round wire with even current ``r exp(-1/4)``; tube ``r`` (thin wall); strip
    ``0.2235 (w + t)``.

    Notes
    -----
    A tube's current sits on its skin at any frequency of interest here. The strip's figure is
    exact to 0.3 % for any sides. Source: E. B. Rosa and F. W. Grover, Bull. Bureau of Standards
    8 (1912) 1 (from memory).

    Examples
    --------
    >>> wire = PrimaryConductor(ConductorKind.WIRE, diameter=0.0025)
    >>> f"{conductor_mean_distance(wire) * 1e3:.4f} mm"
    '0.9735 mm'
    """
    if conductor.kind is ConductorKind.STRIP:
        return _STRIP_DISTANCE * (conductor.width + conductor.thickness)
    radius = 0.5 * conductor.diameter
    return radius if conductor.kind is ConductorKind.TUBE else radius * math.exp(-0.25)


def primary_inductance(primary: PrimaryGeometry) -> float:
    """Low-frequency inductance of the turns in use [H].

    A helical winding is a current sheet with Rosa's correction, a flat or conical one the sum over
    its loops; between whole numbers of turns the sum is interpolated as a power of the turns, and
    so is less than one turn of a helical one.

    Parameters
    ----------
    primary : PrimaryGeometry
        Winding.

    Notes
    -----
    Circular turns, leads left out. Source: burstwise.core.coil.solenoid and
    burstwise.core.coil.loops.

    Raises
    ------
    InputError
        Section too large for its turn: at the limit, a strip 1.1 times as wide as the radius, one
        turn comes out 5 % below a current sheet of its width.

    Examples
    --------
    >>> wire = PrimaryConductor(ConductorKind.WIRE, diameter=0.0025)
    >>> helix = PrimaryGeometry(PrimaryShape.HELICAL, wire, 0.085, 8, 0.01)
    >>> f"{primary_inductance(helix) * 1e6:.5f} µH"
    '12.14906 µH'
    """
    distance = conductor_mean_distance(primary.conductor)
    least = _SMALLEST_RADIUS * distance
    if primary.inner_radius < least:
        raise InputError(
            f"{PRIMARY}.inner_radius",
            primary.inner_radius,
            f"at least {least:.4g} m for a conductor so wide",
        )
    turns = primary.used_turns
    if primary.shape is PrimaryShape.HELICAL:

        def helix(number: float) -> float:
            return solenoid_inductance(
                2.0 * primary.inner_radius,
                turns=number,
                pitch=primary.pitch,
                mean_distance=distance,
            )

        return helix(turns) if turns >= 1.0 else _part_of_a_turn(turns, helix(1.0), helix(2.0))
    lower = max(math.floor(turns + 1e-9), 1)
    loops = _whole_loops(primary, lower)
    below = loop_sum_inductance(loops.radii, loops.heights, mean_distance=distance)
    if abs(turns - lower) < 1e-9:
        return below
    loops = _whole_loops(primary, lower + 1)
    above = loop_sum_inductance(loops.radii, loops.heights, mean_distance=distance)
    power = math.log(above / below) / math.log((lower + 1) / lower)
    return float(below * (turns / lower) ** power)


def _part_of_a_turn(turns: float, one: float, two: float) -> float:
    """Inductance of less than a turn, as the power of the turns that goes from one to two of them.

    Two turns that link none of each other's flux have twice the inductance of one, two that link
    all of it four times; the correction for round wire knows no such bound below one turn.
    """
    return float(one * turns ** math.log2(min(max(two / one, 2.0), 4.0)))


def primary_ac_inductance(
    primary: PrimaryGeometry, frequency: float, *, resistivity: float
) -> float:
    """Inductance with the wire's internal field pushed out by the skin effect [H].

    ``L - (mu0/8 pi) l (1 - Li/Li0)`` for round wire; tubes and strips have no such part.

    Parameters
    ----------
    primary : PrimaryGeometry
        Winding.
    frequency : float
        Frequency [Hz].
    resistivity : float
        Of the conductor [ohm m].

    Notes
    -----
    The shift of current by neighbouring turns is left out: widely spaced turns.

    Examples
    --------
    >>> wire = PrimaryConductor(ConductorKind.WIRE, diameter=0.0025)
    >>> helix = PrimaryGeometry(PrimaryShape.HELICAL, wire, 0.085, 8, 0.01)
    >>> f"{primary_ac_inductance(helix, 263e3, resistivity=1.7241e-8) * 1e6:.3f} µH"
    '11.979 µH'
    """
    low = primary_inductance(primary)
    if primary.conductor.kind is not ConductorKind.WIRE:
        return low
    ratio = 0.5 * primary.conductor.diameter / skin_depth(frequency, resistivity)
    internal = MU_0 / (8.0 * math.pi) * primary_length(primary)
    return low - internal * (1.0 - internal_inductance_ratio(ratio))


def primary_length(primary: PrimaryGeometry) -> float:
    """Length of conductor in the turns in use [m], leads not counted.

    Examples
    --------
    >>> wire = PrimaryConductor(ConductorKind.WIRE, diameter=0.0025)
    >>> helix = PrimaryGeometry(PrimaryShape.HELICAL, wire, 0.085, 8, 0.01)
    >>> f"{primary_length(helix):.4f} m"
    '4.2733 m'
    """
    loops = primary.loops()
    circles = 2.0 * math.pi * loops.radii
    return float(np.sum(loops.weights * np.hypot(circles, primary.pitch)))


def primary_resistance(primary: PrimaryGeometry, frequency: float, *, resistivity: float) -> float:
    """Ac resistance of the turns in use [ohm].

    Round wire: `winding_resistance_ratio`; tube: exact skin effect of a tube times
    `thin_skin_proximity_factor`; strip: current in one skin depth all round its edge, or dc if that
    is more.

    Parameters
    ----------
    primary : PrimaryGeometry
        Winding.
    frequency : float
        Frequency [Hz], above 0.
    resistivity : float
        Of the conductor [ohm m].

    Notes
    -----
    The proximity part is that of a long winding, so it overstates short primaries of few turns:
    by at most 28 % at d/p = 0.25. The strip's crowding at the edges is left out: its
    figure is 1.2 to 2 times low (common practice, no source). Leads and joints not counted.

    Examples
    --------
    >>> wire = PrimaryConductor(ConductorKind.WIRE, diameter=0.0025)
    >>> helix = PrimaryGeometry(PrimaryShape.HELICAL, wire, 0.085, 8, 0.01)
    >>> f"{primary_resistance(helix, 263e3, resistivity=1.7241e-8) * 1e3:.1f} mΩ"
    '96.5 mΩ'
    """
    conductor = primary.conductor
    direct = resistivity * primary_length(primary) / conductor.area
    depth = skin_depth(frequency, resistivity)
    if conductor.kind is ConductorKind.STRIP:
        skin = 2.0 * depth * (conductor.width + conductor.thickness)
        return direct * max(1.0, conductor.area / skin)
    single = primary.used_turns <= 1.0
    closeness = 0.0 if single else min(conductor.diameter / primary.pitch, 0.95)
    in_depths = 0.5 * conductor.diameter / depth
    if conductor.kind is ConductorKind.WIRE:
        ratio = (
            skin_resistance_ratio(in_depths)
            if single
            else winding_resistance_ratio(in_depths, closeness)
        )
        return direct * ratio
    tube = tube_resistance_ratio(in_depths, 2.0 * conductor.wall / conductor.diameter)
    return direct * tube * thin_skin_proximity_factor(closeness)


def _whole_loops(primary: PrimaryGeometry, turns: int) -> LoopSet:
    along = primary.pitch * (np.arange(turns) + 0.5)
    return LoopSet(
        radii=primary.inner_radius + along * math.cos(primary.slope),
        heights=primary.start_height + along * math.sin(primary.slope),
        weights=np.ones(turns),
    )
