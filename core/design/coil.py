"""The coil: by measured electrical values, by geometry, or a mix of both."""

from __future__ import annotations

from typing import Annotated, Final, Literal

from pydantic import Field, model_validator

from burstwise.core.design.fields import DisagreementError, Section, quantity_field

BASE_RATIO = "base_current_ratio"
"""Measured value that may be left out with a coil given by measured values."""


class MeasuredCoil(Section):
    """Electrical values from measurement; with a geometry, those given override the computed."""

    primary_inductance: Annotated[
        float | None, *quantity_field("H", 1e-8, 1e-2, "Primary inductance", log=True)
    ] = None
    primary_resistance: Annotated[
        float | None, *quantity_field("Ω", 1e-4, 100, "Primary resistance at the carrier")
    ] = None
    secondary_inductance: Annotated[
        float | None, *quantity_field("H", 1e-5, 10, "Secondary inductance", log=True)
    ] = None
    secondary_capacitance: Annotated[
        float | None, *quantity_field("F", 5e-13, 1e-8, "Secondary capacitance with top load")
    ] = None
    resonance: Annotated[
        float | None, *quantity_field("Hz", 1e3, 1e8, "Resonance with top load, in place of C2")
    ] = None
    quality_factor: Annotated[
        float | None, *quantity_field("", 3, 3000, "Quality factor of the secondary, no breakout")
    ] = None
    coupling: Annotated[float | None, *quantity_field("", 0.005, 0.9, "Coupling")] = None
    breakout_voltage: Annotated[
        float | None, *quantity_field("V", 100, 3e6, "Breakout voltage of the top load", log=True)
    ] = None
    base_current_ratio: Annotated[
        float | None,
        *quantity_field("", 0.8, 1.6, "Base current over the lumped one; 1 if nothing tells"),
    ] = None


SECONDARY_INDUCTANCE = "secondary_inductance"
SECONDARY_CAPACITANCE = "secondary_capacitance"
RESONANCE = "resonance"
_OPTIONAL = (RESONANCE, BASE_RATIO)
REQUIRED_MEASURED = tuple(name for name in MeasuredCoil.model_fields if name not in _OPTIONAL)
"""Fields that must be given when there is no geometry to compute them from; a resonance stands
for the capacitance, and a ratio of base current that is not given counts as 1."""

RIVALS = {SECONDARY_CAPACITANCE: RESONANCE, RESONANCE: SECONDARY_CAPACITANCE}
"""Of these the one gives the other; one is in use."""

MeasuredName = Literal[
    "primary_inductance",
    "primary_resistance",
    "secondary_inductance",
    "secondary_capacitance",
    "resonance",
    "quality_factor",
    "coupling",
    "breakout_voltage",
    "base_current_ratio",
]
"""Names of the measured values."""

MOST_TURNS: Final = 2e4
LONGEST_WINDING: Final = 20.0
"""Most turns and greatest length [m] of a secondary, given or as one follows from the other."""


class SecondaryWinding(Section):
    """Single-layer winding of round wire on a tube."""

    former_diameter: Annotated[
        float, *quantity_field("m", 5e-3, 2.0, "Outer diameter of the former")
    ] = 0.05
    wire_diameter: Annotated[
        float, *quantity_field("m", 3e-5, 5e-3, "Bare diameter of the wire")
    ] = 0.2e-3
    enamel_grade: Annotated[Literal[1, 2], Field(title="Grade of the enamel")] = 1
    turns: Annotated[
        float | None, *quantity_field("turns", 5, MOST_TURNS, "Turns, when counted")
    ] = 800.0
    winding_length: Annotated[
        float | None,
        *quantity_field("m", 2e-3, LONGEST_WINDING, "Winding length, when measured instead"),
    ] = None
    spacing: Annotated[
        float, *quantity_field("m", 0.0, 0.02, "Gap between the insulation of two turns")
    ] = 0.0

    @model_validator(mode="after")
    def _one_of_turns_and_length(self) -> SecondaryWinding:
        if (self.turns is None) == (self.winding_length is None):
            raise DisagreementError(
                "turns",
                "neither" if self.turns is None else "both",
                "given when winding_length is not, and empty when it is",
            )
        return self


class ConductorSection(Section):
    """Section of the primary's conductor."""

    kind: Annotated[Literal["wire", "tube", "strip"], Field(title="Conductor")] = "wire"
    diameter: Annotated[
        float, *quantity_field("m", 1e-4, 0.1, "Outer diameter of wire or tube")
    ] = 1.8e-3
    wall: Annotated[float, *quantity_field("m", 1e-5, 0.05, "Wall of a tube")] = 0.8e-3
    width: Annotated[float, *quantity_field("m", 1e-4, 0.5, "Width of a strip")] = 10e-3
    thickness: Annotated[float, *quantity_field("m", 5e-6, 0.05, "Thickness of a strip")] = 0.1e-3


