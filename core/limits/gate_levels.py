"""On-level of the gate against the levels that the device is recommended for."""

from __future__ import annotations

from collections.abc import Iterator

from burstwise.core.design.document import Design
from burstwise.core.findings import Finding, caution
from burstwise.core.units import shown


def gate_level_findings(design: Design) -> Iterator[Finding]:
    """Caution where the gate's on-level is outside what the device is recommended for.

    The on-level is the supply of a gate driver; with a direct drive the positive gate clamp, as
    far as the base current drives it.

    Parameters
    ----------
    design : Design
        The design.
    """
    drive = design.drive
    if drive.kind == "gated":
        yield from _level(design, "drive.gated.driver_supply", drive.gated.driver_supply)
    elif drive.direct.clamp_fitted:
        yield from _level(design, "drive.direct.clamp_high", drive.direct.clamp_high)


def _level(design: Design, field: str, level: float) -> Iterator[Finding]:
    low, high = design.device.recommended_gate_low, design.device.recommended_gate_high
    if low is not None and level < low:
        yield caution(
            "gate-level-low",
            field,
            f"The gate is driven with {shown(level, 'V')}; this device is meant to be driven with "
            f"{shown(low, 'V')} or more. Below that its on-resistance is higher than printed, and "
            "it may get hotter than computed.",
        )
    if high is not None and level > high:
        yield caution(
            "gate-level-high",
            field,
            f"The gate is driven with {shown(level, 'V')}; this device is meant to be driven with "
            f"{shown(high, 'V')} at most. Ringing of the gate loop may take it beyond its rating.",
        )
