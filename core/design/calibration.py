"""Fitted values that lie over the design's own, and can be switched off."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from core.design.fields import Section, quantity_field, words


class Calibration(Section):
    """Layer of values that a fit to bench readings found; what is None was not fitted."""

    active: Annotated[bool, Field(title="Use the calibration")] = True
    coupling: Annotated[float | None, *quantity_field("", 0.005, 0.9, "Coupling")] = None
    quality_factor: Annotated[
        float | None, *quantity_field("", 3, 3000, "Quality factor of the secondary, no breakout")
    ] = None
    secondary_capacitance: Annotated[
        float | None, *quantity_field("F", 5e-13, 1e-8, "Secondary capacitance with top load")
    ] = None
    breakout_voltage: Annotated[
        float | None, *quantity_field("V", 100, 3e6, "Breakout voltage of the top load", log=True)
    ] = None
    on_resistance: Annotated[
        float | None, *quantity_field("Ω", 1e-4, 100, "On-resistance at 25 °C")
    ] = None
    output_capacitance: Annotated[
        float | None, *quantity_field("F", 2e-12, 1e-7, "Output capacitance Coss, energy related")
    ] = None
    source: Annotated[str, words(), Field(title="Fitted to", max_length=400)] = ""


COIL_NAMES = ("coupling", "quality_factor", "secondary_capacitance", "breakout_voltage")
"""Fitted values that take the place of measured values of the coil."""
DEVICE_NAMES = ("on_resistance", "output_capacitance")
"""Fitted values that take the place of the device's."""
