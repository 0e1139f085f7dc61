"""Geometry of a coil as frozen values: secondary, primary and top load.

The design's fields have their limits in `burstwise.core.design.coil`; what is refused here is what
does not go together, as a tap beyond the turns.

Heights count from the bottom of the secondary winding; radii and pitches are to the middle of the
conductor. Turn ``i`` stands for a circular loop at ``(i + 1/2)`` pitches from the winding's start.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from burstwise.core.coil.arrays import Floats
from burstwise.core.coil.checks import checked_number
from burstwise.core.design.coil import LONGEST_WINDING, MOST_TURNS
from burstwise.core.errors import InputError

SECONDARY = "coil.secondary"
PRIMARY = "coil.primary"
TOP_LOAD = "coil.top_load"


class PrimaryShape(StrEnum):
    """Form of the primary winding."""

    HELICAL = "helical"
    FLAT = "flat"
    CONICAL = "conical"


class ConductorKind(StrEnum):
    """Section of the primary's conductor."""

    WIRE = "wire"
    TUBE = "tube"
    STRIP = "strip"


class TopLoadKind(StrEnum):
    """Form of the top load."""

    NONE = "none"
    SPHERE = "sphere"
    TOROID = "toroid"
    DISC = "disc"


@dataclass(frozen=True, slots=True)
class SecondaryGeometry:
    """Single-layer winding of round wire on a cylindrical former.

    Parameters
    ----------
    former_diameter : float
        Outer diameter of the former [m].
    bare_diameter, overall_diameter : float
        Diameter of the copper and over the enamel or insulation [m].
    turns : float
        Number of turns.
    spacing : float
        Gap between the insulation of neighbouring turns [m], 0 for close winding.
    """

    former_diameter: float
    bare_diameter: float
    overall_diameter: float
    turns: float
    spacing: float = 0.0

    def __post_init__(self) -> None:
        checked_number(f"{SECONDARY}.turns", self.turns, 2.0, MOST_TURNS, "turns")
        if self.overall_diameter > 0.5 * self.former_diameter:
            raise InputError(
                f"{SECONDARY}.overall_diameter",
                self.overall_diameter,
                f"at most half the former's diameter, {0.5 * self.former_diameter:g} m",
            )
        if self.length > LONGEST_WINDING:
            most = LONGEST_WINDING / self.pitch
            raise InputError(
                f"{SECONDARY}.turns",
                self.turns,
                f"at most {most:.0f} at this pitch, a winding of {LONGEST_WINDING:g} m",
            )

    @property
    def mean_diameter(self) -> float:
        """Diameter through the middle of the wire [m]."""
        return self.former_diameter + self.overall_diameter

    @property
    def pitch(self) -> float:
        """Distance of neighbouring turns, middle to middle [m]."""
        return self.overall_diameter + self.spacing

    @property
    def length(self) -> float:
        """Length of the winding, turns times pitch [m]."""
        return self.turns * self.pitch

    @property
    def outer_radius(self) -> float:
        """Radius over the insulation [m]."""
        return 0.5 * self.former_diameter + self.overall_diameter


@dataclass(frozen=True, slots=True)
class PrimaryConductor:
    """Section of the primary's conductor.

    Parameters
    ----------
    kind : ConductorKind
        Wire, tube or strip.
    diameter : float
        Outer diameter of a wire or tube [m].
    wall : float
        Wall thickness of a tube [m].
    width, thickness : float
        Strip: side along the winding's surface and across it [m].
    """

    kind: ConductorKind
    diameter: float = 0.0
    wall: float = 0.0
    width: float = 0.0
    thickness: float = 0.0

    def __post_init__(self) -> None:
        if self.kind is ConductorKind.STRIP and self.thickness > self.width:
            raise InputError(
                f"{PRIMARY}.conductor.thickness", self.thickness, "at most the strip's width"
            )
        if self.kind is ConductorKind.TUBE:
            checked_number(f"{PRIMARY}.conductor.wall", self.wall, 1e-5, 0.5 * self.diameter, "m")

    @property
    def extent(self) -> float:
        """Size along the winding's surface [m]."""
        return self.width if self.kind is ConductorKind.STRIP else self.diameter

    @property
    def half_depth(self) -> float:
        """Half its size across the winding's surface [m]."""
        across = self.thickness if self.kind is ConductorKind.STRIP else self.diameter
        return 0.5 * across

    @property
    def area(self) -> float:
        """Section of copper [m^2]."""
        if self.kind is ConductorKind.STRIP:
            return self.width * self.thickness
        if self.kind is ConductorKind.TUBE:
            return math.pi * self.wall * (self.diameter - self.wall)
        return 0.25 * math.pi * self.diameter**2


