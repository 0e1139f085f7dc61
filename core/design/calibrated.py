"""The design with its calibration laid over it."""

from __future__ import annotations

from burstwise.core.design.calibration import DEVICE_NAMES
from burstwise.core.design.document import Design, with_values


def fitted_values(design: Design, names: tuple[str, ...]) -> dict[str, float]:
    """Those of the named values that an active calibration fitted, in SI units.

    Examples
    --------
    >>> from burstwise.core.design.document import design_from
    >>> given = {"coil": {"given_by": "geometry"}, "calibration": {"coupling": 0.23}}
    >>> fitted_values(design_from(given), ("coupling", "quality_factor"))
    {'coupling': 0.23}
    """
    layer = design.calibration
    if layer is None or not layer.active:
        return {}
    return {name: value for name in names if (value := getattr(layer, name, None)) is not None}


def calibrated(design: Design) -> Design:
    """Design with a device of the values that an active calibration fitted.

    Fitted values of the coil are laid over where the coil is resolved
    (`burstwise.core.coil.resolve.coil_of`), which keeps what was measured, computed and fitted
    apart. The calibration itself stays in the design, so that a second call changes nothing.

    Raises
    ------
    InputError
        A fitted value that does not go with the rest of the design any more, e.g. an output
        capacitance below the reverse capacitance of a device that was changed since.

    Examples
    --------
    >>> from burstwise.core.design.document import design_from
    >>> given = {"coil": {"given_by": "geometry"}, "calibration": {"on_resistance": 2.2}}
    >>> design = design_from(given)
    >>> calibrated(design).device.on_resistance
    2.2
    >>> off = with_values(design, {"calibration.active": False})
    >>> calibrated(off).device.on_resistance == design.device.on_resistance
    True
    """
    values = fitted_values(design, DEVICE_NAMES)
    if not values:
        return design
    laid = {f"device.{name}": value for name, value in values.items()}
    if "output_capacitance" in values:
        laid["device.stored_energy"] = 0.0  # else the law would go through that one
    return with_values(design, laid)
