"""Derived columns of the readings table, each with its standard uncertainty."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, field

from burstwise.core.bench.instruments import Estimate, Instruments, Shunt
from burstwise.core.bench.readings import Column, Reading
from burstwise.core.bench.series_model import power_split, shunt_current
from burstwise.core.errors import InputError
from burstwise.core.findings import Finding, caution, note
from burstwise.core.units import shown


@dataclass(frozen=True, slots=True)
class BenchSetup:
    """What the derived columns need beside the readings.

    Parameters
    ----------
    shunt : Shunt
        Current-sensing resistor.
    on_resistance : float
        On-resistance of the device at its working temperature [ohm].
    on_resistance_tolerance : float
        Largest relative deviation of it [-], 0 where it is not known.
    instruments : Instruments
        Accuracy of each column.

    Raises
    ------
    InputError
        On-resistance not above zero or tolerance outside 0 to 90 %.
    """

    shunt: Shunt
    on_resistance: float
    on_resistance_tolerance: float = 0.0
    instruments: Instruments = field(default_factory=Instruments)

    def __post_init__(self) -> None:
        if not 0.0 < self.on_resistance < math.inf:
            raise InputError("on-resistance", self.on_resistance, "a resistance above 0 Ω")
        if not 0.0 <= self.on_resistance_tolerance < 0.9:
            limit = "at least 0 and below 90 %"
            raise InputError("on-resistance tolerance", self.on_resistance_tolerance, limit)


@dataclass(frozen=True, slots=True)
class DerivedRow:
    """What follows from one row of readings.

    Attributes
    ----------
    reading : Reading
        The row itself.
    current_rms, current_mean : Estimate
        Supply current [A]; the mean is the RMS value where `mean_assumed` is set.
    mean_assumed : bool
        No mean was measured: mean current and input power are upper bounds.
    input_power, device_power : Estimate
        Power from the supply, and conduction loss in the device [W].
    coil_resistance : Estimate
        Effective resistance of the coil [ohm].
    efficiency : Estimate
        Share of the input power that reaches the coil [-].
    """

    reading: Reading
    current_rms: Estimate
    current_mean: Estimate
    mean_assumed: bool
    input_power: Estimate
    device_power: Estimate
    coil_resistance: Estimate
    efficiency: Estimate


@dataclass(frozen=True, slots=True)
class DerivedTable:
    """Derived rows, for the readings that allow them, and what was found on the way."""

    rows: tuple[DerivedRow, ...]
    findings: tuple[Finding, ...]


def derived_table(readings: Iterable[Reading], setup: BenchSetup) -> DerivedTable:
    """Derived columns of every row that has a supply and a shunt RMS voltage.

    Examples
    --------
    >>> setup = BenchSetup(Shunt(0.1), on_resistance=1.8)
    >>> row = derived_table([Reading(supply=72.0, shunt_rms=0.345)], setup).rows[0]
    >>> round(row.input_power.value, 1), round(row.device_power.value, 2)
    (248.4, 21.42)
    """
    rows: list[DerivedRow] = []
    findings: list[Finding] = []
    for reading in readings:
        row = derived_row(reading, setup)
        if row is None:
            continue
        rows.append(row)
        if row.coil_resistance.value < 0.0:
            findings.append(_negative_coil(row))
    assumed = sum(row.mean_assumed for row in rows)
    if assumed:
        findings.append(_mean_assumed(assumed, len(rows)))
    return DerivedTable(tuple(rows), tuple(findings))


def derived_row(reading: Reading, setup: BenchSetup) -> DerivedRow | None:
    """Derived columns of one row, None where supply or shunt RMS voltage is missing.

    Uncertainties are first order, u^2 = sum of (df/dx_i u_i)^2 over supply, shunt voltages,
    shunt resistance and on-resistance, which are independent of each other.
    Source: JCGM 100:2008, 5.1.2, from memory.
    """
    supply, rms_voltage = reading.supply, reading.shunt_rms
    if supply is None or rms_voltage is None:
        return None
    assumed = reading.shunt_mean is None
    mean_voltage = rms_voltage if reading.shunt_mean is None else reading.shunt_mean
    resistance, on_resistance = setup.shunt.resistance, setup.on_resistance
    split = power_split(
        supply,
        mean_current=shunt_current(mean_voltage, resistance),
        rms_current=shunt_current(rms_voltage, resistance),
        shunt=resistance,
        on_resistance=on_resistance,
    )
    meters = setup.instruments
    u_supply = meters.supply.uncertainty(supply) / supply
    u_rms = meters.shunt_rms.uncertainty(rms_voltage) / rms_voltage
    u_mean = 0.0 if assumed else meters.shunt_mean.uncertainty(mean_voltage) / mean_voltage
    u_shunt = setup.shunt.uncertainty / resistance
    u_on = setup.on_resistance_tolerance / math.sqrt(3.0)
    # Where the RMS value stands for the mean, one meter error moves both, so their effects add
    # before they are squared.
    u_both = u_rms if assumed else 0.0
    total = split.coil_resistance + resistance + on_resistance
    lost = (split.shunt_loss + split.conduction_loss) / split.input_power
    on_part = split.conduction_loss / split.input_power
    rms, mean = shunt_current(rms_voltage, resistance), shunt_current(mean_voltage, resistance)
    rms_slope = (1.0 if assumed else 2.0) * u_rms
    return DerivedRow(
        reading=reading,
        current_rms=Estimate(rms, rms * math.hypot(u_rms, u_shunt)),
        current_mean=Estimate(mean, mean * math.hypot(u_both + u_mean, u_shunt)),
        mean_assumed=assumed,
        input_power=Estimate(
            split.input_power,
            split.input_power * math.hypot(u_supply, u_both + u_mean, u_shunt),
        ),
        device_power=Estimate(
            split.conduction_loss,
            split.conduction_loss * math.hypot(2.0 * u_rms, 2.0 * u_shunt, u_on),
        ),
        coil_resistance=Estimate(
            split.coil_resistance,
            math.hypot(
                total * u_supply,
                total * u_mean,
                total * rms_slope,
                (total - resistance) * u_shunt,
                on_resistance * u_on,
            ),
        ),
        efficiency=Estimate(
            split.efficiency,
            math.hypot(
                lost * u_supply,
                lost * u_mean,
                lost * rms_slope,
                on_part * u_shunt,
                on_part * u_on,
            ),
        ),
    )


def _negative_coil(row: DerivedRow) -> Finding:
    line = row.reading.line
    return caution(
        "coil-resistance-negative",
        f"line {line}, {Column.SHUNT_RMS.label}",
        f"Line {line}: shunt and device alone would take more than the input power of "
        f"{shown(row.input_power.value, 'W')} at {shown(row.current_rms.value, 'A')} RMS. Check "
        "the shunt's value, the on-resistance and the unit of the shunt columns.",
    )


def _mean_assumed(count: int, total: int) -> Finding:
    return note(
        "mean-assumed",
        Column.SHUNT_MEAN.label,
        f"{count} of {total} rows have no shunt mean, so the RMS current stands for the mean and "
        "the input power is an upper bound: it is high by the form factor of the current, 1.57 "
        "for half-sine pulses over half of the period.",
    )