@dataclass(frozen=True, slots=True)
class PrimaryGeometry:
    """Primary winding around the foot of the secondary.

    Parameters
    ----------
    shape : PrimaryShape
        Helical, flat or conical.
    conductor : PrimaryConductor
        Its section.
    inner_radius : float
        Radius of the winding's start, to the middle of the conductor [m].
    turns : float
        Turns wound; parts of a turn are allowed.
    pitch : float
        Distance of neighbouring turns along the winding's surface [m].
    start_height : float
        Height of the winding's start above the secondary's bottom turn [m]; may be negative.
    cone_angle : float
        Rise of a conical winding's surface above the horizontal [rad]; the other shapes
        ignore it.
    tap : float or None
        Turns in use counted from the start, all of them if not given.
    """

    shape: PrimaryShape
    conductor: PrimaryConductor
    inner_radius: float
    turns: float
    pitch: float
    start_height: float = 0.0
    cone_angle: float = math.pi / 6.0
    tap: float | None = None

    def __post_init__(self) -> None:
        if self.tap is not None:
            checked_number(f"{PRIMARY}.tap", self.tap, 0.5, self.turns, "turns")
        if self.turns > 1.0 and self.conductor.extent > self.pitch:
            raise InputError(
                f"{PRIMARY}.pitch",
                self.pitch,
                f"at least the conductor's own size, {self.conductor.extent:g} m",
            )
        if self.conductor.half_depth >= 0.5 * self.inner_radius:
            raise InputError(
                f"{PRIMARY}.inner_radius",
                self.inner_radius,
                f"more than twice the conductor's half depth, {self.conductor.half_depth:g} m",
            )

    @property
    def slope(self) -> float:
        """Rise of the winding's surface above the horizontal [rad]."""
        if self.shape is PrimaryShape.HELICAL:
            return math.pi / 2.0
        return 0.0 if self.shape is PrimaryShape.FLAT else self.cone_angle

    @property
    def used_turns(self) -> float:
        """Turns that carry the current."""
        return self.turns if self.tap is None else self.tap

    @property
    def half_width(self) -> float:
        """Half the conductor's size along the radius [m]."""
        return self._half_sizes()[0]

    @property
    def half_height(self) -> float:
        """Half the conductor's size along the axis [m]."""
        return self._half_sizes()[1]

    def _half_sizes(self) -> tuple[float, float]:
        along, across = 0.5 * self.conductor.extent, self.conductor.half_depth
        rise, run = math.sin(self.slope), math.cos(self.slope)
        if self.conductor.kind is not ConductorKind.STRIP:
            return along, along
        return along * run + across * rise, along * rise + across * run

    def loops(self, *, used_only: bool = True) -> LoopSet:
        """Circular loops that stand for the turns, the last one weighted if it is a part."""
        turns = self.used_turns if used_only else self.turns
        whole = math.floor(turns + 1e-9)
        rest = turns - whole
        index = np.arange(whole) + 0.5
        weights = np.ones(whole)
        if rest > 1e-9:
            index = np.append(index, whole + 0.5 * rest)
            weights = np.append(weights, rest)
        along = self.pitch * index
        # A flat winding's cosine is exactly 1 and a helical one's exactly 0, not 6e-17.
        outward = 0.0 if self.shape is PrimaryShape.HELICAL else math.cos(self.slope)
        return LoopSet(
            radii=self.inner_radius + along * outward,
            heights=self.start_height + along * math.sin(self.slope),
            weights=weights,
        )


@dataclass(frozen=True, slots=True, eq=False)
class LoopSet:
    """Coaxial loops: radius and height [m] and share of a turn, all of shape (N,)."""

    radii: Floats
    heights: Floats
    weights: Floats


@dataclass(frozen=True, slots=True)
class TopLoad:
    """Conductor on top of the winding, joined to its last turn.

    Parameters
    ----------
    kind : TopLoadKind
        None, sphere, toroid or disc.
    diameter : float
        Largest outer diameter [m].
    thickness : float
        Tube diameter of a toroid, thickness of a disc [m].
    centre_height : float
        Height of its middle plane above the top of the winding [m].
    roughness : float
        Peek's factor of the surface: 1 polished, 0.9 weathered, 0.7 to 0.8 crinkled tape or
        corrugated hose (common practice, no source).
    """

    kind: TopLoadKind
    diameter: float = 0.0
    thickness: float = 0.0
    centre_height: float = 0.0
    roughness: float = 1.0

    def __post_init__(self) -> None:
        if self.kind is TopLoadKind.TOROID:
            checked_number(f"{TOP_LOAD}.thickness", self.thickness, 1e-4, 0.49 * self.diameter, "m")
        if self.kind is TopLoadKind.DISC:
            checked_number(f"{TOP_LOAD}.thickness", self.thickness, 1e-5, 0.2 * self.diameter, "m")

    @property
    def tube_radius(self) -> float:
        """Radius of a toroid's tube or of a disc's edge [m]; of the ball for a sphere."""
        return 0.5 * (self.diameter if self.kind is TopLoadKind.SPHERE else self.thickness)

    @property
    def ring_radius(self) -> float:
        """Radius of the middle line of a toroid's tube [m]."""
        return 0.5 * (self.diameter - self.thickness)
