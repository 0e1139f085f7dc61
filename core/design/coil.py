"""The coil: by measured electrical values, by geometry, or a mix of both."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, model_validator

from core.design.fields import Section, quantity_field


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
    quality_factor: Annotated[
        float | None, *quantity_field("", 3, 3000, "Quality factor of the secondary, no breakout")
    ] = None
    coupling: Annotated[float | None, *quantity_field("", 0.005, 0.9, "Coupling")] = None
    breakout_voltage: Annotated[
        float | None, *quantity_field("V", 100, 3e6, "Breakout voltage of the top load", log=True)
    ] = None


REQUIRED_MEASURED = (
    "primary_inductance",
    "primary_resistance",
    "secondary_inductance",
    "secondary_capacitance",
    "quality_factor",
    "coupling",
    "breakout_voltage",
)


class Coil(Section):
    """Primary, secondary and top load."""

    given_by: Annotated[Literal["measured", "geometry"], Field(title="Coil given by")] = "measured"
    measured: MeasuredCoil = MeasuredCoil()
    breakout_resistance: Annotated[
        float, *quantity_field("Ω", 1e3, 1e9, "Slope resistance of the breakout", log=True)
    ] = 200e3

    @model_validator(mode="after")
    def _complete(self) -> Coil:
        if self.given_by == "measured":
            for name in REQUIRED_MEASURED:
                if getattr(self.measured, name) is None:
                    raise ValueError(
                        f"measured.{name} must be given when the coil is given by measured "
                        "values; instead received nothing"
                    )
        return self
