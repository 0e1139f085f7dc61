"""Cross-section of a coil as plain shapes in metres: axis at x = 0, bottom turn at y = 0."""

from __future__ import annotations

import math
from dataclasses import dataclass

from burstwise.core.coil.breakout import BreakoutPoint
from burstwise.core.coil.geometry import (
    ConductorKind,
    PrimaryGeometry,
    SecondaryGeometry,
    TopLoad,
    TopLoadKind,
)


@dataclass(frozen=True, slots=True)
class Box:
    """Rectangle or, with `round_ends`, a bar with half-round ends: centre, sizes, tilt [rad]."""

    x: float
    y: float
    width: float
    height: float
    tilt: float = 0.0
    round_ends: bool = False


@dataclass(frozen=True, slots=True)
class Ball:
    """Circle; a tube's has the radius of its bore as well."""

    x: float
    y: float
    radius: float
    bore: float = 0.0


@dataclass(frozen=True, slots=True)
class Turn:
    """Section of one primary turn on one side, and whether it carries current."""

    shape: Box | Ball
    used: bool


@dataclass(frozen=True, slots=True)
class CoilSection:
    """All shapes of one coil.

    Parameters
    ----------
    former_radius : float
        Outer radius of the former.
    winding : tuple of Box
        Winding on both sides.
    wires : int
        Turns in the winding's length, for hatching.
    turns : tuple of Turn
        Sections of the primary on both sides.
    top : tuple of Ball or Box
        Top load, empty without one.
    stem : float
        Height of the top load's middle, equal to the winding's length without one.
    earth : float
        Height of the earth plane, below 0.
    point : Box or None
        Breakout point: on the axis, on the outer rim of a toroid or a disc.
    """

    former_radius: float
    winding: tuple[Box, ...]
    wires: float
    turns: tuple[Turn, ...]
    top: tuple[Ball | Box, ...]
    stem: float
    earth: float
    point: Box | None = None

    @property
    def length(self) -> float:
        """Length of the winding."""
        return self.winding[0].height

    @property
    def _shapes(self) -> list[Ball | Box]:
        point = () if self.point is None else (self.point,)
        return [*self.winding, *(turn.shape for turn in self.turns), *self.top, *point]

    @property
    def reach(self) -> float:
        """Largest distance of any conductor from the axis."""
        shapes = self._shapes
        return max(_right(shape) for shape in shapes)

    @property
    def highest(self) -> float:
        """Height of the highest conductor."""
        shapes = self._shapes
        return max(_top(shape) for shape in shapes)


def coil_section(
    primary: PrimaryGeometry,
    secondary: SecondaryGeometry,
    top_load: TopLoad,
    *,
    base_height: float,
    point: BreakoutPoint | None = None,
) -> CoilSection:
    """Shapes of a coil.

    Parameters
    ----------
    primary, secondary, top_load : geometry
        The coil.
    base_height : float
        Height of the bottom turn above the earth plane [m].
    point : BreakoutPoint or None
        Point on the top load.
    """
    wire, length = secondary.overall_diameter, secondary.length
    winding = tuple(
        Box(side * 0.5 * secondary.mean_diameter, 0.5 * length, wire, length) for side in (-1, 1)
    )
    return CoilSection(
        former_radius=0.5 * secondary.former_diameter,
        winding=winding,
        wires=secondary.turns,
        turns=_turns(primary),
        top=_top_shapes(top_load, length + top_load.centre_height),
        point=_point_shape(point, top_load, length),
        stem=length + (top_load.centre_height if top_load.kind is not TopLoadKind.NONE else 0.0),
        earth=-base_height,
    )


def _turns(primary: PrimaryGeometry) -> tuple[Turn, ...]:
    loops = primary.loops(used_only=False)
    turns, counted = [], 0.0
    for radius, height, weight in zip(loops.radii, loops.heights, loops.weights, strict=True):
        middle = counted + 0.5 * float(weight)
        counted += float(weight)
        used = middle <= primary.used_turns
        for side in (-1, 1):
            shape = _conductor(primary, side, float(radius), float(height))
            turns.append(Turn(shape, used))
    return tuple(turns)


def _conductor(primary: PrimaryGeometry, side: int, radius: float, height: float) -> Box | Ball:
    conductor = primary.conductor
    if conductor.kind is ConductorKind.STRIP:
        tilt = side * primary.slope
        return Box(side * radius, height, conductor.width, conductor.thickness, tilt)
    half = 0.5 * conductor.diameter
    bore = half - conductor.wall if conductor.kind is ConductorKind.TUBE else 0.0
    return Ball(side * radius, height, half, max(bore, 0.0))


def _top_shapes(top_load: TopLoad, height: float) -> tuple[Ball | Box, ...]:
    if top_load.kind is TopLoadKind.NONE:
        return ()
    if top_load.kind is TopLoadKind.SPHERE:
        return (Ball(0.0, height, 0.5 * top_load.diameter),)
    if top_load.kind is TopLoadKind.DISC:
        size = (top_load.diameter, top_load.thickness)
        return (Box(0.0, height, *size, round_ends=True),)
    return tuple(
        Ball(side * top_load.ring_radius, height, top_load.tube_radius) for side in (-1, 1)
    )


def _point_shape(point: BreakoutPoint | None, top_load: TopLoad, length: float) -> Box | None:
    """Rod of the point: up from a sphere or the bare end, outwards from a rim."""
    if point is None:
        return None
    thick, half = 2.0 * point.tip_radius, 0.5 * point.height
    middle = length + top_load.centre_height
    if top_load.kind in (TopLoadKind.TOROID, TopLoadKind.DISC):
        return Box(0.5 * top_load.diameter + half, middle, point.height, thick)
    if top_load.kind is TopLoadKind.SPHERE:
        return Box(0.0, middle + 0.5 * top_load.diameter + half, thick, point.height)
    return Box(0.0, length + half, thick, point.height)


def _right(shape: Ball | Box) -> float:
    if isinstance(shape, Ball):
        return abs(shape.x) + shape.radius
    across = abs(math.cos(shape.tilt)) * shape.width + abs(math.sin(shape.tilt)) * shape.height
    return abs(shape.x) + 0.5 * across


def _top(shape: Ball | Box) -> float:
    if isinstance(shape, Ball):
        return shape.y + shape.radius
    along = abs(math.sin(shape.tilt)) * shape.width + abs(math.cos(shape.tilt)) * shape.height
    return shape.y + 0.5 * along
