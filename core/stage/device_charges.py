"""Charges of a device from what its datasheet gives."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

from scipy.optimize import brentq

from burstwise.core.design.device import CapacitancePoint, Device
from burstwise.core.errors import InputError
from burstwise.core.stage.capacitance_law import (
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
    lowest_ratio,
)
from burstwise.core.stage.charge import ChargeSegments
from burstwise.core.stage.charge_fit import fitted_segments
from burstwise.core.units import percent, shown

OUTPUT_PIECES: Final = 12
REVERSE_PIECES: Final = 6
"""Straight pieces of the drain-source and the gate-drain charge above zero volts."""
EFFECTIVE_PART: Final = 0.8
"""Voltage of effective values over the rating; common practice of datasheets, no source."""
READING: Final = 0.05
"""Rise between two points of Coss that is taken for an error of reading; common practice."""
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


def device_charges(device: Device, *, finer: int = 1) -> DeviceCharges:
    """Charges of a device.

    Parameters
    ----------
    device : Device
        Figures of its datasheet.
    finer : int
        Times as many straight pieces as usual.

    Raises
    ------
    InputError
        Curves of too few points or with two at one voltage, a Crss that is not below Coss at every
        voltage, or a time-related capacitance that the kind of law cannot have.
    """
    return _charges(_figures(device), finer)


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
    "stored_energy",
    "stored_charge",
    "reverse_capacitance",
    "capacitance_curve",
    "reverse_curve",
)


@lru_cache(maxsize=64)
def _charges(device: Device, finer: int) -> DeviceCharges:
    output = output_law(device)
    reverse = reverse_law(device, output)
    highest = device.avalanche_voltage
    _refuse_crossing(device, output, reverse)
    difference = Difference(output, reverse)
    return DeviceCharges(
        output,
        reverse,
        difference,
        fitted_segments(difference, highest, finer * OUTPUT_PIECES),
        fitted_segments(reverse, highest, finer * REVERSE_PIECES),
    )


def _refuse_crossing(device: Device, output: CapacitanceLaw, reverse: CapacitanceLaw) -> None:
    """Crss must be below Coss everywhere; in the same shape one voltage tells for all."""
    volts = device.capacitance_voltage
    if isinstance(output, CurveLaw) and isinstance(reverse, CurveLaw):
        volts, _ = lowest_ratio(output, reverse)
    least, most = float(output.capacitance(volts)), float(reverse.capacitance(volts))
    if least <= most:
        raise InputError(
            "device.reverse_capacitance",
            f"{most * 1e12:.4g} pF at {volts:.3g} V",
            f"below Coss, {least * 1e12:.4g} pF there",
        )


def effective_voltage(device: Device) -> float:
    """Voltage up to which the effective capacitances hold [V]."""
    return device.effective_voltage or EFFECTIVE_PART * device.drain_voltage_rating


def output_law(device: Device) -> CapacitanceLaw:
    """Law of Coss over v_ds through the figures given."""
    kind = device.capacitance_law
    if kind == "constant":
        return ChargeSegments.constant(_anchor_figure(device))
    if kind == "curve":
        return _falling(_curve("device.capacitance_curve", device.capacitance_curve))
    shape = JunctionLaw(1.0, _grading(device)) if kind == "junction" else _knee(device)
    return Scaled(shape, _anchor_figure(device) / _anchor(shape, device))


def reverse_law(device: Device, output: CapacitanceLaw) -> CapacitanceLaw:
    """Law of Crss over v_dg: its own curve, else in the shape of Coss through its figure."""
    if device.capacitance_law == "constant":
        return ChargeSegments.constant(device.reverse_capacitance)
    if device.capacitance_law == "curve" and len(device.reverse_curve) > 1:
        return _curve("device.reverse_curve", device.reverse_curve)
    there = float(output.capacitance(device.capacitance_voltage))
    return Scaled(output, device.reverse_capacitance / there)


def _energy_given(device: Device) -> bool:
    """Whether the law is held to an energy, rather than to Coss at the test voltage."""
    return device.stored_energy > 0.0 or device.output_capacitance_is == "energy related"


def _anchor_figure(device: Device) -> float:
    """Figure that the law goes through: of the stored energy where it is given, else Coss [F]."""
    if device.stored_energy > 0.0:
        return 2.0 * device.stored_energy / effective_voltage(device) ** 2
    return device.output_capacitance


def _anchor(shape: CapacitanceLaw, device: Device) -> float:
    """What the shape alone has in place of the figure that the law goes through."""
    if _energy_given(device):
        return energy_related(shape, effective_voltage(device))
    return float(shape.capacitance(device.capacitance_voltage))


def _time_figure(device: Device) -> float:
    """Time-related capacitance, as such or by the stored charge; 0 where neither is given [F]."""
    if device.stored_charge > 0.0:
        return device.stored_charge / effective_voltage(device)
    return device.time_related_capacitance


def _grading(device: Device) -> float:
    """Exponent of a junction law at which its time-related capacitance is that given."""
    if _time_figure(device) == 0.0:
        return GRADING
    return _fitted(device, *_GRADINGS, lambda grading: JunctionLaw(1.0, grading))


def _knee(device: Device) -> CapacitanceLaw:
    """Law with a knee, as high at zero volts as the time-related capacitance given wants it."""
    if _time_figure(device) == 0.0:
        return KneeLaw(KNEE_RATIO, 1.0, KNEE_VOLTAGE)
    ratio = _fitted(device, *_KNEE_RATIOS, lambda low: KneeLaw(low, 1.0, KNEE_VOLTAGE))
    return KneeLaw(ratio, 1.0, KNEE_VOLTAGE)


def _fitted(
    device: Device, low: float, high: float, law: Callable[[float], CapacitanceLaw]
) -> float:
    """Parameter of a law at which time-related and given capacitance have the ratio given."""
    volts = effective_voltage(device)
    anchor = _anchor_figure(device)
    wanted = _time_figure(device) / anchor

    def miss(value: float) -> float:
        shape = law(value)
        return charge_related(shape, volts) / _anchor(shape, device) - wanted

    ends = miss(low), miss(high)
    if ends[0] * ends[1] > 0:
        reach = sorted((end + wanted) * anchor for end in ends)
        by_charge = device.stored_charge > 0.0
        scale, unit = (volts, "C") if by_charge else (1.0, "F")
        raise InputError(
            f"device.{'stored_charge' if by_charge else 'time_related_capacitance'}",
            shown(_time_figure(device) * scale, unit),
            f"between {shown(reach[0] * scale, unit, digits=3)} and "
            f"{shown(reach[1] * scale, unit, digits=3)} with this kind of law",
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


def _falling(law: CurveLaw) -> CurveLaw:
    """Refuse an output capacitance that rises with voltage; cubics between points follow them."""
    lowest = law.points[0][1]
    for volts, farads in law.points:
        if farads > (1.0 + READING) * lowest:
            raise InputError(
                "device.capacitance_curve",
                f"{farads * 1e12:.4g} pF at {volts:g} V",
                f"at most {percent(READING)} above the {lowest * 1e12:.4g} pF at a lower voltage",
            )
        lowest = min(lowest, farads)
    return law


@dataclass(frozen=True, slots=True)
class Fitted:
    """A figure of the datasheet beside what the law in use has there.

    Attributes
    ----------
    field : str
        Path in the design.
    name : str
        In words.
    unit : str
        SI unit of both.
    given, law : float
        Figure given and that of the law.
    """

    field: str
    name: str
    unit: str
    given: float
    law: float

    @property
    def error(self) -> float:
        """Relative departure of the law [1]."""
        return self.law / self.given - 1.0


def fitted_figures(device: Device) -> tuple[Fitted, ...]:
    """Each figure given for Coss beside that of the law in use.

    A law goes through two figures at most, a curve through its points alone: the rest shows how
    well all go together.

    Raises
    ------
    InputError
        As `device_charges`.
    """
    law, volts = device_charges(device).output, effective_voltage(device)
    test = device.capacitance_voltage
    farad, given = "F", device.output_capacitance
    found = []
    if device.output_capacitance_is == "energy related":
        at = f"energy related, {volts:g} V"
        there = energy_related(law, volts)
    else:
        at, there = f"at {test:g} V", float(law.capacitance(test))
    found.append(Fitted("device.output_capacitance", f"Coss {at}", farad, given, there))
    for name, words, unit, value in (
        ("stored_energy", "stored energy", "J", float(law.energy(volts))),
        ("stored_charge", "stored charge", "C", float(law.charge(volts))),
        ("time_related_capacitance", "Coss time related,", farad, charge_related(law, volts)),
    ):
        figure = float(getattr(device, name))
        if figure > 0.0:
            path = f"device.{name}"
            found.append(Fitted(path, f"{words} at {volts:g} V", unit, figure, value))
    return tuple(found)
