"""Ratings against what the design asks of them, each with its derating and one plain sentence."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum

from core.design.document import Design
from core.units import shown


class Verdict(StrEnum):
    """What a margin means."""

    HOLDS = "holds"
    TIGHT = "tight"
    EXCEEDED = "exceeded"


TIGHT_BELOW = 0.20
"""Margin below which a rating is called tight."""


@dataclass(frozen=True, slots=True)
class Load:
    """What one operating point asks of the parts; SI units, temperatures in C.

    `heat` is the mean heat in the device; `burst_heat` is the heat while on.
    """

    drain_voltage_peak: float
    gate_peak: float
    gate_valley: float
    drain_current_peak: float
    drain_current_rms: float
    heat: float
    junction_peak: float
    case: float
    heat_sink: float
    source_current_peak: float
    supply_current_mean: float
    bulk_ripple: float
    avalanche_energy: float
    shunt_power: float
    supply_voltage: float


@dataclass(frozen=True, slots=True)
class Limit:
    """One rating, what it is asked for, and how far away it is.

    Attributes
    ----------
    rating : str
        Stable name.
    title : str
        Name in words.
    value, limit : float
        What is asked and what is allowed after derating, in `unit`.
    margin : float
        ``(limit - value)/limit``, for temperatures over the rise above ambient [1].
    text : str
        One sentence with the numbers in it.
    """

    rating: str
    title: str
    value: float
    limit: float
    unit: str
    margin: float
    text: str

    @property
    def verdict(self) -> Verdict:
        """Holds, tight or exceeded."""
        if not self.margin >= 0:
            return Verdict.EXCEEDED
        return Verdict.TIGHT if self.margin < TIGHT_BELOW else Verdict.HOLDS


def derated_current(continuous: float, *, case: float, junction_limit: float) -> float:
    """Continuous drain current at a case temperature.

    ``I(Tc) = I25 sqrt((Tj,max - Tc)/(Tj,max - 25))``: heat falls off linearly with case
    temperature and goes with the square of the current. Common practice, no source.

    Examples
    --------
    >>> round(derated_current(4.0, case=100.0, junction_limit=150.0), 3)
    2.53
    """
    share = (junction_limit - case) / (junction_limit - 25.0)
    return continuous * math.sqrt(min(max(share, 0.0), 1.0))


def derated_power(rating: float, *, case: float, junction_limit: float) -> float:
    """Allowed dissipation at a case temperature, linear from 25 °C case to the junction limit.

    Examples
    --------
    >>> derated_power(35.0, case=87.5, junction_limit=150.0)
    17.5
    """
    share = (junction_limit - case) / (junction_limit - 25.0)
    return rating * min(max(share, 0.0), 1.0)


def limits(design: Design, load: Load) -> tuple[Limit, ...]:
    """All ratings of a design under a load, the smallest margin first."""
    found = [make(design, load) for make in RATINGS]
    return tuple(sorted((item for item in found if item is not None), key=lambda item: item.margin))


def _plain(
    rating: str, title: str, value: float, limit: float, unit: str, because: str = ""
) -> Limit:
    margin = (limit - value) / limit if limit > 0 else (-math.inf if value > 0 else 0.0)
    tail = f", {because}" if because else ""
    text = f"{title}: {shown(value, unit)} of {shown(limit, unit)} allowed{tail}."
    return Limit(rating, title, value, limit, unit, margin, text)


def _temperature(rating: str, title: str, value: float, limit: float, ambient: float) -> Limit:
    margin = (limit - value) / max(limit - ambient, 1e-9)
    what = "runs away" if math.isinf(value) else shown(value, "°C")
    text = f"{title}: {what}, {shown(limit, '°C')} allowed at {shown(ambient, '°C')} ambient."
    return Limit(rating, title, value, limit, "°C", margin, text)


def _drain_voltage(design: Design, load: Load) -> Limit:
    return _plain(
        "drain_voltage",
        "Drain voltage peak",
        load.drain_voltage_peak,
        design.device.drain_voltage_rating,
        "V",
        f"{load.drain_voltage_peak / load.supply_voltage:.1f} times the supply",
    )


def _gate_voltage(design: Design, load: Load) -> Limit:
    value = max(load.gate_peak, -load.gate_valley)
    return _plain("gate_voltage", "Gate voltage", value, design.device.gate_voltage_rating, "V")


def _pulsed_current(design: Design, load: Load) -> Limit:
    return _plain(
        "pulsed_current",
        "Peak drain current",
        load.drain_current_peak,
        design.device.pulsed_current,
        "A",
    )


def _continuous_current(design: Design, load: Load) -> Limit:
    device = design.device
    case = min(load.case, device.junction_limit)
    allowed = derated_current(
        device.continuous_current, case=case, junction_limit=device.junction_limit
    )
    return _plain(
        "continuous_current",
        "RMS drain current",
        load.drain_current_rms,
        allowed,
        "A",
        f"derated from {shown(device.continuous_current, 'A')} to a case at {shown(case, '°C')}",
    )


def _power(design: Design, load: Load) -> Limit:
    device = design.device
    case = min(load.case, device.junction_limit)
    allowed = derated_power(device.power_rating, case=case, junction_limit=device.junction_limit)
    return _plain(
        "device_power",
        "Mean heat in the device",
        load.heat,
        allowed,
        "W",
        f"derated from {shown(device.power_rating, 'W')} to a case at {shown(case, '°C')}",
    )


def _junction(design: Design, load: Load) -> Limit:
    return _temperature(
        "junction_peak",
        "Junction peak",
        load.junction_peak,
        design.device.junction_limit,
        design.cooling.ambient,
    )


def _heat_sink(design: Design, load: Load) -> Limit:
    return _temperature(
        "heat_sink",
        "Heat sink",
        load.heat_sink,
        design.cooling.sink_limit,
        design.cooling.ambient,
    )


def _avalanche(design: Design, load: Load) -> Limit | None:
    if load.avalanche_energy <= 0:
        return None
    return _plain(
        "avalanche_energy",
        "Avalanche energy per carrier cycle",
        load.avalanche_energy,
        design.device.repetitive_avalanche_energy,
        "J",
    )


def _supply_current(design: Design, load: Load) -> Limit:
    return _plain(
        "supply_current",
        "Peak current from the supply",
        load.source_current_peak,
        design.supply.current_limit,
        "A",
    )


def _fuse(design: Design, load: Load) -> Limit | None:
    if design.protection.fuse_rating is None:
        return None
    return _plain(
        "fuse",
        "Mean current through the fuse",
        load.supply_current_mean,
        design.protection.fuse_rating,
        "A",
    )


def _bulk_voltage(design: Design, load: Load) -> Limit:
    return _plain(
        "bulk_voltage",
        "Bulk capacitor voltage",
        load.supply_voltage,
        design.supply.bulk_voltage_rating,
        "V",
    )


def _bulk_ripple(design: Design, load: Load) -> Limit:
    return _plain(
        "bulk_ripple",
        "Ripple current of the bulk capacitor",
        load.bulk_ripple,
        design.supply.bulk_ripple_rating,
        "A",
    )


RATINGS: tuple[Callable[[Design, Load], Limit | None], ...] = (
    _drain_voltage,
    _gate_voltage,
    _pulsed_current,
    _continuous_current,
    _power,
    _junction,
    _heat_sink,
    _avalanche,
    _supply_current,
    _fuse,
    _bulk_voltage,
    _bulk_ripple,
)
"""Every rating that is checked; add a function here to add one."""
