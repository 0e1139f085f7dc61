"""Fitted values that lie over the design's own, and can be switched off."""

from __future__ import annotations

from typing import Annotated, Final, Literal

from pydantic import Field

from burstwise.core.design.fields import Section, quantity_field, words
from burstwise.core.units import shown

FittedName = Literal[
    "coupling",
    "quality_factor",
    "secondary_capacitance",
    "breakout_voltage",
    "on_resistance",
    "output_capacitance",
]
"""Names of the values that a calibration may fit."""
BAD_FIT: Final = 2.0
"""Root mean square deviation, in standard uncertainties, above which a fit is doubtful; about 1
is good."""


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
    misfit: Annotated[
        float | None, *quantity_field("", 0.0, 1e6, "Deviation left by the fit, in uncertainties")
    ] = None
    at_bound: Annotated[
        tuple[FittedName, ...], Field(title="Fitted values that ran to the end of their range")
    ] = ()
    source: Annotated[str, words(), Field(title="Fitted to", max_length=400)] = ""


COIL_NAMES = ("coupling", "quality_factor", "secondary_capacitance", "breakout_voltage")
"""Fitted values that take the place of measured values of the coil."""
DEVICE_NAMES = ("on_resistance", "output_capacitance")
"""Fitted values that take the place of the device's."""


def doubts(layer: Calibration | None) -> tuple[str, ...]:
    """Reasons not to trust the fit of a layer in use, as parts of a sentence; empty without any.

    Examples
    --------
    >>> doubts(Calibration(coupling=0.5, misfit=14.0, at_bound=("coupling",)))[0]
    'it leaves the readings 14 standard uncertainties off (RMS; about 1 is good)'
    >>> doubts(Calibration(coupling=0.5, misfit=14.0, active=False))
    ()
    """
    if layer is None or not layer.active:
        return ()
    said = []
    if layer.misfit is not None and layer.misfit > BAD_FIT:
        said.append(
            f"it leaves the readings {shown(layer.misfit, '', digits=2)} standard uncertainties "
            "off (RMS; about 1 is good)"
        )
    if layer.at_bound:
        names = ", ".join(name.replace("_", " ") for name in layer.at_bound)
        said.append(f"these ran to the end of their range: {names}")
    return tuple(said)
