"""Electric and magnetic field in the room around a coil, from its charges and currents.

Quasi-static: the electric field is that of the mode's rings of charge and their images in the
earth plane, the magnetic field that of the current loops of both windings.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import ellipkm1, elliprd

from burstwise.core.coil.arrays import Floats
from burstwise.core.coil.geometry import LoopSet, PrimaryGeometry, SecondaryGeometry, TopLoad
from burstwise.core.coil.resonator import secondary_resonator
from burstwise.core.constants import EPSILON_0, MU_0

_CHARGE: Final = 1.0 / (2.0 * math.pi**2 * EPSILON_0)
_CLEAR: Final = 1.25
"""Outline that the rings are too coarse within, over the coil's largest radius."""
_REACH: Final = 0.3
"""Distance up to which the field is taken as quasi-static, in wavelengths over 2 pi."""
_Fields = Callable[[Floats, Floats], Floats]
_AT_ONCE: Final = 4096
"""Points in one matrix of points and rings, which bounds the memory."""


@dataclass(frozen=True, slots=True, eq=False)
class FieldSources:
    """What makes the field around a coil; heights count from the earth plane.

    Parameters
    ----------
    charges : LoopSet
        Rings of charge at 1 V on top [C].
    winding : LoopSet
        Loops of the secondary, weights their ampere turns at 1 V on top and `resonance` [A].
    primary : LoopSet
        Loops of the primary's turns in use, weights their share of a turn.
    resonance : float
        Frequency that `winding` belongs to [Hz].
    edge : float
        Distance from the axis up to which nothing is computed [m]: 1.25 times the largest radius
        of the parts, inside of which single rings would show.
    top_height : float
        Height of the top load's middle, or of the winding's top without one [m].
    """

    charges: LoopSet
    winding: LoopSet
    primary: LoopSet
    resonance: float
    edge: float
    top_height: float


def ring_field(
    radius: ArrayLike, height: ArrayLike, *, ring_radius: ArrayLike
) -> tuple[Floats, Floats]:
    """Radial and axial field per charge of a uniformly charged ring in free space [V/(m C)].

    ``E_r = c/b^3 [(a + r) K - 2 a (a^2 - r^2 + z^2) B/n^2]``, ``E_z = c z E/(b n^2)`` with
    ``b, n = sqrt((a +- r)^2 + z^2)``, ``c = 1/(2 pi^2 eps0)``, modulus ``m = 1 - n^2/b^2`` and
    ``B = [E - (1 - m) K]/m``.

    Parameters
    ----------
    radius, height : array_like
        Point's radius and its height above the ring's plane [m].
    ring_radius : array_like
        Ring's radius a [m].

    Notes
    -----
    Exact; it diverges on the ring itself. It is the gradient of
    `burstwise.core.coil.charges.ring_potential`, checked against Coulomb's integral.

    Examples
    --------
    >>> _, axial = ring_field(0.0, 100.0, ring_radius=0.1)
    >>> round(float(axial) * 4 * math.pi * EPSILON_0 * 100.0**2, 5)
    1.0
    """
    r, z, a, far, near, K, D = _elliptic(radius, height, ring_radius)
    m = 4.0 * a * r / far
    scale = _CHARGE / np.sqrt(far)
    radial = scale / far * ((a + r) * K - 2.0 * a * (a**2 - r**2 + z**2) * (K - D) / near)
    axial = scale * z * (K - m * D) / near
    return np.asarray(radial, dtype=np.float64), np.asarray(axial, dtype=np.float64)


def loop_field(
    radius: ArrayLike, height: ArrayLike, *, loop_radius: ArrayLike
) -> tuple[Floats, Floats]:
    """Radial and axial flux density per ampere of a circular loop in free space [T/A].

    ``B_r = mu0 a z/(pi b n^2) [B - (n/b)^2 D]``,
    ``B_z = mu0/(2 pi b n^2) [2 a (a - r) K - (a^2 - r^2 - z^2) m D]`` with b, n, m and B as in
    `ring_field` and ``D = (K - E)/m``.

    Parameters
    ----------
    radius, height : array_like
        Point's radius and its height above the loop's plane [m].
    loop_radius : array_like
        Loop's radius a [m].

    Notes
    -----
    Exact; it diverges on the loop itself. Source: the usual form in K and E (W. R. Smythe, Static
    and Dynamic Electricity, from memory), regrouped so that nothing large cancels near the axis
    and far away; checked against Biot-Savart and magpylib.

    Examples
    --------
    >>> _, axial = loop_field(0.0, 0.0, loop_radius=0.1)
    >>> f"{float(axial) * 1e6:.4f} µT, {MU_0 / (2 * 0.1) * 1e6:.4f} µT"
    '6.2832 µT, 6.2832 µT'
    """
    r, z, a, far, near, K, D = _elliptic(radius, height, loop_radius)
    scale = MU_0 / (2.0 * math.pi * np.sqrt(far) * near)
    radial = scale * 2.0 * a * z * ((K - D) - near / far * D)
    axial = scale * (2.0 * a * (a - r) * K - (a**2 - r**2 - z**2) * (4.0 * a * r / far) * D)
    return np.asarray(radial, dtype=np.float64), np.asarray(axial, dtype=np.float64)


