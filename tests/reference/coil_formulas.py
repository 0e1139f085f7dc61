"""Formulas that only tests ask: handbook shortcuts beside the coil's own ways."""

from __future__ import annotations

import csv
import math
from functools import lru_cache
from pathlib import Path

import numpy as np
from scipy.interpolate import RegularGridInterpolator

from burstwise.core.coil.breakout import Electrode, peek_gradient
from burstwise.core.coil.capacitance import sphere_capacitance
from burstwise.core.coil.charges import top_load_nodes
from burstwise.core.coil.geometry import TopLoad, TopLoadKind
from burstwise.core.constants import MU_0
from burstwise.core.errors import InputError
from burstwise.core.units import limits_text, shown

_INCH = 0.0254


def wheeler_1928_inductance(radius: float, length: float, *, turns: float) -> float:
    """Inductance by Wheeler's formula of 1928 [H], a second opinion.

    ``L[µH] = r^2 N^2 / (9 r + 10 l)`` with lengths in inches.

    Parameters
    ----------
    radius, length : float
        Mean radius and length [m].
    turns : float
        Number of turns.

    Notes
    -----
    Between -0.6 % and +0.06 % of the current sheet for l/r from 0.8 to 31, and 11 % low at 0.2.
    Source: H. A. Wheeler, Proc. IRE 16 (1928) 1398.

    Examples
    --------
    >>> f"{wheeler_1928_inductance(0.0254, 3 * 0.0254, turns=100) * 1e6:.4f} µH"
    '256.4103 µH'
    """
    inches, long = radius / _INCH, length / _INCH
    return 1e-6 * inches**2 * turns**2 / (9.0 * inches + 10.0 * long)


def wheeler_1982_inductance(radius: float, length: float, *, turns: float) -> float:
    """Inductance by Wheeler's formula of 1982 [H], a second opinion for any length.

    ``L = mu0 N^2 r [ln(1 + pi r/l) + 1/(2.3 + 1.6 l/r + 0.44 (l/r)^2)]``

    Parameters
    ----------
    radius, length : float
        Mean radius and length [m].
    turns : float
        Number of turns.

    Notes
    -----
    Within 0.1 % of the current sheet. Source: H. A. Wheeler, Proc. IEEE 70 (1982) 1449.

    Examples
    --------
    >>> f"{wheeler_1982_inductance(0.0254, 3 * 0.0254, turns=100) * 1e6:.2f} µH"
    '257.55 µH'
    """
    ratio = length / radius
    inner = math.log(1.0 + math.pi / ratio) + 1.0 / (2.3 + 1.6 * ratio + 0.44 * ratio**2)
    return MU_0 * turns**2 * radius * inner


def sphere_plane_capacitance(radius: float, height: float) -> float:
    """Capacitance of a sphere above an earthed plane [F].

    ``C = 4 pi eps0 r sinh(a) sum_{n>=1} 1/sinh(n a)``, ``cosh a = h/r``

    Parameters
    ----------
    radius : float
        Radius [m].
    height : float
        Height of the centre above the plane [m], above the radius.

    Notes
    -----
    Exact. Source: image series, W. R. Smythe, Static and Dynamic Electricity (from memory).

    Examples
    --------
    >>> f"{sphere_plane_capacitance(0.1, 1.0) * 1e12:.5f} pF"
    '11.71218 pF'
    """
    a = math.acosh(height / radius)
    n = np.arange(1, math.ceil(40.0 / a) + 2)
    # 1/sinh(x) without overflow: 2 exp(-x) / (1 - exp(-2 x)).
    terms = 2.0 * np.exp(-n * a) / -np.expm1(-2.0 * n * a)
    return float(sphere_capacitance(radius) * math.sinh(a) * np.sum(terms))


def torus_surface_field(ring_radius: float, tube_radius: float) -> float:
    """Largest field on an isolated torus at 1 V, on its outer equator [1/m].

    Parameters
    ----------
    ring_radius, tube_radius : float
        As in `torus_capacitance`.

    Notes
    -----
    From the charge on 64 rings; 1e-9. Source: burstwise.core.coil.charges.

    Examples
    --------
    >>> round(torus_surface_field(0.1, 0.025), 4)
    16.3265
    """
    torus = TopLoad(
        TopLoadKind.TOROID,
        diameter=2.0 * (ring_radius + tube_radius),
        thickness=2.0 * tube_radius,
    )
    nodes = top_load_nodes(torus, 64)
    charges = np.linalg.solve(nodes.own_potential, np.ones(64))
    return float((nodes.field_per_charge @ charges)[0])


def parallel_wire_onset(
    radius: float, spacing: float, *, density: float = 1.0, roughness: float = 1.0
) -> float:
    """Corona onset voltage to neutral of two parallel wires [V peak], ``g r ln(S/r)``.

    Parameters
    ----------
    radius, spacing : float
        Wire radius and distance of the wires [m], spacing large against radius.
    density, roughness : float
        As in `peek_gradient`.

    Notes
    -----
    Source: F. W. Peek (1915; 3rd ed. 1929), from memory.

    Examples
    --------
    >>> f"{parallel_wire_onset(0.0005, 0.2) / 1e3:.4f} kV"
    '21.0850 kV'
    """
    gradient = peek_gradient(
        radius, electrode=Electrode.PARALLEL_WIRES, density=density, roughness=roughness
    )
    return gradient * radius * math.log(spacing / radius)