class PrimaryWinding(Section):
    """Primary around the foot of the secondary."""

    shape: Annotated[Literal["helical", "flat", "conical"], Field(title="Shape")] = "helical"
    conductor: ConductorSection = ConductorSection()
    inner_radius: Annotated[
        float, *quantity_field("m", 2e-3, 3.0, "Radius of the start, to the conductor's middle")
    ] = 0.038
    turns: Annotated[float, *quantity_field("turns", 0.5, 100, "Turns wound")] = 6.0
    tap: Annotated[float | None, *quantity_field("turns", 0.5, 100, "Turns in use, if tapped")] = (
        None
    )
    pitch: Annotated[float, *quantity_field("m", 1e-4, 0.3, "Distance of neighbouring turns")] = (
        3e-3
    )
    start_height: Annotated[
        float, *quantity_field("m", -2.0, 2.0, "Height of the start above the bottom turn")
    ] = 2e-3
    cone_angle: Annotated[
        float, *quantity_field("°", 0.0, 90.0, "Rise of a cone above the horizontal")
    ] = 30.0


class TopLoadShape(Section):
    """Conductor on top of the secondary."""

    kind: Annotated[Literal["none", "sphere", "toroid", "disc"], Field(title="Top load")] = "sphere"
    diameter: Annotated[float, *quantity_field("m", 2e-3, 3.0, "Outer diameter")] = 0.04
    thickness: Annotated[
        float, *quantity_field("m", 1e-4, 1.0, "Tube diameter of a toroid, thickness of a disc")
    ] = 0.01
    centre_height: Annotated[
        float, *quantity_field("m", -0.5, 2.0, "Height of its middle above the winding")
    ] = 0.03
    roughness: Annotated[
        float, *quantity_field("", 0.2, 1.0, "Surface: 1 polished, 0.7 crinkled")
    ] = 0.9
    point_fitted: Annotated[bool, Field(title="Breakout point fitted")] = False
    point_tip_radius: Annotated[
        float, *quantity_field("m", 5e-5, 5e-3, "Radius of the breakout point's tip", log=True)
    ] = 0.3e-3
    point_height: Annotated[
        float, *quantity_field("m", 1e-3, 0.5, "Height of the breakout point above its surface")
    ] = 0.02


class CoilGeometry(Section):
    """Everything that a tape measure can tell."""

    secondary: SecondaryWinding = SecondaryWinding()
    primary: PrimaryWinding = PrimaryWinding()
    top_load: TopLoadShape = TopLoadShape()
    base_height: Annotated[
        float, *quantity_field("m", 0.005, 5.0, "Height of the bottom turn above earth plane")
    ] = 0.05
    air_pressure: Annotated[float, *quantity_field("Pa", 4e4, 1.1e5, "Air pressure")] = 101.325e3
    strike_ring_height: Annotated[
        float | None,
        *quantity_field("m", 5e-3, 1.0, "Strike ring above the primary's highest turn, if fitted"),
    ] = None


class Coil(Section):
    """Primary, secondary and top load."""

    given_by: Annotated[Literal["measured", "geometry"], Field(title="Coil given by")] = "measured"
    measured: MeasuredCoil = MeasuredCoil()
    not_used: Annotated[
        tuple[MeasuredName, ...],
        Field(title="Measured values that are kept but do not override the geometry"),
    ] = ()
    geometry: CoilGeometry = CoilGeometry()
    breakout_resistance: Annotated[
        float, *quantity_field("Ω", 1e3, 1e9, "Slope resistance of the breakout", log=True)
    ] = 200e3
    lead_inductance: Annotated[
        float, *quantity_field("H", 0.0, 1e-4, "Inductance of the primary's leads")
    ] = 0.0

    @model_validator(mode="after")
    def _complete(self) -> Coil:
        if self.given_by == "measured":
            for name in missing_measured(self):
                raise DisagreementError(
                    f"measured.{name}", "nothing", "given when the coil is given by measured values"
                )
        return self


def measured_used(coil: Coil, name: str) -> bool:
    """Whether a measured value is given and in use.

    Without a geometry all are, but of capacitance and resonance one may be set aside.

    Examples
    --------
    >>> coil = Coil(
    ...     given_by="geometry",
    ...     measured=MeasuredCoil(resonance=300e3, secondary_capacitance=9e-12),
    ...     not_used=("secondary_capacitance",),
    ... )
    >>> measured_used(coil, "resonance"), measured_used(coil, "secondary_capacitance")
    (True, False)
    """
    if getattr(coil.measured, name) is None:
        return False
    if coil.given_by == "geometry" or name == RESONANCE:
        return name not in coil.not_used
    aside = name == SECONDARY_CAPACITANCE and measured_used(coil, RESONANCE)
    return not (aside and name in coil.not_used)


def missing_measured(coil: Coil) -> tuple[str, ...]:
    """Values without which a coil cannot be given by measured values alone.

    Examples
    --------
    >>> coil = Coil(given_by="geometry", measured=MeasuredCoil(resonance=300e3, coupling=0.2))
    >>> missing_measured(coil)[:3]
    ('primary_inductance', 'primary_resistance', 'secondary_inductance')
    >>> "secondary_capacitance" in missing_measured(coil), "coupling" in missing_measured(coil)
    (False, False)
    """
    return tuple(
        name
        for name in REQUIRED_MEASURED
        if getattr(coil.measured, name) is None
        and not (name == SECONDARY_CAPACITANCE and measured_used(coil, RESONANCE))
    )
