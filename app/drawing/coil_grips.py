"""Edges of a coil that a hand can drag in its drawing, and the fields that they stand for."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any, Final

from PySide6.QtCore import QPointF, Qt

from burstwise.app.drawing.scale import ToScale
from burstwise.app.drawing.section import Ball, CoilSection
from burstwise.app.widgets.drag import snapped

NEAR: Final = 9.0
"""Distance at which the mouse takes hold [px]."""
_COIL: Final = "coil.geometry."
_TURNS: Final = _COIL + "secondary.turns"
_LENGTH: Final = _COIL + "secondary.winding_length"
_FORMER: Final = _COIL + "secondary.former_diameter"
_RADIUS: Final = _COIL + "primary.inner_radius"
_START: Final = _COIL + "primary.start_height"
_TOP_WIDTH: Final = _COIL + "top_load.diameter"
_TOP_HEIGHT: Final = _COIL + "top_load.centre_height"


@dataclass(frozen=True, slots=True)
class CoilGrip:
    """One handle: its place in metres, and along which axes it goes."""

    name: str
    words: str
    x: float
    y: float
    across: bool = False
    up: bool = False

    @property
    def cursor(self) -> Qt.CursorShape:
        """Shape of the mouse over it."""
        if self.across and self.up:
            return Qt.CursorShape.SizeAllCursor
        return Qt.CursorShape.SizeHorCursor if self.across else Qt.CursorShape.SizeVerCursor


@dataclass(frozen=True, slots=True)
class DragStart:
    """A handle as it was taken, with all that its drag is measured from."""

    grip: CoilGrip
    section: CoilSection
    start: Mapping[str, Any]


def grips_of(section: CoilSection) -> tuple[CoilGrip, ...]:
    """Handles of a coil, the primary first."""
    first = next((turn.shape for turn in section.turns if turn.shape.x > 0.0), None)
    found = []
    if first is not None:
        found.append(CoilGrip("primary", "primary, start", first.x, first.y, across=True, up=True))
    found += [
        CoilGrip("length", "winding, upper end", 0.0, section.length, up=True),
        CoilGrip("former", "former", section.former_radius, 0.3 * section.length, across=True),
    ]
    if section.top:
        rim = section.top[-1]
        half = rim.radius if isinstance(rim, Ball) else 0.5 * rim.width
        found += [
            CoilGrip("top", "top load, rim", rim.x + half, section.stem, across=True),
            CoilGrip("height", "top load, height", 0.0, section.stem, up=True),
        ]
    return tuple(found)


def nearest(grips: tuple[CoilGrip, ...], at: QPointF, to: ToScale) -> CoilGrip | None:
    """Handle under a place of the drawing, None where none is near."""

    def away(grip: CoilGrip) -> float:
        gap = at - to.point(grip.x, grip.y)
        return math.hypot(gap.x(), gap.y())

    best = min(grips, key=away, default=None)
    return best if best is not None and away(best) <= NEAR else None


def start_values(value: Callable[[str], Any]) -> dict[str, Any]:
    """Values of all fields that a handle can move, to measure a drag from."""
    paths = (_TURNS, _LENGTH, _FORMER, _RADIUS, _START, _TOP_WIDTH, _TOP_HEIGHT)
    return {path: value(path) for path in paths}


def edits_of(held: DragStart, x: float, y: float, *, pixel: float, fine: bool) -> dict[str, object]:
    """Edits that bring a held edge to a place.

    Parameters
    ----------
    held : DragStart
        The handle as it was taken.
    x, y : float
        Place in the drawing [m].
    pixel : float
        Length of a pixel [m]; lengths go by round steps of a few of them.
    fine : bool
        Ten times finer steps.
    """
    grip, start = held.grip, held.start
    dx, dy = x - grip.x, y - grip.y

    def length(path: str, change: float) -> float:
        return snapped(float(start[path]) + change, pixel, fine=fine)

    if grip.name == "primary":
        return {_RADIUS: length(_RADIUS, dx), _START: length(_START, dy)}
    if grip.name == "former":
        return {_FORMER: snapped(2.0 * x, 2.0 * pixel, fine=fine)}
    if grip.name == "top":
        return {_TOP_WIDTH: snapped(2.0 * x, 2.0 * pixel, fine=fine)}
    if grip.name == "height":
        return {_TOP_HEIGHT: length(_TOP_HEIGHT, dy)}
    if start[_TURNS] is None:
        return {_LENGTH: length(_LENGTH, dy)}
    per_turn = float(start[_TURNS]) / grip.y
    return {_TURNS: round(snapped(y * per_turn, pixel * per_turn, fine=fine))}
