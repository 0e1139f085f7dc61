"""From winding geometry to inductance, capacitance, resistance, coupling and resonance."""

from burstwise.core.coil.breakout import Air, BreakoutPoint
from burstwise.core.coil.geometry import (
    ConductorKind,
    PrimaryConductor,
    PrimaryGeometry,
    PrimaryShape,
    SecondaryGeometry,
    TopLoad,
    TopLoadKind,
)
from burstwise.core.coil.summary import CoilConstants, coil_constants

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
