"""Breakdown of air: Peek's law at a top load and at a point on it, gaps, and a spark's length."""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import Enum
from typing import Final

from burstwise.core.coil.checks import checked_number
from burstwise.core.coil.geometry import TOP_LOAD, TopLoad, TopLoadKind

_PASCAL_PER_CMHG = 1333.22387415
LEAST_SLENDERNESS = 4.0
MOST_SLENDERNESS = 3000.0
"""Heights of a breakout point over its tip radius for which the tip's field is known."""


@dataclass(frozen=True, slots=True)
class Air:
    """Air around the coil: temperature [°C] and pressure [Pa]."""

    temperature: float = 25.0
    pressure: float = 101325.0

    @property
    def relative_density(self) -> float:
        """Density relative to 25 °C and 76 cm of mercury."""
        return relative_air_density(self.pressure, self.temperature)


class Electrode(Enum):
    """Form of an electrode in Peek's law: gradient [V/m] and constant [sqrt(cm)]."""

    PARALLEL_WIRES = (30e5, 0.301)
    COAXIAL_CYLINDERS = (31e5, 0.308)
    SPHERE = (27.2e5, 0.54)


def relative_air_density(pressure: float, temperature: float) -> float:
    """Density of air relative to 25 °C and 76 cm of mercury.

    ``delta = 3.92 b / (273 + t)`` with b in cm of mercury

    Parameters
    ----------
    pressure : float
        Pressure [Pa].
    temperature : float
        Temperature [°C].

    Notes
    -----
    The IEC counts from 20 °C instead, 1.7 % apart. Source: F. W. Peek, Dielectric Phenomena in
    High-Voltage Engineering (1915; 3rd ed. 1929).

    Examples
    --------
    >>> round(relative_air_density(101325.0, 25.0), 3)
    1.0
    """
    return 3.92 * (pressure / _PASCAL_PER_CMHG) / (273.0 + temperature)


def peek_gradient(
    radius: float, *, electrode: Electrode, density: float = 1.0, roughness: float = 1.0
) -> float:
    """Peak surface field at which visible corona starts [V/m].

    ``g = g0 delta m (1 + c / sqrt(delta r))`` with r in cm

    Parameters
    ----------
    radius : float
        Radius of curvature [m], above 0.
    electrode : Electrode
        Parallel wires 30 kV/cm and 0.301, coaxial cylinders 31 and 0.308, sphere 27.2 and 0.54.
    density : float
        Relative air density.
    roughness : float
        Surface factor, 1 for polished.

    Notes
    -----
    +-5 % in dry air at mains frequency; at some 100 kHz breakdown comes up to about 20 % lower
    (common practice, no source). Source: F. W. Peek (1915; 3rd ed. 1929), constants from memory.

    Examples
    --------
    >>> f"{peek_gradient(0.05, electrode=Electrode.SPHERE) / 1e5:.4f} kV/cm"
    '33.7687 kV/cm'
    """
    gradient, constant = electrode.value
    centimetres = 100.0 * radius
    return float(
        gradient * density * roughness * (1.0 + constant / math.sqrt(density * centimetres))
    )


def top_load_gradient(top_load: TopLoad, wire_diameter: float, *, density: float) -> float:
    """Peek's gradient at a top load, or at the last turn's wire where there is none [V/m].

    A sphere takes the sphere's constants; toroid, disc edge and wire those of parallel wires with
    the tube's, the edge's or the wire's radius.

    Parameters
    ----------
    top_load : TopLoad
        Conductor on top.
    wire_diameter : float
        Bare diameter of the winding's wire [m].
    density : float
        Relative air density.

    Examples
    --------
    >>> ball = TopLoad(TopLoadKind.SPHERE, diameter=0.1)
    >>> f"{top_load_gradient(ball, 0.0003, density=1.0) / 1e5:.2f} kV/cm"
    '33.77 kV/cm'
    """
    bare = top_load.kind is TopLoadKind.NONE
    electrode = (
        Electrode.SPHERE if top_load.kind is TopLoadKind.SPHERE else Electrode.PARALLEL_WIRES
    )
    radius = 0.5 * wire_diameter if bare else top_load.tube_radius
    return peek_gradient(radius, electrode=electrode, density=density, roughness=top_load.roughness)


@dataclass(frozen=True, slots=True)
class BreakoutPoint:
    """Rod with a round tip that stands out of a top load: tip radius and height [m]."""

    tip_radius: float
    height: float

    def __post_init__(self) -> None:
        low, high = LEAST_SLENDERNESS * self.tip_radius, MOST_SLENDERNESS * self.tip_radius
        checked_number(f"{TOP_LOAD}.point_height", self.height, low, high, "m")


