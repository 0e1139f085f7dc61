"""From a datasheet's curves to the figures of the model, and whether figures fit together."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterator, Sequence
from typing import Final

import numpy as np
from scipy.optimize import nnls

from burstwise.core.design.device import Device, ImpedancePoint, ThermalElement
from burstwise.core.errors import InputError
from burstwise.core.findings import Finding, caution
from burstwise.core.stage.device_charges import fitted_figures
from burstwise.core.units import percent, shown

DECADE_STEPS: Final = 4
"""Time constants per decade that a fitted network may use."""
MOST_ELEMENTS: Final = 12
"""Elements of a network in the design at most."""
_LAW_APART: Final = 0.3
"""Departure of the law in use from a figure of Coss above which it is doubted."""


def fitted_network(points: Sequence[ImpedancePoint]) -> tuple[ThermalElement, ...]:
    """Foster network through points of single-pulse transient thermal impedance.

    Resistances at fixed time constants, four per decade, by non-negative least squares of relative
    errors; elements below 0.2 % of the whole are left out.

    Parameters
    ----------
    points : sequence of ImpedancePoint
        At least three, over at least a decade.

    Raises
    ------
    InputError
        Too few points.

    Notes
    -----
    Exact points of such a network come back within 1 % in between; a curve read off paper to 5 %
    comes back to about 5 %.
    """
    if len(points) < 3:
        raise InputError("device.impedance_curve", f"{len(points)} points", "at least three points")
    ordered = sorted(points, key=lambda point: point.time)
    t = np.array([point.time for point in ordered])
    Z = np.array([point.impedance for point in ordered])
    steps = int(np.ceil(DECADE_STEPS * np.log10(t[-1] / t[0]))) + 1
    tau = np.geomspace(max(0.2 * t[0], 1e-7), t[-1], max(steps, 2))
    shares = -np.expm1(-t[:, None] / tau)
    found, _ = nnls(shares / Z[:, None], np.ones_like(Z))
    smallest_kept = max(0.002 * found.sum(), float(np.sort(found)[::-1][:MOST_ELEMENTS][-1]))
    kept = (found > 0) & (found >= smallest_kept)
    return tuple(
        ThermalElement(resistance=max(float(r), 1e-4), time_constant=float(c))
        for r, c in zip(found[kept].tolist(), tau[kept].tolist(), strict=True)
    )


def plausibility(device: Device) -> tuple[Finding, ...]:
    """Figures of a datasheet that do not fit together, or stand in the wrong unit.

    The bounds are common practice, no source; they catch slips, not unusual parts.

    Examples
    --------
    >>> plausibility(Device())
    ()
    """
    return tuple(finding for check in _CHECKS for finding in check(device))


def _gate_charge(device: Device) -> Iterator[Finding]:
    plain = device.input_capacitance * 10.0
    ratio = device.gate_charge / plain
    if not 0.8 <= ratio <= 12.0:
        yield caution(
            "gate-charge-odd",
            "device.gate_charge",
            f"The gate charge of {shown(device.gate_charge, 'C')} is {ratio:.1f} times Ciss at "
            "10 V; 1 to 10 times is usual. Check nC against pC, and Ciss.",
        )


def _thermal(device: Device) -> Iterator[Finding]:
    from_power = (device.junction_limit - 25.0) / device.power_rating
    ratio = device.junction_to_case / from_power
    if not 0.75 <= ratio <= 1.3:
        yield caution(
            "thermal-odd",
            "device.thermal_network",
            f"The network adds up to {shown(device.junction_to_case, 'K/W', digits=3)}; the power "
            f"rating implies {shown(from_power, 'K/W', digits=3)} from junction to case.",
        )
    ordered = sorted(device.impedance_curve, key=lambda point: point.time)
    if any(a.impedance >= b.impedance for a, b in itertools.pairwise(ordered)):
        yield caution(
            "impedance-falls",
            "device.impedance_curve",
            "The transient thermal impedance must rise with the pulse length; one point falls.",
        )


def _resistance(device: Device) -> Iterator[Finding]:
    if device.hot_resistance_ratio < 1.2:
        yield caution(
            "hot-resistance-low",
            "device.hot_resistance_ratio",
            f"On-resistance only {device.hot_resistance_ratio:g} times as high at 150 °C: silicon "
            "reaches 1.6 to 2.7, silicon carbide 1.2 to 1.8.",
        )
    hot = device.on_resistance * device.hot_resistance_ratio
    allowed = (device.power_rating / hot) ** 0.5
    if not 0.45 <= device.continuous_current / allowed <= 2.2:
        yield caution(
            "current-odd",
            "device.continuous_current",
            f"{shown(device.continuous_current, 'A')} in the hot on-resistance make "
            f"{shown(device.continuous_current**2 * hot, 'W', digits=3)}, the power rating is "
            f"{shown(device.power_rating, 'W', digits=3)}: one of the three looks wrong, or the "
            "current is limited by the package.",
        )


def _avalanche(device: Device) -> Iterator[Finding]:
    ratio = device.avalanche_voltage / device.drain_voltage_rating
    if ratio > 1.45:
        yield caution(
            "avalanche-high",
            "device.avalanche_voltage",
            f"Avalanche at {ratio:.2f} times the rating is unusual; 1.05 to 1.35 is common.",
        )
    if device.repetitive_avalanche_energy > device.avalanche_energy:
        yield caution(
            "avalanche-order",
            "device.repetitive_avalanche_energy",
            "The repetitive avalanche energy cannot be above the single-pulse one.",
        )


def _law(device: Device) -> Iterator[Finding]:
    """Figures of Coss that no law of the kind in use brings together."""
    try:
        found = fitted_figures(device)
    except InputError as error:
        yield caution("capacitances-odd", error.field, f"{error}.")
        return
    for item in found:
        if abs(item.error) > _LAW_APART:
            yield caution(
                "capacitance-apart",
                item.field,
                f"The law in use has {item.name} of {shown(item.law, item.unit, digits=3)}, "
                f"{percent(item.error, signed=True)} against the "
                f"{shown(item.given, item.unit, digits=3)} given: the figures do not go together, "
                "or another kind of law fits better.",
            )


def _gain(device: Device) -> Iterator[Finding]:
    needed = device.threshold_voltage + device.pulsed_current / device.transconductance
    if needed > 1.3 * device.gate_voltage_rating:
        yield caution(
            "transconductance-low",
            "device.transconductance",
            f"With {shown(device.transconductance, 'S')} the pulsed current would need "
            f"{needed:.0f} V at the gate; check the unit.",
        )


def _curves(device: Device) -> Iterator[Finding]:
    line = sorted(device.capacitance_curve, key=lambda point: point.voltage)
    if any(a.capacitance < b.capacitance for a, b in itertools.pairwise(line)):
        yield caution(
            "capacitance-rises",
            "device.capacitance_curve",
            "The output capacitance must not rise with the voltage; one point does.",
        )
    for length in sorted({point.pulse_length for point in device.safe_area}):
        area = sorted(
            (p for p in device.safe_area if p.pulse_length == length), key=lambda p: p.voltage
        )
        if any(a.current < b.current for a, b in itertools.pairwise(area)):
            yield caution(
                "safe-area-rises",
                "device.safe_area",
                f"The current allowed for {shown(length, 's')} must fall with the voltage.",
            )
        if max(point.current for point in area) > 1.05 * device.pulsed_current:
            yield caution(
                "safe-area-above-pulse",
                "device.safe_area",
                f"The safe area for {shown(length, 's')} goes above the pulsed current of "
                f"{shown(device.pulsed_current, 'A')}.",
            )


_CHECKS: Final[tuple[Callable[[Device], Iterator[Finding]], ...]] = (
    _gate_charge,
    _thermal,
    _resistance,
    _avalanche,
    _gain,
    _curves,
    _law,
)
