"""The coil of a design: computed from geometry, overridden by what was measured.

Bridges the design document and the coil's formulas.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Final

from burstwise.core.coil.coil_values import CoilValue, Origin, value_findings
from burstwise.core.coil.design_geometry import breakout_point as breakout_point
from burstwise.core.coil.design_geometry import geometry_constants as geometry_constants
from burstwise.core.coil.design_geometry import primary_geometry as primary_geometry
from burstwise.core.coil.design_geometry import secondary_geometry as secondary_geometry
from burstwise.core.coil.design_geometry import top_load as top_load
from burstwise.core.coil.fit_values import capacitance_for_resonance
from burstwise.core.coil.summary import CoilConstants
from burstwise.core.design.calibrated import fitted_values
from burstwise.core.design.calibration import COIL_NAMES, doubts
from burstwise.core.design.coil import (
    BASE_RATIO,
    RESONANCE,
    SECONDARY_CAPACITANCE,
    SECONDARY_INDUCTANCE,
    Coil,
    measured_used,
)
from burstwise.core.design.document import Design
from burstwise.core.errors import InputError
from burstwise.core.findings import Finding, caution
from burstwise.core.units import shown


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
        Current at the winding's foot over the lumped current [1]; 1 where nothing gives it.
    constants : CoilConstants or None
        What the geometry gave.
    values : tuple of CoilValue
        Each value by all ways that it is known, with the one in use; the resonance among them
        where it was measured.
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
    values: tuple[CoilValue, ...]
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

    def own(self, name: str) -> float:
        """Value by its name as the design has it without a calibration, in SI units."""
        item = self.known(name)
        if item is not None:
            return item.own
        if name == RESONANCE:
            product = self.own(SECONDARY_INDUCTANCE) * self.own(SECONDARY_CAPACITANCE)
            return 0.5 / (math.pi * math.sqrt(product))
        return float(getattr(self, name))

    def known(self, name: str) -> CoilValue | None:
        """All that is known of a value by its name; None for one that follows from others."""
        return next((item for item in self.values if item.name == name), None)

    def origin(self, name: str) -> Origin:
        """Where a value in use comes from; one that follows from others, from the least computed.

        Examples
        --------
        >>> from burstwise.core.design.document import design_from
        >>> design = design_from({"coil": {"given_by": "geometry", "measured": {"coupling": 0.2}}})
        >>> coil = coil_of(design, rings=20)
        >>> coil.origin("coupling").value, coil.origin("mutual_inductance").value
        ('measured', 'measured')
        >>> coil.origin("resonance").value
        'computed'
        """
        sources = _FOLLOWS.get(name, (name,))
        origins = [item.origin for item in self.values if item.name in sources]
        return max(origins, key=list(Origin).index)


_FOLLOWS: Final = {
    "resonance": (SECONDARY_INDUCTANCE, SECONDARY_CAPACITANCE),
    "secondary_resistance": (SECONDARY_INDUCTANCE, SECONDARY_CAPACITANCE, "quality_factor"),
    "mutual_inductance": ("primary_inductance", SECONDARY_INDUCTANCE, "coupling"),
}
"""Values that follow from others."""
_UNITS: Final = {
    "primary_inductance": "H",
    "primary_resistance": "Ω",
    SECONDARY_INDUCTANCE: "H",
    SECONDARY_CAPACITANCE: "F",
    "quality_factor": "",
    "coupling": "",
    "breakout_voltage": "V",
    BASE_RATIO: "",
}
_COPIED: Final = 5e-3
"""Difference up to which a value left among the measured ones is the geometry's, rounded."""
_AGREE: Final = 0.02
"""Difference of a measured capacitance from what a measured resonance asks that is let pass."""
USUAL_BASE_RATIO: Final = 1.09
"""Base current over the lumped one of the example without a top load, the largest of all [1]."""


def coil_of(design: Design, *, rings: int = 100) -> ResolvedCoil:
    """Values of a design's coil, those of an active calibration among them.

    Parameters
    ----------
    design : Design
        The design; ambient temperature and calibration are taken from it.
    rings : int
        See `resolved_coil`.

    Raises
    ------
    InputError
        See `resolved_coil`.
    """
    coil = resolved_coil(
        design.coil,
        fitted=fitted_values(design, COIL_NAMES),
        temperature_c=design.cooling.ambient,
        rings=rings,
    )
    why = doubts(design.calibration)
    return replace(coil, findings=(*coil.findings, _doubtful(why))) if why else coil


def _doubtful(why: tuple[str, ...]) -> Finding:
    return caution(
        "calibration-doubtful",
        "calibration",
        f"The calibration in use is doubtful: {'; '.join(why)}. All figures stand on it until it "
        "is switched off or fitted anew.",
    )


