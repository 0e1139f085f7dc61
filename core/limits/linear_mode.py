"""A device held in its linear region: by a bias that is too high for its threshold, or at rest."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from burstwise.core.design.document import Design
from burstwise.core.findings import Finding, caution
from burstwise.core.stage.carrier import Carrier
from burstwise.core.units import shown

THRESHOLD_SPREAD: Final = 1.0
"""Spread of thresholds of one type either way [V]; from memory of datasheets."""
_HEAT: Final = 0.5
"""Heat in the device without oscillation from which hot spots are told [W]."""
HOT_SPOTS: Final = (
    "In its linear region a trench or superjunction device gathers the current in hot spots and "
    "can fail far below its power rating; planar ones stand more. Only a safe area printed for "
    "direct current tells."
)


def bias_current(design: Design, *, lower: float = 0.0) -> float:
    """Drain current that the bias of a direct drive alone lets flow [A], ``g (Vb - Vth)``.

    Parameters
    ----------
    design : Design
        The design.
    lower : float
        How far this device's threshold lies below the design's [V].

    Notes
    -----
    The piecewise-linear channel of the stage; bounded by the supply over the on-resistance.
    """
    part, device = design.drive.direct, design.device
    over = part.bias_voltage - (device.threshold_voltage - lower)
    if design.drive.kind != "direct":
        return 0.0
    saturated = device.transconductance * max(over, 0.0)
    return min(saturated, design.supply.voltage / device.on_resistance)


def linear_mode_findings(design: Design, run: Carrier) -> Iterator[Finding]:
    """Cautions about a device that conducts without switching.

    Parameters
    ----------
    design : Design
        The design.
    run : Carrier
        Its run.
    """
    if not run.oscillates and run.device_power > _HEAT:
        yield caution(
            "linear-mode",
            "carrier.oscillates",
            f"The device takes {shown(run.device_power, 'W', digits=2)} without switching. "
            f"{HOT_SPOTS}",
        )
    current = bias_current(design, lower=THRESHOLD_SPREAD)
    heat = current * design.supply.voltage
    if heat > _HEAT:
        yield caution(
            "bias-spread",
            "drive.direct.bias_voltage",
            f"Thresholds spread by about {shown(THRESHOLD_SPREAD, 'V')}: with a device whose "
            f"threshold lies that much lower, this bias lets {shown(current, 'A', digits=2)} flow "
            f"before anything oscillates, up to {shown(heat, 'W', digits=2)} at the full supply. "
            f"Set the bias by a trimmer on the built stage. {HOT_SPOTS}",
        )
