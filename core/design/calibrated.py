"""The design with its calibration laid over it."""

from __future__ import annotations

from core.design.calibration import COIL_NAMES, DEVICE_NAMES
from core.design.document import Design, with_values


def calibrated(design: Design) -> Design:
    """Design in which the values of an active calibration stand for its own.

    Coil values go to the measured values, which override a geometry; device values to the device.
    The calibration itself stays in the design, so that a second call changes nothing.

    Raises
    ------
    InputError
        A fitted value that does not go with the rest of the design any more, e.g. an output
        capacitance below the reverse capacitance of a device that was changed since.

    Examples
    --------
    >>> from core.design.document import design_from
    >>> coil = dict(
    ...     primary_inductance=3e-6, primary_resistance=0.1, secondary_inductance=0.01,
    ...     secondary_capacitance=8e-12, quality_factor=150, coupling=0.2, breakout_voltage=2e4,
    ... )
    >>> given = {"coil": {"measured": coil}, "calibration": {"coupling": 0.23}}
    >>> design = design_from(given)
    >>> calibrated(design).coil.measured.coupling
    0.23
    >>> off = with_values(design, {"calibration.active": False})
    >>> calibrated(off).coil.measured.coupling
    0.2
    """
    layer = design.calibration
    if layer is None or not layer.active:
        return design
    values: dict[str, object] = {}
    for names, section in ((COIL_NAMES, "coil.measured"), (DEVICE_NAMES, "device")):
        fitted = {name: getattr(layer, name) for name in names}
        values |= {f"{section}.{name}": value for name, value in fitted.items() if value}
    kept = tuple(name for name in design.coil.not_used if getattr(layer, name, None) is None)
    return with_values(design, {**values, "coil.not_used": kept})