def post_field_ratio(slenderness: float) -> float:
    """Field at the tip of a rod with a round end on a plane, over the field far from it [1].

    ``1.2 (2.15 + h/r)^0.9``

    Parameters
    ----------
    slenderness : float
        Height over tip radius, 4 to 3000.

    Notes
    -----
    A fit of +-3 % to computed fields. Source: C. J. Edgcombe and U. Valdre, on field emitters
    (2001 to 2002), from memory.

    Examples
    --------
    >>> round(post_field_ratio(100.0), 1)
    77.2
    """
    return float(1.2 * (2.15 + slenderness) ** 0.9)


def point_breakout(point: BreakoutPoint, *, surface_field: float, density: float = 1.0) -> float:
    """Peak voltage of a top load at which a discharge starts from a point on it [V].

    ``V = g (1/F + h) / gamma``: Peek's gradient g of a sphere of the tip's radius, over the field
    at the tip. In place of a uniform field stands the mean one along the rod, ``V F/(1 + F h)`` as
    above a sphere that has the surface field F V.

    Parameters
    ----------
    point : BreakoutPoint
        The point, standing where the field is largest.
    surface_field : float
        Largest field on the smooth top load per volt [1/m].
    density : float
        Relative air density.

    Notes
    -----
    +-30 %. The field at the tip is 6 to 15 % high against charges on a sphere with a rod
    (`tests/core/coil/test_breakout_point.py`); Peek's law is stretched to tips below a millimetre
    and to some 100 kHz. What starts at the point is corona; a discharge to be seen needs some more.

    Examples
    --------
    >>> needle = BreakoutPoint(tip_radius=0.3e-3, height=0.02)
    >>> f"{point_breakout(needle, surface_field=45.4) / 1e3:.1f} kV"
    '8.7 kV'
    """
    gradient = peek_gradient(point.tip_radius, electrode=Electrode.SPHERE, density=density)
    ratio = post_field_ratio(point.height / point.tip_radius)
    return gradient * (1.0 / surface_field + point.height) / ratio


LONG_GAP_STRENGTH: Final = 5e5
"""Peak voltage over length that a gap between uneven electrodes stands [V/m].

Long gaps with edges or points fail at some 5 to 10 kV/cm, needle gaps of 10 cm at 7 kV/cm; from
memory. The lower end.
"""


def uneven_gap_voltage(gap: float, *, density: float = 1.0) -> float:
    """Voltage that an air gap between uneven electrodes stands [V], never above a uniform field's.

    ``V = 5 kV/cm · delta d``: once a streamer has started at an edge it crosses on far less than
    the 30 kV/cm of a uniform field.

    Parameters
    ----------
    gap : float
        [m].
    density : float
        Relative air density.

    Examples
    --------
    >>> uneven_gap_voltage(0.104)
    52000.0
    """
    return min(LONG_GAP_STRENGTH * density * gap, uniform_gap_voltage(gap, density=density))


def uniform_gap_voltage(gap: float, *, density: float = 1.0) -> float:
    """Breakdown voltage of a uniform field in air [V peak].

    ``V[kV] = 24.22 (delta d) + 6.08 sqrt(delta d)`` with d in cm

    Parameters
    ----------
    gap : float
        Distance [m].
    density : float
        Relative air density.

    Notes
    -----
    0.1 mm to 10 cm, +-2 % between sources (another pair of constants, 24.55 and 6.66, is 1 to 5 %
    higher). Source: form after Schumann and Ritz, as in Kuffel and Zaengl (from memory).

    Examples
    --------
    >>> f"{uniform_gap_voltage(0.01) / 1e3:.2f} kV"
    '30.30 kV'
    """
    d = 100.0 * gap * density
    return 1e3 * (24.22 * d + 6.08 * math.sqrt(d))


def rule_of_thumb_spark_length(power: float) -> float:
    """Rule of thumb for the longest spark of a disruptive coil [m]: ``0.043 sqrt(P[W])``.

    Notes
    -----
    No physics behind it: 1.7 inches times the square root of the watts is common practice, no
    source. It comes from spark-gap coils on the mains; small continuous stages reach less.

    Examples
    --------
    >>> round(rule_of_thumb_spark_length(100.0), 2)
    0.43
    """
    return 1.7 * 0.0254 * math.sqrt(power)


def cylinder_plane_field(voltage: float, *, radius: float, gap: float) -> float:
    """Largest field between a long cylinder and a plane [V/m].

    ``E = V sqrt((h + r)/(h - r)) / (r arcosh(h/r))`` with ``h = r + gap``

    Parameters
    ----------
    voltage : float
        Voltage between them [V].
    radius, gap : float
        Cylinder radius and distance of the surfaces [m].

    Notes
    -----
    Exact in two dimensions. Source: image of line charges, W. R. Smythe, Static and Dynamic
    Electricity (from memory).

    Examples
    --------
    A gap that is small against the radius has a uniform field:

    >>> round(cylinder_plane_field(1000.0, radius=1.0, gap=0.001), -3)
    1000000.0
    """
    height = radius + gap
    return (
        voltage
        * math.sqrt((height + radius) / (height - radius))
        / (radius * math.acosh(height / radius))
    )
