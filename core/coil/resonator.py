"""The secondary as a distributed resonator: winding, top load and earth plane by field sums."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from burstwise.core.coil.arrays import Floats
from burstwise.core.coil.charges import (
    ChargeNodes,
    ring_potential,
    top_load_nodes,
    winding_potential_matrix,
)
from burstwise.core.coil.geometry import TOP_LOAD, LoopSet, SecondaryGeometry, TopLoad, TopLoadKind
from burstwise.core.coil.line import LineMode, line_modes
from burstwise.core.coil.solenoid import rosa_correction, sheet_inductance
from burstwise.core.constants import EPSILON_0
from burstwise.core.errors import InputError
from burstwise.core.linear_algebra import one_thread

_ROUND_WIRE = math.exp(-0.25)
_NODES = 24
_BAND_POINTS = 4


@dataclass(frozen=True, slots=True, eq=False)
class Resonator:
    """Modes of a secondary with its top load, and what follows for the lumped stage.

    Parameters
    ----------
    modes : tuple of LineMode
        The lowest modes, scaled to 1 V at the top.
    ring_heights : array of shape (N,)
        Middle of each ring above the winding's bottom [m].
    inductance : float
        Low-frequency inductance with even current [H].
    surface_field : float
        Largest field on the top load, or on the last turn's wire without one, at 1 V [1/m].
    charges : LoopSet
        Rings of charge of winding and top load in the lowest mode: heights above the earth
        plane [m], weights the charge at 1 V on top [C].
    """

    modes: tuple[LineMode, ...]
    ring_heights: Floats
    inductance: float
    surface_field: float
    charges: LoopSet

    @property
    def fundamental(self) -> LineMode:
        """The lowest mode."""
        return self.modes[0]


@lru_cache(maxsize=64)
@one_thread
def secondary_resonator(
    secondary: SecondaryGeometry,
    top_load: TopLoad,
    base_height: float,
    rings: int = 100,
) -> Resonator:
    """Lowest modes of a secondary over an earthed plane, foot earthed.

    Parameters
    ----------
    secondary : SecondaryGeometry
        Winding.
    top_load : TopLoad
        Conductor on top, or none.
    base_height : float
        Height of the winding's bottom above the plane [m], at least 0.
    rings : int
        Number of rings that the winding is cut into, 10 to 400.

    Notes
    -----
    Quasi-static; no former, lead, primary conductor or walls. Results are kept for the last 64
    geometries, so that a primary can be moved at no cost. Source: docs/theory_coil.md.

    Raises
    ------
    InputError
        Number of rings outside its range, or top load inside the winding or below the plane.

    Examples
    --------
    >>> wire = SecondaryGeometry(0.11 - 0.00036, 0.000315, 0.00036, 1000)
    >>> ring = TopLoad(TopLoadKind.TOROID, 0.25, 0.05, centre_height=0.05)
    >>> f"{secondary_resonator(wire, ring, 0.1).fundamental.frequency / 1e3:.0f} kHz"
    '263 kHz'
    """
    if not 10 <= rings <= 400:
        raise InputError("rings", rings, "between 10 and 400")
    check_top_load_position(secondary, top_load, base_height)
    radius, length = 0.5 * secondary.mean_diameter, secondary.length
    winding = winding_potential_matrix(radius, length, rings=rings, base_height=base_height)
    potential, nodes, spread = _loaded_matrix(winding, secondary, top_load, base_height)
    inductance = ring_inductance_matrix(secondary, rings)
    modes = line_modes(inductance, potential, count=2)
    fundamental = modes[0]
    if nodes is None:
        field = _wire_field(secondary, fundamental.charge, rings)
        on_top = np.empty(0)
    else:
        on_top = spread @ fundamental.potential
        field = float(np.max(np.abs(nodes.field_per_charge @ on_top)))
    ring_heights = length * (np.arange(rings) + 0.5) / rings
    top = base_height + length + top_load.centre_height
    return Resonator(
        modes=modes,
        ring_heights=ring_heights,
        inductance=float(np.sum(inductance)),
        surface_field=field,
        charges=LoopSet(
            radii=np.append(np.full(rings, radius), [] if nodes is None else nodes.radii),
            heights=np.append(
                base_height + ring_heights, [] if nodes is None else top + nodes.heights
            ),
            weights=np.append(fundamental.charge[:rings], on_top),
        ),
    )


def ring_inductance_matrix(secondary: SecondaryGeometry, rings: int) -> Floats:
    """Inductance matrix of a winding cut into equal rings [H], shape (rings, rings).

    Each entry is the second difference of the exact current-sheet inductance over length; the
    round-wire correction is shared out along the diagonal, so that the matrix sums to
    `burstwise.core.coil.solenoid.solenoid_inductance`.

    Parameters
    ----------
    secondary : SecondaryGeometry
        Winding.
    rings : int
        Number of rings.

    Examples
    --------
    >>> matrix = ring_inductance_matrix(SecondaryGeometry(0.0492, 0.0008, 0.001, 50), 10)
    >>> matrix.shape, bool(np.all(np.linalg.eigvalsh(matrix) > 0))
    ((10, 10), True)
    """
    diameter, width = secondary.mean_diameter, secondary.length / rings
    lengths = width * np.arange(1, rings + 1)
    per_ring = secondary.turns / rings
    sheets = (
        sheet_inductance(diameter, lengths, turns=1.0) * (np.arange(1, rings + 1) * per_ring) ** 2
    )
    padded = np.concatenate([[0.0], sheets])
    mutual = np.empty(rings)
    mutual[0] = sheets[0]
    mutual[1:] = 0.5 * (padded[2:] - 2.0 * padded[1:-1] + padded[:-2])
    index = np.arange(rings)
    matrix = mutual[np.abs(index[:, None] - index[None, :])]
    correction = rosa_correction(
        0.5 * diameter,
        turns=secondary.turns,
        pitch=secondary.pitch,
        mean_distance=0.5 * secondary.bare_diameter * _ROUND_WIRE,
    )
    return np.asarray(matrix - np.eye(rings) * correction / rings, dtype=np.float64)


def check_top_load_position(
    secondary: SecondaryGeometry, top_load: TopLoad, base_height: float
) -> None:
    """Refuse a top load that cuts the winding or the earth plane.

    Raises
    ------
    InputError
        Names ``coil.top_load.centre_height``.

    Examples
    --------
    >>> wire = SecondaryGeometry(0.1, 0.0003, 0.00036, 500)
    >>> check_top_load_position(wire, TopLoad(TopLoadKind.DISC, 0.2, 0.01, centre_height=0.0), 0.1)
    Traceback (most recent call last):
    burstwise.core.errors.InputError: coil.top_load.centre_height must be more than 0.00518 m, ...
    """
    if top_load.kind is TopLoadKind.NONE:
        return
    height, tube = top_load.centre_height, top_load.tube_radius
    field = f"{TOP_LOAD}.centre_height"
    if top_load.kind is TopLoadKind.TOROID:
        gap = math.hypot(top_load.ring_radius - 0.5 * secondary.mean_diameter, max(height, 0.0))
        if gap <= tube + 0.5 * secondary.overall_diameter:
            raise InputError(field, height, "such that the toroid clears the winding")
    else:
        # A ball must clear the winding's rim, a disc the plane of its end.
        rim = 0.0 if top_load.kind is TopLoadKind.DISC else 0.5 * secondary.mean_diameter
        need = math.sqrt(max((tube + 0.5 * secondary.overall_diameter) ** 2 - rim**2, 0.0))
        if height <= need:
            raise InputError(field, height, f"more than {need:.4g} m, clear of the winding")
    if base_height + secondary.length + height <= tube:
        raise InputError(field, height, "such that the top load stays above the earth plane")


def _loaded_matrix(
    winding: Floats,
    secondary: SecondaryGeometry,
    top_load: TopLoad,
    base_height: float,
) -> tuple[Floats, ChargeNodes | None, Floats]:
    """Potential matrix of rings and top load, its nodes, and charge of the nodes per volt."""
    if top_load.kind is TopLoadKind.NONE:
        return winding, None, np.empty((0, 0))
    rings = len(winding)
    nodes = top_load_nodes(top_load, _NODES)
    radius = 0.5 * secondary.mean_diameter
    top = base_height + secondary.length + top_load.centre_height + nodes.heights
    points, weights = np.polynomial.legendre.leggauss(_BAND_POINTS)
    width = secondary.length / rings
    bands = base_height + width * (np.arange(rings)[:, None] + 0.5 * (points + 1.0))
    radii, heights = nodes.radii[:, None, None], top[:, None, None]
    cross = ring_potential(radii, heights - bands, ring_radius=radius)
    cross = cross - ring_potential(radii, heights + bands, ring_radius=radius)
    mixed = cross @ (0.5 * weights)
    image = ring_potential(
        nodes.radii[:, None], top[:, None] + top[None, :], ring_radius=nodes.radii[None, :]
    )
    full = np.block([[winding, mixed.T], [mixed, nodes.own_potential - image]])
    capacitance = np.linalg.inv(full)
    joined = np.zeros((rings + len(top), rings + 1))
    joined[:rings, :rings] = np.eye(rings)
    joined[rings:, rings] = 1.0
    charges = capacitance @ joined
    return np.linalg.inv(joined.T @ charges), nodes, charges[rings:]


def _wire_field(secondary: SecondaryGeometry, charge: Floats, rings: int) -> float:
    """Field on the last turn's wire as if its charge sat evenly on a straight wire alone.

    Charge crowds towards the end as 1/sqrt(distance), so of the last ring's n turns the last one
    holds 1/sqrt(n), not 1/n.
    """
    turns_per_ring = max(secondary.turns / rings, 1.0)
    per_turn = charge[rings - 1] / math.sqrt(turns_per_ring)
    line_charge = per_turn / (math.pi * secondary.mean_diameter)
    return float(abs(line_charge) / (2.0 * math.pi * EPSILON_0 * 0.5 * secondary.bare_diameter))
