"""Bounded solves: the geometry that gives a wanted frequency, coupling or breakout voltage."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from burstwise.core.coil.bounded_solve import Solution, nearest_solution
from burstwise.core.coil.breakout import Air, top_load_gradient
from burstwise.core.coil.checks import checked_number
from burstwise.core.coil.geometry import (
    TOP_LOAD,
    PrimaryGeometry,
    SecondaryGeometry,
    TopLoad,
    TopLoadKind,
)
from burstwise.core.coil.resonator import secondary_resonator
from burstwise.core.coil.summary import coil_constants
from burstwise.core.errors import InputError

_RINGS = 60
_DIAMETERS = (1e-3, 5.0)
_HEIGHTS = (-1.0, 5.0)
"""Domain in which a scaled top load is sought [m]; wider than what a design may have, so that no
answer near its limits is lost between two steps of the search."""


def turns_for_resonance(
    frequency: float,
    secondary: SecondaryGeometry,
    top_load: TopLoad,
    *,
    base_height: float,
    low: float = 50.0,
    high: float = 4000.0,
) -> Solution:
    """Turns of the secondary for a wanted resonance, wire and former kept.

    Parameters
    ----------
    frequency : float
        Wanted frequency [Hz].
    secondary, top_load : geometry
        The coil; its turns are the start.
    base_height : float
        As in `secondary_resonator` [m].
    low, high : float
        Range of turns.

    Notes
    -----
    With 60 rings, 0.03 % of the frequency with 100. `Solution.value` is not rounded.

    Raises
    ------
    InputError
        Out of reach; names ``coil.resonance``.

    Examples
    --------
    >>> coil = SecondaryGeometry(0.10964, 0.000315, 0.00036, 800)
    >>> ring = TopLoad(TopLoadKind.TOROID, 0.25, 0.05, centre_height=0.05)
    >>> round(turns_for_resonance(263.3e3, coil, ring, base_height=0.1).value, -1)
    1000.0
    """

    def resonance(turns: float) -> float:
        tried = replace(secondary, turns=turns)
        return secondary_resonator(tried, top_load, base_height, _RINGS).fundamental.frequency

    return nearest_solution(
        resonance,
        frequency,
        low=low,
        high=high,
        start=secondary.turns,
        field="coil.resonance",
        unit="Hz",
    )


def primary_turns_for_coupling(
    coupling: float,
    primary: PrimaryGeometry,
    secondary: SecondaryGeometry,
    top_load: TopLoad,
    *,
    base_height: float,
    high: float = 30.0,
) -> Solution:
    """Primary turns for a wanted coupling, start, pitch and conductor kept.

    Parameters
    ----------
    coupling : float
        Wanted coupling.
    primary, secondary, top_load : geometry
        The coil; the tap is taken off and all turns are used.
    base_height : float
        [m]
    high : float
        Most turns.

    Notes
    -----
    Coupling moves little with turns: 10 to 20 % from two turns to ten is usual.

    Raises
    ------
    InputError
        Out of reach; names ``coil.coupling``.

    Examples
    --------
    >>> from burstwise.core.coil.geometry import ConductorKind, PrimaryConductor, PrimaryShape
    >>> wire = PrimaryConductor(ConductorKind.WIRE, diameter=0.0025)
    >>> helix = PrimaryGeometry(PrimaryShape.HELICAL, wire, 0.085, 5, 0.01)
    >>> coil = SecondaryGeometry(0.10964, 0.000315, 0.00036, 1000)
    >>> ring = TopLoad(TopLoadKind.TOROID, 0.25, 0.05, centre_height=0.05)
    >>> found = primary_turns_for_coupling(0.33, helix, coil, ring, base_height=0.1)
    >>> 6 < found.value < 9
    True
    """
    return _for_coupling(
        coupling,
        lambda turns: replace(primary, turns=turns, tap=None),
        secondary,
        top_load,
        base_height=base_height,
        span=(1.0, primary.used_turns, high),
    )


def primary_height_for_coupling(
    coupling: float,
    primary: PrimaryGeometry,
    secondary: SecondaryGeometry,
    top_load: TopLoad,
    *,
    base_height: float,
) -> Solution:
    """Height of the primary's start for a wanted coupling, nearest to where it is.

    Parameters
    ----------
    coupling : float
        Wanted coupling.
    primary, secondary, top_load : geometry
        The coil.
    base_height : float
        Lowest the primary may reach is the earth plane [m].

    Raises
    ------
    InputError
        Out of reach; names ``coil.coupling``.

    Examples
    --------
    >>> from burstwise.core.coil.geometry import ConductorKind, PrimaryConductor, PrimaryShape
    >>> wire = PrimaryConductor(ConductorKind.WIRE, diameter=0.0025)
    >>> helix = PrimaryGeometry(PrimaryShape.HELICAL, wire, 0.085, 8, 0.01)
    >>> coil = SecondaryGeometry(0.10964, 0.000315, 0.00036, 1000)
    >>> ring = TopLoad(TopLoadKind.TOROID, 0.25, 0.05, centre_height=0.05)
    >>> found = primary_height_for_coupling(0.25, helix, coil, ring, base_height=0.1)
    >>> -0.1 < found.value < 0.0, round(found.reached, 6)
    (True, 0.25)
    """
    return _for_coupling(
        coupling,
        lambda height: replace(primary, start_height=height),
        secondary,
        top_load,
        base_height=base_height,
        span=(-base_height, primary.start_height, secondary.length),
    )


def _for_coupling(
    coupling: float,
    primary: Callable[[float], PrimaryGeometry],
    secondary: SecondaryGeometry,
    top_load: TopLoad,
    *,
    base_height: float,
    span: tuple[float, float, float],
) -> Solution:
    """What makes a primary of the wanted coupling; `span` is lowest, present and highest value."""

    def reached(value: float) -> float:
        tried = primary(value)
        return coil_constants(
            tried, secondary, top_load, base_height=base_height, rings=_RINGS
        ).coupling

    low, start, high = span
    return nearest_solution(
        reached, coupling, low=low, high=high, start=start, field="coil.coupling", unit=""
    )


def scaled_top_load(top_load: TopLoad, factor: float) -> TopLoad:
    """Top load with both diameters scaled and the air below it kept.

    Parameters
    ----------
    top_load : TopLoad
        Sphere, toroid or disc.
    factor : float
        Scale, above 0.

    Examples
    --------
    >>> grown = scaled_top_load(TopLoad(TopLoadKind.TOROID, 0.2, 0.04, centre_height=0.05), 1.5)
    >>> round(grown.diameter, 3), round(grown.thickness, 3), round(grown.centre_height, 3)
    (0.3, 0.06, 0.06)
    """
    return replace(
        top_load,
        diameter=factor * top_load.diameter,
        thickness=factor * top_load.thickness,
        centre_height=top_load.centre_height + (factor - 1.0) * top_load.tube_radius,
    )


def top_load_for_breakout(
    voltage: float,
    secondary: SecondaryGeometry,
    top_load: TopLoad,
    *,
    base_height: float,
    air: Air | None = None,
) -> Solution:
    """Scale of the top load for a wanted breakout voltage, 0.1 to 5; see `scaled_top_load`.

    Parameters
    ----------
    voltage : float
        Wanted peak voltage [V].
    secondary, top_load : geometry
        The coil.
    base_height : float
        [m]
    air : Air or None
        As in `coil_constants`.

    Raises
    ------
    InputError
        No top load given (``coil.top_load.kind``) or out of reach (``coil.breakout_voltage``).

    Examples
    --------
    >>> coil = SecondaryGeometry(0.10964, 0.000315, 0.00036, 1000)
    >>> ring = TopLoad(TopLoadKind.TOROID, 0.25, 0.05, centre_height=0.05)
    >>> found = top_load_for_breakout(300e3, coil, ring, base_height=0.1)
    >>> 1.2 < found.value < 1.8
    True
    """
    if top_load.kind is TopLoadKind.NONE:
        raise InputError(f"{TOP_LOAD}.kind", "none", "a sphere, toroid or disc to be scaled")
    density = (air or Air()).relative_density

    def breakout(factor: float) -> float:
        tried = scaled_top_load(top_load, factor)
        _check_scaled(tried)
        field = secondary_resonator(secondary, tried, base_height, _RINGS).surface_field
        return top_load_gradient(tried, secondary.bare_diameter, density=density) / field

    return nearest_solution(
        breakout,
        voltage,
        low=0.1,
        high=5.0,
        start=1.0,
        field="coil.breakout_voltage",
        unit="V",
    )


def _check_scaled(tried: TopLoad) -> None:
    checked_number(f"{TOP_LOAD}.diameter", tried.diameter, *_DIAMETERS, "m")
    checked_number(f"{TOP_LOAD}.centre_height", tried.centre_height, *_HEIGHTS, "m")