def shortest_sphere_gap(sphere_diameter: float) -> float:
    """Shortest gap for which Peek's sphere law holds [m]: ``X = 0.54 sqrt(R)``, both in cm.

    The law takes breakdown to begin where the gradient has fallen off over that distance from the
    sphere; a shorter gap has no room for it and stands more: 3 % at 0.5 cm between 10 cm spheres,
    11 % at 0.2 cm between 5 cm ones.

    Parameters
    ----------
    sphere_diameter : float
        Diameter of the spheres [m].

    Notes
    -----
    Source: F. W. Peek (1915; 3rd ed. 1929), from memory; about, at a density of 1.

    Examples
    --------
    >>> f"{100 * shortest_sphere_gap(0.1):.2f} cm"
    '1.21 cm'
    """
    return 0.01 * Electrode.SPHERE.value[1] * math.sqrt(50.0 * sphere_diameter)


def sphere_gap_voltage(sphere_diameter: float, gap: float, *, density: float = 1.0) -> float:
    """Breakdown voltage between two equal spheres in air [V peak].

    ``V = g X / f`` with Peek's sphere gradient g, gap X and
    ``f = [X/R + 1 + sqrt((X/R + 1)^2 + 8)] / 4``, the largest field over the mean one.

    Parameters
    ----------
    sphere_diameter, gap : float
        Diameter of the spheres and distance of their surfaces [m].
    density : float
        Relative air density.

    Notes
    -----
    Within 2 % of the tables for spheres of 5 and 10 cm and gaps from `shortest_sphere_gap` to half
    the diameter; 5 % above the uniform gap between spheres of 1 m. Source: F. W. Peek (1915; 3rd
    ed. 1929), from memory; compared with IEC 60052:2002 (from memory).

    Raises
    ------
    InputError
        A gap outside of these limits, where the law is further off.

    Examples
    --------
    >>> f"{sphere_gap_voltage(0.05, 0.01) / 1e3:.1f} kV"
    '32.0 kV'
    """
    radius = 0.5 * sphere_diameter
    shortest = shortest_sphere_gap(sphere_diameter)
    if not shortest <= gap <= radius:
        allowed = limits_text(shortest, radius, "m")
        spheres = f"for spheres of {shown(sphere_diameter, 'm')}"
        if shortest > radius:
            raise InputError("sphere diameter", shown(sphere_diameter, "m"), "at least 5.83 mm")
        raise InputError("gap", shown(gap, "m"), f"{allowed} {spheres}")
    ratio = gap / radius + 1.0
    crowding = 0.25 * (ratio + math.sqrt(ratio**2 + 8.0))
    return peek_gradient(radius, electrode=Electrode.SPHERE, density=density) * gap / crowding


@lru_cache(maxsize=1)
def _medhurst() -> RegularGridInterpolator:
    with Path(__file__).with_name("coil_medhurst_resistance.csv").open(encoding="utf-8") as stream:
        rows = list(csv.DictReader(stream))
    factors = {
        (1.0 / float(row["length_over_diameter"]), float(row["diameter_over_pitch"])): row["factor"]
        for row in rows
    }
    shares = sorted({share for share, _ in factors})
    spacings = sorted({spacing for _, spacing in factors})
    table = [[float(factors[share, spacing]) for spacing in spacings] for share in shares]
    return RegularGridInterpolator((shares, spacings), table)


def medhurst_factor(diameter_over_pitch: float, length_over_diameter: float) -> float:
    """Tabulated proximity factor of a finite winding at high frequency, a second opinion.

    Parameters
    ----------
    diameter_over_pitch : float
        Bare diameter over pitch, 0.1 to 1; held at the ends of the table.
    length_over_diameter : float
        Winding length over diameter, 1 upwards; held below 1.

    Notes
    -----
    Linear between entries, in D/l along the length. For r above 3.5 skin depths and more than
    some 30 turns, +-3 %. Source: R. G. Medhurst, Wireless Engineer 24 (1947), table from memory.

    Examples
    --------
    >>> medhurst_factor(0.8, 4.0)
    2.6
    """
    d = min(max(diameter_over_pitch, 0.1), 1.0)
    return float(_medhurst()((1.0 / max(length_over_diameter, 1.0), d)))


def smooth_self_capacitance(diameter: float, length: float) -> float:
    """Self-capacitance by a smooth fit to the table [F], a third opinion.

    ``C/D[pF/cm] = 0.1126 l/D + 0.08 + 0.27 sqrt(D/l)``

    Parameters
    ----------
    diameter, length : float
        Mean diameter and length of the winding [m].

    Notes
    -----
    Within 8 % of the table from l/D = 0.1 to 50. Source: R. G. Medhurst (1947), from memory.

    Examples
    --------
    >>> f"{smooth_self_capacitance(0.1, 0.1) * 1e12:.3f} pF"
    '4.626 pF'
    """
    ratio = length / diameter
    return 1e-10 * diameter * (0.1126 * ratio + 0.08 + 0.27 / math.sqrt(ratio))
