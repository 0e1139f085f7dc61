"""Potential of ring charges and the potential matrices of windings and top loads.

All matrices hold coefficients of potential [V/C]: the mean potential of one element per coulomb
on another, with or without the mirror image in an earthed plane.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import ellipkm1, eval_legendre

from burstwise.core.coil.arrays import Floats
from burstwise.core.coil.geometry import TopLoad, TopLoadKind
from burstwise.core.constants import EPSILON_0

_RING = 1.0 / (2.0 * math.pi**2 * EPSILON_0)
_BAND_POINTS = 8


@dataclass(frozen=True, slots=True, eq=False)
class ChargeNodes:
    """Rings of charge on a top load's surface.

    Parameters
    ----------
    radii, heights : array of shape (n,)
        Rings [m]; heights from the middle of the top load.
    own_potential : array of shape (n, n)
        Coefficients of potential among them, without image [V/C].
    field_per_charge : array of shape (n, n)
        Surface field at each ring per charge on each [V/(m C)]; for a disc the field at its
        rounded edge, in every row alike.
    """

    radii: Floats
    heights: Floats
    own_potential: Floats
    field_per_charge: Floats


def ring_potential(radius: ArrayLike, height: ArrayLike, *, ring_radius: ArrayLike) -> Floats:
    """Potential per charge of a uniformly charged ring in free space [V/C].

    ``V/Q = F(k) / (2 pi^2 eps0 r1)``, ``r1 = sqrt((a + b)^2 + z^2)``, ``k^2 = 4 a b/r1^2``

    Parameters
    ----------
    radius, height : array_like
        Point's radius and its height above the ring's plane [m].
    ring_radius : array_like
        Ring's radius [m].

    Notes
    -----
    Exact; it diverges on the ring itself. Source: O. D. Kellogg, Foundations of Potential
    Theory (1929) (from memory).

    Examples
    --------
    >>> far = float(ring_potential(0.0, 100.0, ring_radius=0.1))
    >>> round(far * 4 * math.pi * EPSILON_0 * 100.0, 5)
    1.0
    """
    a = np.asarray(radius, dtype=np.float64)
    b = np.asarray(ring_radius, dtype=np.float64)
    z = np.asarray(height, dtype=np.float64)
    far = (a + b) ** 2 + z**2
    near = (a - b) ** 2 + z**2
    return np.asarray(_RING * ellipkm1(near / far) / np.sqrt(far), dtype=np.float64)


def band_potentials(radius: float, width: float, *, distances: Floats) -> Floats:
    """Mean potential of a cylindrical band per charge on an equal coaxial one [V/C].

    ``P(z) = int_{-h}^{h} (h - |s|)/h^2 G(z + s) ds`` with G the ring kernel.

    Parameters
    ----------
    radius, width : float
        Radius and width of the bands [m].
    distances : array of shape (n,)
        Distance of their middles [m], 0 or at least one width.

    Notes
    -----
    Gauss rule after ``s -> u^3`` towards the middle of the overlap and of the touching edge,
    which tames the logarithm; 1e-8 for widths below the radius.

    Examples
    --------
    >>> values = band_potentials(0.05, 0.005, distances=np.array([0.0, 0.005, 1.0]))
    >>> bool(values[0] > values[1] > values[2])
    True
    """
    points, weights = np.polynomial.legendre.leggauss(2 * _BAND_POINTS)
    u = 0.5 * (points + 1.0)
    # Offsets measured from the middle and from the outer end of the triangle in turn, so that the
    # logarithm at s = 0 (a band with itself) and at |s| = h (with its neighbour) is cubed away.
    half = 0.5 * u**3
    jacobian = 0.75 * weights * u**2
    offsets = np.concatenate([half, 1.0 - half])
    share = np.concatenate([(1.0 - half) * jacobian, half * jacobian])
    s = width * np.concatenate([offsets, -offsets])
    value = ring_potential(radius, distances[:, None] + s[None, :], ring_radius=radius)
    return np.asarray(value @ np.concatenate([share, share]), dtype=np.float64)


def winding_potential_matrix(
    radius: float, length: float, *, rings: int, base_height: float | None
) -> Floats:
    """Coefficients of potential of a cylinder cut into equal bands [V/C], shape (n, n).

    Parameters
    ----------
    radius, length : float
        Radius and length of the cylinder [m].
    rings : int
        Number of bands.
    base_height : float or None
        Height of its lower end above the earthed plane [m]; no plane if not given.

    Notes
    -----
    Charge even over each band (Galerkin's method of moments), image of opposite sign.

    Examples
    --------
    >>> matrix = winding_potential_matrix(0.05, 0.2, rings=8, base_height=None)
    >>> bool(np.all(np.linalg.eigvalsh(matrix) > 0))
    True
    """
    width = length / rings
    index = np.arange(rings)
    direct = band_potentials(radius, width, distances=width * index)
    matrix = np.asarray(direct[np.abs(index[:, None] - index[None, :])])
    if base_height is None:
        return matrix
    sums = 2.0 * base_height + width * np.arange(1, 2 * rings)
    image = band_potentials(radius, width, distances=sums)
    return np.asarray(matrix - image[index[:, None] + index[None, :]], dtype=np.float64)


def top_load_nodes(top_load: TopLoad, count: int = 24) -> ChargeNodes:
    """Rings of charge on a top load with their exact self-interaction.

    Parameters
    ----------
    top_load : TopLoad
        Sphere, toroid or disc.
    count : int
        Number of rings, even.

    Notes
    -----
    Sphere: Legendre polynomials are its eigenfunctions. Disc: ``P_2n(sqrt(1 - r^2/R^2))`` with
    density ``1/sqrt(1 - r^2/R^2)`` are those of a thin disc (E. T. Copson, Proc. Edinburgh
    Math. Soc. 8 (1947) 14, from memory; checked against the closed form of a disc). Toroid:
    trapezoidal rule with the logarithm integrated exactly (R. Kress, Linear Integral
    Equations, from memory). All three converge faster than any power of ``count``.

    Examples
    --------
    >>> ball = top_load_nodes(TopLoad(TopLoadKind.SPHERE, diameter=0.2))
    >>> C = np.linalg.inv(ball.own_potential).sum()
    >>> round(float(C) / (4 * math.pi * EPSILON_0 * 0.1), 9)
    1.0
    """
    if top_load.kind is TopLoadKind.SPHERE:
        return _sphere_nodes(0.5 * top_load.diameter, count)
    if top_load.kind is TopLoadKind.DISC:
        return _disc_nodes(0.5 * top_load.diameter, top_load.tube_radius, count)
    return _toroid_nodes(top_load.ring_radius, top_load.tube_radius, count)


def _sphere_nodes(radius: float, count: int) -> ChargeNodes:
    x, weights = np.polynomial.legendre.leggauss(count)
    polynomials = eval_legendre(np.arange(count)[:, None], x[None, :])
    own = polynomials.T @ polynomials / (4.0 * math.pi * EPSILON_0 * radius)
    field = np.diag(1.0 / (EPSILON_0 * 2.0 * math.pi * radius**2 * weights))
    return ChargeNodes(radius * np.sqrt(1.0 - x**2), radius * x, own, field)


def _disc_nodes(radius: float, edge_radius: float, count: int) -> ChargeNodes:
    x, weights = np.polynomial.legendre.leggauss(2 * count)
    x, weights = x[count:], weights[count:]
    degree = 2 * np.arange(count)
    at_edge = eval_legendre(degree, 0.0)
    polynomials = eval_legendre(degree[:, None], x[None, :])
    scaled = polynomials * ((2 * degree + 1) * at_edge**2)[:, None]
    own = polynomials.T @ scaled / (8.0 * EPSILON_0 * radius)
    # Density times sqrt(1 - r^2/R^2) at the edge, from the same expansion, gives the field of the
    # oblate spheroid with the edge's own radius of curvature.
    edge_density = (at_edge * (2 * degree + 1)) @ polynomials / (2.0 * math.pi * radius**2)
    field = edge_density * math.sqrt(radius / edge_radius) / (2.0 * EPSILON_0)
    return ChargeNodes(
        radius * np.sqrt(1.0 - x**2), np.zeros(count), own, np.tile(field, (count, 1))
    )


def _toroid_nodes(ring_radius: float, tube_radius: float, count: int) -> ChargeNodes:
    angle = 2.0 * math.pi * np.arange(count) / count
    radii = ring_radius + tube_radius * np.cos(angle)
    heights = tube_radius * np.sin(angle)
    half = count // 2
    order = np.arange(1, half)
    steps = angle[:, None] - angle[None, :]
    log_weights = (
        -2.0 * np.sum(np.cos(order[:, None, None] * steps) / order[:, None, None], axis=0)
        - np.cos(half * steps) / half
    )
    chord = 4.0 * np.sin(0.5 * steps) ** 2
    far = (radii[:, None] + radii[None, :]) ** 2 + (heights[:, None] - heights[None, :]) ** 2
    m1 = tube_radius**2 * chord / far
    scale = _RING / np.sqrt(far)
    log_part = -scale / math.pi * ellipkm1(1.0 - m1)
    np.fill_diagonal(chord, 1.0)
    np.fill_diagonal(m1, 1.0)
    smooth = scale * ellipkm1(m1) - log_part * np.log(chord)
    np.fill_diagonal(smooth, np.diag(scale) * np.log(8.0 * radii / tube_radius))
    ring_area = 4.0 * math.pi**2 * radii * tube_radius / count
    field = np.diag(1.0 / (EPSILON_0 * ring_area))
    return ChargeNodes(radii, heights, log_weights * log_part + smooth, field)