def resolved_coil(
    coil: Coil,
    *,
    fitted: Mapping[str, float] | None = None,
    temperature_c: float = 20.0,
    rings: int = 100,
) -> ResolvedCoil:
    """Values of a coil section.

    Parameters
    ----------
    coil : Coil
        Coil section of the design.
    fitted : mapping, optional
        Values of a calibration by name, which stand for measured and computed ones.
    temperature_c : float
        Temperature of copper and air [°C].
    rings : int
        Rings of the distributed model; 40 put f0 0.01 to 0.15 % above 100 in the examples, most
        without a top load.

    Raises
    ------
    InputError
        Geometry that cannot be built, with the field's path in the design; a measured resonance
        that contradicts the measured capacitance.
    """
    by_geometry = coil.given_by == "geometry"
    constants = geometry_constants(coil.geometry, temperature_c, rings) if by_geometry else None
    known = {name: _known(name, coil, constants, fitted or {}) for name in _UNITS}
    for name in _copied(coil, temperature_c, rings):
        known[name] = replace(known[name], copied=True)
    if measured_used(coil, RESONANCE):
        known[SECONDARY_CAPACITANCE] = _resonating(coil, known)
    values = {name: item.value for name, item in known.items()}
    reactance = math.sqrt(values[SECONDARY_INDUCTANCE] / values[SECONDARY_CAPACITANCE])
    told = (*known.values(), *_resonance(coil, constants, known))
    return ResolvedCoil(
        primary_inductance=values["primary_inductance"],
        secondary_inductance=values[SECONDARY_INDUCTANCE],
        secondary_capacitance=values[SECONDARY_CAPACITANCE],
        coupling=values["coupling"],
        primary_resistance=values["primary_resistance"],
        secondary_resistance=reactance / values["quality_factor"],
        breakout_voltage=values["breakout_voltage"],
        base_current_ratio=values[BASE_RATIO],
        constants=constants,
        values=told,
        findings=(() if constants is None else constants.findings)
        + value_findings(told, reactance=reactance),
    )


def _copied(coil: Coil, temperature_c: float, rings: int) -> tuple[str, ...]:
    """Values of a measured coil that are what its geometry gives: left there by a switch-over."""
    left = [name for name in coil.not_used if name in _UNITS and measured_used(coil, name)]
    if coil.given_by == "geometry" or not left:
        return ()
    try:
        constants = geometry_constants(coil.geometry, temperature_c, rings)
    except InputError:
        return ()
    return tuple(
        name
        for name in left
        if abs(getattr(coil.measured, name) / getattr(constants, name) - 1.0) < _COPIED
    )


def _known(
    name: str, coil: Coil, constants: CoilConstants | None, fitted: Mapping[str, float]
) -> CoilValue:
    """All that is known of a value; a capacitance that a resonance gives comes later."""
    measured = getattr(coil.measured, name)
    computed = None if constants is None else float(getattr(constants, name))
    if measured is None and computed is None and name == BASE_RATIO:
        computed = 1.0
    if measured is None and computed is None and name != SECONDARY_CAPACITANCE:
        raise InputError(f"coil.measured.{name}", "nothing", "given, without a geometry")
    return CoilValue(
        name,
        _UNITS[name],
        computed=computed,
        measured=measured,
        measured_used=measured_used(coil, name),
        fitted=fitted.get(name),
    )


def _resonating(coil: Coil, known: Mapping[str, CoilValue]) -> CoilValue:
    """Capacitance that a measured resonance gives with the inductance in use."""
    resonance = coil.measured.resonance
    assert resonance is not None
    asked = capacitance_for_resonance(resonance, known[SECONDARY_INDUCTANCE].value)
    entered = known[SECONDARY_CAPACITANCE]
    if entered.measured is not None and entered.measured_used:
        apart = entered.measured / asked - 1.0
        if abs(apart) > _AGREE:
            raise InputError(
                "coil.measured.resonance",
                shown(resonance, "Hz"),
                f"in agreement with the measured capacitance of {shown(entered.measured, 'F')}, "
                f"or one of the two not used (with the inductance of "
                f"{shown(known[SECONDARY_INDUCTANCE].value, 'H')} it asks for {shown(asked, 'F')})",
            )
    return replace(entered, measured=asked, measured_used=True, follows=True)


def _resonance(
    coil: Coil, constants: CoilConstants | None, known: Mapping[str, CoilValue]
) -> Iterator[CoilValue]:
    """The resonance by all ways that it is known, where it was measured."""
    measured = coil.measured.resonance
    if measured is None:
        return
    capacitance, used = known[SECONDARY_CAPACITANCE], measured_used(coil, RESONANCE)
    product = known[SECONDARY_INDUCTANCE].value * capacitance.value
    frequency = 0.5 / (math.pi * math.sqrt(product))
    other = None if used else frequency
    yield CoilValue(
        RESONANCE,
        "Hz",
        computed=other if constants is None else constants.resonance,
        measured=measured,
        measured_used=used,
        fitted=None if capacitance.fitted is None else frequency,
    )
