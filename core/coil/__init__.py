"""From winding geometry to inductance, capacitance, resistance, coupling and resonance."""

from core.coil.breakout import Air, BreakoutPoint
from core.coil.geometry import (
    ConductorKind,
    PrimaryConductor,
    PrimaryGeometry,
    PrimaryShape,
    SecondaryGeometry,
    TopLoad,
    TopLoadKind,
)
from core.coil.summary import CoilConstants, coil_constants

__all__ = [
    "Air",
    "BreakoutPoint",
    "CoilConstants",
    "ConductorKind",
    "PrimaryConductor",
    "PrimaryGeometry",
    "PrimaryShape",
    "SecondaryGeometry",
    "TopLoad",
    "TopLoadKind",
    "coil_constants",
]