def field_sources(
    primary: PrimaryGeometry,
    secondary: SecondaryGeometry,
    top_load: TopLoad,
    *,
    base_height: float,
    rings: int = 100,
) -> FieldSources:
    """Charges and currents of a coil in its lowest mode.

    Parameters
    ----------
    primary, secondary, top_load
        The coil's parts.
    base_height : float
        Height of the secondary's foot above the earth plane [m].
    rings : int
        Rings of the distributed model; with those of `burstwise.core.coil.summary.coil_constants`
        its modes are there already.

    Raises
    ------
    InputError
        As `burstwise.core.coil.resonator.secondary_resonator`.

    Examples
    --------
    >>> from burstwise.core.coil.geometry import *
    >>> wire = PrimaryConductor(ConductorKind.WIRE, diameter=0.0025)
    >>> helix = PrimaryGeometry(PrimaryShape.HELICAL, wire, 0.085, 8, 0.01)
    >>> coil = SecondaryGeometry(0.10964, 0.000315, 0.00036, 1000)
    >>> ring = TopLoad(TopLoadKind.TOROID, 0.25, 0.05, centre_height=0.05)
    >>> sources = field_sources(helix, coil, ring, base_height=0.1)
    >>> f"{sources.charges.weights.sum() * 1e12:.1f} pC/V, {sources.edge:.3f} m"
    '12.9 pC/V, 0.156 m'
    """
    resonator = secondary_resonator(secondary, top_load, base_height, rings)
    loops = primary.loops()
    mode = resonator.fundamental
    outline = max(
        secondary.outer_radius,
        float(np.max(primary.loops(used_only=False).radii)) + primary.half_width,
        0.5 * top_load.diameter,
    )
    return FieldSources(
        charges=resonator.charges,
        winding=LoopSet(
            radii=np.full(rings, 0.5 * secondary.mean_diameter),
            heights=base_height + resonator.ring_heights,
            weights=mode.ring_current * secondary.turns / rings,
        ),
        primary=LoopSet(loops.radii, base_height + loops.heights, loops.weights),
        resonance=mode.frequency,
        edge=_CLEAR * outline,
        top_height=base_height + secondary.length + top_load.centre_height,
    )


def electric_field(
    sources: FieldSources, radius: ArrayLike, height: ArrayLike, *, top_voltage: float
) -> Floats:
    """Electric field at points around the coil, undisturbed by a body [V/m].

    Parameters
    ----------
    sources : FieldSources
        The coil.
    radius, height : array_like
        Points [m], height above the earth plane at least 0, broadcast together.
    top_voltage : float
        Voltage on top [V]; RMS gives RMS.

    Notes
    -----
    Charges with images of opposite sign in the plane. Left out: the primary's own charges, which
    stand at some hundred volts near the plane, the field that the changing flux induces, walls,
    and charge carried away by discharges. Source: `ring_field`.

    Examples
    --------
    >>> ring = LoopSet(np.array([0.1]), np.array([1.0]), np.array([1e-11]))
    >>> none = LoopSet(np.empty(0), np.empty(0), np.empty(0))
    >>> lone = FieldSources(ring, none, none, resonance=3e5, edge=0.1, top_height=1.0)
    >>> on_the_plane = float(electric_field(lone, 10.0, 0.0, top_voltage=1e3))
    >>> round(on_the_plane / (2e-8 / (4 * math.pi * EPSILON_0 * 101.0**1.5)), 3)
    1.0
    """

    def at(r: Floats, z: Floats) -> Floats:
        rings = sources.charges
        radial, axial = ring_field(r, z - rings.heights, ring_radius=rings.radii)
        image_radial, image_axial = ring_field(r, z + rings.heights, ring_radius=rings.radii)
        across = (radial - image_radial) @ rings.weights
        up = (axial - image_axial) @ rings.weights
        return np.asarray(np.hypot(across, up))

    return abs(top_voltage) * _in_parts(at, radius, height)


