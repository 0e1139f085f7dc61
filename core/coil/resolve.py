"""The coil of a design: computed from geometry, overridden by what was measured.

Bridges the design document and the coil's formulas. The costly part, from geometry to constants,
is kept for the last few geometries.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

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
from core.coil.wire import EnamelGrade, enamelled_wire
from core.design.coil import Coil, CoilGeometry
from core.errors import InputError
from core.findings import Finding, caution, note
from core.units import percent, shown


@dataclass(frozen=True, slots=True)
class Comparison:
    """A measured value beside the computed one; `used` says whether it overrides.

    `difference` is measured over computed, less one.
    """

    name: str
    unit: str
    measured: float
    computed: float
    used: bool = True

    @property
    def difference(self) -> float:
        """Relative difference, measured against computed [1]."""
        return self.measured / self.computed - 1.0


@dataclass(frozen=True, slots=True)
class ResolvedCoil:
    """Electrical values that the stage works with, and where they come from.

    Attributes
    ----------
    primary_inductance, secondary_inductance : float
        [H].
    coupling : float
        Coupling coefficient [1].
    primary_resistance, secondary_resistance : float
        At the carrier [ohm].
    secondary_capacitance : float
        [F].
    breakout_voltage : float
        Peak [V].
    base_current_ratio : float
        Current at the winding's foot over the lumped current [1]; 1 for a measured coil.
    constants : CoilConstants or None
        What the geometry gave.
    comparisons : tuple of Comparison
        Measured against computed, where both are there.
    findings : tuple of Finding
        What the coil's own checks say.
    """

    primary_inductance: float
    secondary_inductance: float
    secondary_capacitance: float
    coupling: float
    primary_resistance: float
    secondary_resistance: float
    breakout_voltage: float
    base_current_ratio: float
    constants: CoilConstants | None
    comparisons: tuple[Comparison, ...]
    findings: tuple[Finding, ...]

    @property
    def resonance(self) -> float:
        """Resonance of the secondary alone [Hz]."""
        return 0.5 / (math.pi * math.sqrt(self.secondary_inductance * self.secondary_capacitance))

    @property
    def quality_factor(self) -> float:
        """Quality factor of the secondary without breakout [1]."""
        reactance = 2 * math.pi * self.resonance * self.secondary_inductance
        return reactance / self.secondary_resistance

    @property
    def mutual_inductance(self) -> float:
        """Mutual inductance [H]."""
        return self.coupling * math.sqrt(self.primary_inductance * self.secondary_inductance)


_UNITS = {
    "primary_inductance": "H",
    "primary_resistance": "Ω",
    "secondary_inductance": "H",
    "secondary_capacitance": "F",
    "quality_factor": "",
    "coupling": "",
    "breakout_voltage": "V",
}
_LARGE_DIFFERENCE = 0.25


def resolved_coil(coil: Coil, *, temperature_c: float = 20.0, rings: int = 100) -> ResolvedCoil:
    """Values of a design's coil.

    Parameters
    ----------
    coil : Coil
        Coil section of the design.
    temperature_c : float
        Temperature of copper and air [°C].
    rings : int
        Rings of the distributed model; 40 put f0 0.01 to 0.15 % above 100 in the examples, most
        without a top load.

    Raises
    ------
    InputError
        Geometry that cannot be built, with the field's path in the design.
    """
    by_geometry = coil.given_by == "geometry"
    constants = geometry_constants(coil.geometry, temperature_c, rings) if by_geometry else None
    values: dict[str, float] = {}
    comparisons = []
    for name, unit in _UNITS.items():
        measured = getattr(coil.measured, name)
        computed = None if constants is None else float(getattr(constants, name))
        used = not by_geometry or name not in coil.not_used
        if measured is not None and computed is not None:
            comparisons.append(Comparison(name, unit, measured, computed, used))
        chosen = measured if measured is not None and used else computed
        if chosen is None:
            raise InputError(f"coil.measured.{name}", "nothing", "given, without a geometry")
        values[name] = chosen
    reactance = math.sqrt(values["secondary_inductance"] / values["secondary_capacitance"])
    findings = () if constants is None else constants.findings
    return ResolvedCoil(
        primary_inductance=values["primary_inductance"],
        secondary_inductance=values["secondary_inductance"],
        secondary_capacitance=values["secondary_capacitance"],
        coupling=values["coupling"],
        primary_resistance=values["primary_resistance"],
        secondary_resistance=reactance / values["quality_factor"],
        breakout_voltage=values["breakout_voltage"],
        base_current_ratio=1.0 if constants is None else constants.base_current_ratio,
        constants=constants,
        comparisons=tuple(comparisons),
        findings=findings + _differences(comparisons),
    )


def _differences(comparisons: list[Comparison]) -> tuple[Finding, ...]:
    return tuple(
        _copper_alone(item) if _below_copper(item) else _far(item)
        for item in comparisons
        if item.used and abs(item.difference) > _LARGE_DIFFERENCE and not _has_point(item)
    )


def _far(item: Comparison) -> Finding:
    apart = percent(item.difference, signed=True)
    return caution(
        "measured-far-from-computed",
        f"coil.measured.{item.name}",
        f"The measured {item.name.replace('_', ' ')} is {shown(item.measured, item.unit)}, "
        f"{apart} {'what' if apart.endswith('times') else 'from what'} the geometry gives; check "
        "the reading and the dimensions.",
    )


def _copper_alone(item: Comparison) -> Finding:
    return note(
        "measured-q-below-copper",
        "coil.measured.quality_factor",
        f"The measured quality factor of {shown(item.measured, '', digits=3)} is below the "
        f"{shown(item.computed, '', digits=3)} of the copper alone, as it should be: the former, "
        "leads, walls and any corona take their part, which no geometry here tells.",
    )


def _below_copper(item: Comparison) -> bool:
    return item.name == "quality_factor" and item.difference < 0.0


def _has_point(item: Comparison) -> bool:
    """A breakout below the smooth top load's is what a breakout point is fitted for."""
    return item.name == "breakout_voltage" and item.difference < 0.0


