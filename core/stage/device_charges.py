"""Charges of a device from what its datasheet gives."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

import numpy as np
from scipy.optimize import brentq

from core.design.device import CapacitancePoint, Device
from core.errors import InputError
from core.stage.capacitance_law import (
    GRADING,
    KNEE_RATIO,
    KNEE_VOLTAGE,
    CapacitanceLaw,
    CurveLaw,
    Difference,
    JunctionLaw,
    KneeLaw,
    Scaled,
    charge_related,
    energy_related,
)
from core.stage.charge import ChargeSegments
from core.stage.charge_fit import fitted_segments

OUTPUT_PIECES: Final = 8
REVERSE_PIECES: Final = 4
"""Straight pieces of the drain-source and the gate-drain charge."""
EFFECTIVE_PART: Final = 0.8
"""Voltage of effective values over the rating; common practice of datasheets, no source."""
_GRADINGS: Final = (0.15, 0.95)
_KNEE_RATIOS: Final = (1.0, 3000.0)


@dataclass(frozen=True, slots=True)
class DeviceCharges:
    """Charges of a device as straight pieces, with the smooth laws behind them.

    Attributes
    ----------
    output, reverse : CapacitanceLaw
        Coss over v_ds and Crss over v_dg.
    smooth : CapacitanceLaw
        Their difference, which the drain-source pieces are fitted to.
    drain_source, gate_drain : ChargeSegments
        What the stage takes: Coss - Crss over v_ds, and Crss over v_dg.
    """

    output: CapacitanceLaw
    reverse: CapacitanceLaw
    smooth: CapacitanceLaw
    drain_source: ChargeSegments
    gate_drain: ChargeSegments


def device_charges(device: Device) -> DeviceCharges:
    """Charges of a device.

    Parameters
    ----------
    device : Device
        Figures of its datasheet.

    Raises
    ------
    InputError
        Curves of too few points or with two at one voltage, a Crss that is not below Coss at every
        voltage, or a time-related capacitance that the kind of law cannot have.
    """
    return _charges(_figures(device))


def _figures(device: Device) -> Device:
    """Device with all that does not matter here as in a new one, so that results can be kept."""
    blank = {name: getattr(device, name) for name in _NAMES}
    return Device.model_construct(**blank)


_NAMES: Final = (
    "drain_voltage_rating",
    "avalanche_voltage",
    "capacitance_law",
    "output_capacitance",
    "output_capacitance_is",
    "time_related_capacitance",
    "capacitance_voltage",
    "effective_voltage",
    "reverse_capacitance",
    "capacitance_curve",
    "reverse_curve",
)


@lru_cache(maxsize=64)
def _charges(device: Device) -> DeviceCharges:
    output = output_law(device)
    reverse = reverse_law(device, output)
    highest = device.avalanche_voltage
    difference = Difference(output, reverse)
    grid = np.concatenate([[0.0], np.geomspace(0.5, highest, 60)])
    if float(np.min(difference.capacitance(grid))) <= 0.0:
        worst = float(grid[int(np.argmin(difference.capacitance(grid)))])
        raise InputError(
            "device.reverse_capacitance",
            f"{float(reverse.capacitance(worst)) * 1e12:.4g} pF at {worst:.3g} V",
            f"below Coss, {float(output.capacitance(worst)) * 1e12:.4g} pF there",
        )
    return DeviceCharges(
        output,
        reverse,
        difference,
        fitted_segments(difference, highest, OUTPUT_PIECES),
        fitted_segments(reverse, highest, REVERSE_PIECES),
    )


def effective_voltage(device: Device) -> float:
    """Voltage up to which the effective capacitances hold [V]."""
    return device.effective_voltage or EFFECTIVE_PART * device.drain_voltage_rating


def output_law(device: Device) -> CapacitanceLaw:
    """Law of Coss over v_ds through the figures given."""
    kind = device.capacitance_law
    if kind == "constant":
        return ChargeSegments.constant(device.output_capacitance)
    if kind == "curve":
        return _curve("device.capacitance_curve", device.capacitance_curve)
    shape = JunctionLaw(1.0, _grading(device)) if kind == "junction" else _knee(device)
    return Scaled(shape, device.output_capacitance / _anchor(shape, device))


def reverse_law(device: Device, output: CapacitanceLaw) -> CapacitanceLaw:
    """Law of Crss over v_dg: its own curve, else in the shape of Coss through its figure."""
    if device.capacitance_law == "constant":
        return ChargeSegments.constant(device.reverse_capacitance)
    if device.capacitance_law == "curve" and len(device.reverse_curve) > 1:
        return _curve("device.reverse_curve", device.reverse_curve)
    there = float(output.capacitance(device.capacitance_voltage))
    return Scaled(output, device.reverse_capacitance / there)


def _anchor(shape: CapacitanceLaw, device: Device) -> float:
    """What the shape alone has in place of the figure that is given for Coss."""
    if device.output_capacitance_is == "energy related":
        return energy_related(shape, effective_voltage(device))
    return float(shape.capacitance(device.capacitance_voltage))


def _grading(device: Device) -> float:
    """Exponent of a junction law at which its time-related capacitance is that given."""
    if device.time_related_capacitance == 0.0:
        return GRADING
    return _fitted(device, *_GRADINGS, lambda grading: JunctionLaw(1.0, grading))


def _knee(device: Device) -> CapacitanceLaw:
    """Law with a knee, as high at zero volts as the time-related capacitance given wants it."""
    if device.time_related_capacitance == 0.0:
        return KneeLaw(KNEE_RATIO, 1.0, KNEE_VOLTAGE)
    ratio = _fitted(device, *_KNEE_RATIOS, lambda low: KneeLaw(low, 1.0, KNEE_VOLTAGE))
    return KneeLaw(ratio, 1.0, KNEE_VOLTAGE)


def _fitted(
    device: Device, low: float, high: float, law: Callable[[float], CapacitanceLaw]
) -> float:
    """Parameter of a law at which time-related and given capacitance have the ratio given."""
    volts = effective_voltage(device)
    wanted = device.time_related_capacitance / device.output_capacitance

    def miss(value: float) -> float:
        shape = law(value)
        return charge_related(shape, volts) / _anchor(shape, device) - wanted

    ends = miss(low), miss(high)
    if ends[0] * ends[1] > 0:
        reach = sorted((end + wanted) * device.output_capacitance * 1e12 for end in ends)
        raise InputError(
            "device.time_related_capacitance",
            f"{device.time_related_capacitance * 1e12:.4g} pF",
            f"between {reach[0]:.3g} pF and {reach[1]:.3g} pF with this kind of law",
        )
    return float(brentq(miss, low, high, xtol=1e-9))


def _curve(field: str, points: Sequence[CapacitancePoint]) -> CurveLaw:
    if len(points) < 2:
        raise InputError(field, f"{len(points)} points", "at least two points")
    ordered = sorted(points, key=lambda point: point.voltage)
    for one, other in itertools.pairwise(ordered):
        if one.voltage == other.voltage:
            raise InputError(field, f"two points at {one.voltage:g} V", "one point per voltage")
    return CurveLaw(tuple((point.voltage, point.capacitance) for point in ordered))