def magnetic_field(
    sources: FieldSources,
    radius: ArrayLike,
    height: ArrayLike,
    *,
    top_voltage: float,
    primary_current: float,
    frequency: float,
) -> Floats:
    """Magnetic flux density at points around the coil [T], the largest over all phases.

    ``B^2 = B1^2 + B2^2 + 2 |B1 . B2|``: the currents of the two windings have a phase between
    them that is not asked for here.

    Parameters
    ----------
    sources : FieldSources
        The coil.
    radius, height : array_like
        Points [m], height above the earth plane, broadcast together.
    top_voltage : float
        Voltage on top [V]; RMS gives RMS.
    primary_current : float
        Primary current [A], RMS as the voltage, without its mean.
    frequency : float
        Carrier frequency [Hz]: the secondary's current is its charge times ``2 pi f``.

    Notes
    -----
    No image: a floor hardly screens a magnetic field at these frequencies, and a metal sheet
    under the coil lowers it. Turns are circles; leads, the capacitors' loop and discharges are
    left out. Source: `loop_field`.

    Examples
    --------
    >>> loop = LoopSet(np.array([0.1]), np.array([0.2]), np.array([1.0]))
    >>> none = LoopSet(np.empty(0), np.empty(0), np.empty(0))
    >>> lone = FieldSources(none, none, loop, resonance=3e5, edge=0.1, top_height=1.0)
    >>> B = magnetic_field(lone, 0.0, 0.2, top_voltage=0.0, primary_current=2.0, frequency=3e5)
    >>> f"{float(B) * 1e6:.3f} µT"
    '12.566 µT'
    """
    per_volt = top_voltage * frequency / sources.resonance

    def at(r: Floats, z: Floats) -> Floats:
        first = _loops(sources.primary, r, z)
        second = _loops(sources.winding, r, z)
        one = primary_current * np.stack(first)
        two = per_volt * np.stack(second)
        square = np.sum(one**2, axis=0) + np.sum(two**2, axis=0)
        return np.asarray(np.sqrt(square + 2.0 * np.abs(np.sum(one * two, axis=0))))

    return _in_parts(at, radius, height)


def quasi_static_reach(frequency: float) -> float:
    """Distance up to which the field is taken as quasi-static [m], ``0.3 c/(2 pi f)``.

    Parameters
    ----------
    frequency : float
        Carrier frequency [Hz].

    Notes
    -----
    A short upright dipole's field beside it is ``sqrt(1 - x^2 + x^4)`` of its quasi-static one at
    ``x`` wavelengths over 2 pi, its flux density ``sqrt(1 + x^2)``: 4.2 % less and 4.4 % more
    at 0.3.

    Examples
    --------
    >>> f"{quasi_static_reach(300e3):.0f} m"
    '48 m'
    """
    return _REACH / (2.0 * math.pi * frequency * math.sqrt(EPSILON_0 * MU_0))


def _loops(loops: LoopSet, r: Floats, z: Floats) -> tuple[Floats, Floats]:
    radial, axial = loop_field(r, z - loops.heights, loop_radius=loops.radii)
    return radial @ loops.weights, axial @ loops.weights


def _elliptic(
    radius: ArrayLike, height: ArrayLike, own_radius: ArrayLike
) -> tuple[Floats, Floats, Floats, Floats, Floats, Floats, Floats]:
    """Point, ring, squares of the longest and shortest way, and the integrals K and (K - E)/m."""
    r = np.asarray(radius, dtype=np.float64)
    z = np.asarray(height, dtype=np.float64)
    a = np.asarray(own_radius, dtype=np.float64)
    far = (a + r) ** 2 + z**2
    near = (a - r) ** 2 + z**2
    complement = near / far
    return r, z, a, far, near, ellipkm1(complement), elliprd(0.0, complement, 1.0) / 3.0


def _in_parts(at: _Fields, radius: ArrayLike, height: ArrayLike) -> Floats:
    r, z = np.broadcast_arrays(
        np.asarray(radius, dtype=np.float64), np.asarray(height, dtype=np.float64)
    )
    flat_r, flat_z = r.reshape(-1, 1), z.reshape(-1, 1)
    found = np.empty(len(flat_r))
    for start in range(0, len(flat_r), _AT_ONCE):
        part = slice(start, start + _AT_ONCE)
        found[part] = at(flat_r[part], flat_z[part])
    return found.reshape(r.shape)