@lru_cache(maxsize=64)
def geometry_constants(
    geometry: CoilGeometry, temperature_c: float = 20.0, rings: int = 100
) -> CoilConstants:
    """Constants from the geometry section alone; kept for the last 64 of them.

    Raises
    ------
    InputError
        Geometry that cannot be built, with the field's path in the design.
    """
    try:
        return coil_constants(
            primary_geometry(geometry),
            secondary_geometry(geometry),
            top_load(geometry),
            base_height=geometry.base_height,
            temperature_c=temperature_c,
            rings=rings,
            air=Air(temperature_c, geometry.air_pressure),
            point=breakout_point(geometry),
        )
    except InputError as error:
        raise InputError(_design_path(error.field, geometry), error.value, error.limit) from error


_RENAMED = {
    "bare_diameter": "secondary.wire_diameter",
    "secondary.bare_diameter": "secondary.wire_diameter",
    "secondary.overall_diameter": "secondary.wire_diameter",
    "air.pressure": "air_pressure",
}
_AMBIENT = ("temperature", "air.temperature")


def _design_path(field: str, geometry: CoilGeometry) -> str:
    name = field.removeprefix("coil.")
    if name in _AMBIENT:
        return "cooling.ambient"
    if name == "secondary.turns" and geometry.secondary.turns is None:
        name = "secondary.winding_length"
    return f"coil.geometry.{_RENAMED.get(name, name)}"


def secondary_geometry(geometry: CoilGeometry) -> SecondaryGeometry:
    """Secondary of the design for the coil's formulas."""
    part = geometry.secondary
    wire = enamelled_wire(part.wire_diameter, EnamelGrade(part.enamel_grade))
    turns = part.turns
    if turns is None:
        assert part.winding_length is not None
        turns = part.winding_length / (wire.overall_diameter + part.spacing)
    return SecondaryGeometry(
        former_diameter=part.former_diameter,
        bare_diameter=part.wire_diameter,
        overall_diameter=wire.overall_diameter,
        turns=turns,
        spacing=part.spacing,
    )


def primary_geometry(geometry: CoilGeometry) -> PrimaryGeometry:
    """Primary of the design for the coil's formulas."""
    part, section = geometry.primary, geometry.primary.conductor
    return PrimaryGeometry(
        shape=PrimaryShape(part.shape),
        conductor=PrimaryConductor(
            kind=ConductorKind(section.kind),
            diameter=section.diameter,
            wall=section.wall,
            width=section.width,
            thickness=section.thickness,
        ),
        inner_radius=part.inner_radius,
        turns=part.turns,
        pitch=part.pitch,
        start_height=part.start_height,
        cone_angle=math.radians(part.cone_angle),
        tap=part.tap,
    )


def top_load(geometry: CoilGeometry) -> TopLoad:
    """Top load of the design for the coil's formulas."""
    part = geometry.top_load
    return TopLoad(
        kind=TopLoadKind(part.kind),
        diameter=part.diameter,
        thickness=part.thickness,
        centre_height=part.centre_height,
        roughness=part.roughness,
    )


def breakout_point(geometry: CoilGeometry) -> BreakoutPoint | None:
    """Breakout point of the design for the coil's formulas, None where none is fitted."""
    part = geometry.top_load
    if not part.point_fitted:
        return None
    return BreakoutPoint(part.point_tip_radius, part.point_height)
