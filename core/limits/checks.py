"""Every rating that is checked; add one to `RATINGS` to have it everywhere.

Rules work on single numbers and on arrays alike, so that maps and thousands of builds go through
the same lines as one operating point.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from burstwise.core.design.document import Design
from burstwise.core.limits.derating import (
    derated_current,
    derated_power,
    junction_network,
    safe_area_current,
    usable_current,
)
from burstwise.core.limits.fuse import CARRIED
from burstwise.core.limits.load import Load, Value
from burstwise.core.limits.rating import Rating
from burstwise.core.limits.thermal import repeated_pulse_power, single_pulse_power
from burstwise.core.units import shown


def _fixed(pick: Callable[[Design], float | None]) -> Callable[[Design, Load], Value]:
    """Limit that stands in the design and does not move."""

    def read(design: Design, load: Load) -> Value:
        value = pick(design)
        assert value is not None
        return value

    return read


def _case(design: Design, load: Load) -> Value:
    return np.minimum(load.case, design.device.highest_junction)


def _case_words(design: Design, load: Load) -> str:
    return f"derated to a case at {shown(float(_case(design, load)), '°C')}"


def _drain_words(design: Design, load: Load) -> str:
    return f"{float(load.drain_voltage_peak) / float(load.supply_voltage):.1f} times the supply"


def _current_allowed(design: Design, load: Load) -> Value:
    """Printed current or that of the power rating, whichever is smaller at this case."""
    device = design.device
    return derated_current(
        usable_current(device),
        case=_case(design, load),
        junction_limit=device.junction_limit,
        kept=device.kept_junction,
    )


def _current_words(design: Design, load: Load) -> str:
    device = design.device
    usable = usable_current(device)
    if usable == device.continuous_current:
        return _case_words(design, load)
    return (
        f"the power rating lets the hot on-resistance carry {shown(usable, 'A', digits=2)} of the "
        f"printed {shown(device.continuous_current, 'A')}, {_case_words(design, load)}"
    )


def _avalanches(design: Design, load: Load) -> bool:
    """Whether a turn-off ends in the device, with no clamp below its breakdown."""
    clamp = design.protection.drain_clamp
    caught = clamp is not None and clamp.voltage < design.device.avalanche_voltage
    return design.device.avalanche_current is not None and not caught


def _power_allowed(design: Design, load: Load) -> Value:
    device = design.device
    return derated_power(
        device.power_rating,
        case=_case(design, load),
        junction_limit=device.junction_limit,
        kept=device.kept_junction,
    )


def _headroom(design: Design, load: Load) -> Value:
    return np.asarray(design.device.highest_junction - _case(design, load))


def _single_pulse(design: Design, load: Load) -> Value:
    """Thermal impedance, and the datasheet's own curve where one was entered.

    The drain's mean voltage is that of the bus, since no inductance holds a mean voltage.
    """
    device = design.device
    thermal = single_pulse_power(
        junction_network(device), load.on_time, headroom=_headroom(design, load)
    )
    if not device.safe_area:
        return thermal
    current = safe_area_current(device.safe_area, load.bus_voltage, load.on_time)
    share = derated_power(
        1.0,
        case=_case(design, load),
        junction_limit=device.junction_limit,
        kept=device.kept_junction,
    )
    return np.minimum(thermal, current * load.bus_voltage * share)


def _steady(design: Design, load: Load) -> Value:
    """Safe area without a pause, its longest line at the bus voltage."""
    device = design.device
    current = safe_area_current(device.safe_area, load.bus_voltage, np.inf)
    share = derated_power(1.0, case=_case(design, load), junction_limit=device.junction_limit)
    return np.asarray(current * load.bus_voltage * share)


def _in_bursts(design: Design, load: Load) -> Value:
    """Heat while on, nothing at points that run without a pause: they have no burst [W]."""
    return np.where(np.isfinite(load.on_time), load.burst_heat, 0.0)


def _without_pause(design: Design, load: Load) -> Value:
    """Heat at points that run without a pause, nothing at others [W]."""
    return np.where(np.isfinite(load.on_time), 0.0, load.burst_heat)


def _interrupted(design: Design, load: Load) -> bool:
    return bool(np.any(np.isfinite(load.on_time)))


def _pulse_words(design: Design, load: Load) -> str:
    on, case = float(load.on_time), float(_case(design, load))
    return f"for {shown(on, 's')} with the case at {shown(case, '°C')}"


def _repeated_pulse(design: Design, load: Load) -> Value:
    return repeated_pulse_power(
        junction_network(design.device),
        load.on_time,
        load.period,
        headroom=_headroom(design, load),
    )


def _repeat_words(design: Design, load: Load) -> str:
    return (
        f"repeated every {shown(float(load.period), 's')} with the case at "
        f"{shown(float(_case(design, load)), '°C')}"
    )


def _gated(design: Design, load: Load) -> bool:
    return design.drive.kind == "gated"


def _has_geometry(design: Design, load: Load) -> bool:
    return bool(np.all(np.isfinite(load.turn_withstand)))


def _looks_at_lost_loop(design: Design, load: Load) -> bool:
    return bool(np.all(np.isfinite(load.lost_loop_current)))


def _has_bulk(design: Design, load: Load) -> bool:
    return design.supply.bulk_fitted


def _regulated(design: Design, load: Load) -> bool:
    part = design.supply.low_voltage
    return part is not None and part.kind == "regulator"


def _regulator_junction(design: Design, load: Load) -> Value:
    """Heat at the supply's open-circuit voltage, the driver as its load."""
    part = design.supply.low_voltage
    assert part is not None
    drop = np.maximum(np.asarray(load.supply_voltage) - part.output, 0.0)
    heat = drop * load.low_current + np.asarray(load.supply_voltage) * part.own_current
    return np.asarray(design.cooling.ambient + heat * part.thermal_resistance)


def _driver_junction(design: Design, load: Load) -> Value:
    return np.asarray(
        design.cooling.ambient + load.driver_heat * design.drive.gated.thermal_resistance
    )


RATINGS: tuple[Rating, ...] = (
    Rating(
        "drain_voltage",
        "Peak drain voltage",
        "V",
        lambda d, x: x.drain_voltage_peak,
        _fixed(lambda d: d.device.drain_voltage_rating * d.device.voltage_use),
        rated=_fixed(lambda d: d.device.drain_voltage_rating),
        because=_drain_words,
    ),
    Rating(
        "avalanche_energy",
        "Avalanche energy per carrier cycle",
        "J",
        lambda d, x: x.avalanche_energy,
        _fixed(lambda d: d.device.repetitive_avalanche_energy),
        applies=lambda d, x: bool(np.any(np.asarray(x.avalanche_energy) > 0)),
    ),
    Rating(
        "turn_off_energy",
        "Avalanche of a turn-off, secondary open",
        "J",
        lambda d, x: x.turn_off_energy,
        _fixed(lambda d: d.device.avalanche_energy),
    ),
    Rating(
        "avalanche_current",
        "Current of a turn-off in avalanche",
        "A",
        lambda d, x: x.drain_current_peak,
        _fixed(lambda d: d.device.avalanche_current),
        applies=_avalanches,
    ),
    Rating(
        "gate_voltage",
        "Gate voltage",
        "V",
        lambda d, x: x.gate_peak,
        _fixed(lambda d: d.device.gate_voltage_rating),
    ),
    Rating(
        "gate_negative",
        "Negative gate voltage",
        "V",
        lambda d, x: np.maximum(-np.asarray(x.gate_valley), 0.0),
        _fixed(lambda d: d.device.negative_gate_limit),
    ),
    Rating(
        "pulsed_current",
        "Peak drain current",
        "A",
        lambda d, x: x.drain_current_peak,
        _fixed(lambda d: d.device.pulsed_current),
    ),
    Rating(
        "continuous_current",
        "RMS drain current",
        "A",
        lambda d, x: x.drain_current_rms,
        _current_allowed,
        rated=_fixed(lambda d: d.device.continuous_current),
        because=_current_words,
    ),
    Rating(
        "device_power",
        "Mean heat in the device",
        "W",
        lambda d, x: x.heat,
        _power_allowed,
        rated=_fixed(lambda d: d.device.power_rating),
        because=_case_words,
    ),
    Rating(
        "junction_peak",
        "Junction peak",
        "°C",
        lambda d, x: x.junction_peak,
        _fixed(lambda d: d.device.highest_junction),
        because=lambda d, x: f"at {shown(d.cooling.ambient, '°C')} ambient",
    ),
    Rating(
        "junction_mean",
        "Junction mean",
        "°C",
        lambda d, x: x.junction_mean,
        _fixed(lambda d: d.device.highest_junction),
        because=lambda d, x: f"at {shown(d.cooling.ambient, '°C')} ambient",
    ),
    Rating(
        "safe_area_single",
        "Heat in one burst",
        "W",
        _in_bursts,
        _single_pulse,
        because=_pulse_words,
        applies=_interrupted,
    ),
    Rating(
        "safe_area_repeated",
        "Heat in repeated bursts",
        "W",
        _in_bursts,
        _repeated_pulse,
        because=_repeat_words,
        applies=_interrupted,
    ),
    Rating(
        "safe_area_steady",
        "Steady heat in the safe area",
        "W",
        _without_pause,
        _steady,
        because=lambda d, x: f"without a pause with the case at {shown(float(_case(d, x)), '°C')}",
        applies=lambda d, x: bool(d.device.safe_area) and bool(np.any(np.isinf(x.on_time))),
    ),
    Rating(
        "diode_dv_dt",
        "Rise of the drain on the body diode's charge",
        "V/s",
        lambda d, x: x.diode_slope,
        _fixed(lambda d: d.device.body_diode_dv_dt),
        applies=lambda d, x: bool(np.any(np.asarray(x.diode_slope) > 0)),
    ),
    Rating(
        "heat_sink",
        "Heat sink",
        "°C",
        lambda d, x: x.heat_sink,
        _fixed(lambda d: d.cooling.sink_limit),
        because=lambda d, x: f"at {shown(d.cooling.ambient, '°C')} ambient",
    ),
    Rating(
        "driver_current",
        "Peak current of the gate driver",
        "A",
        lambda d, x: x.driver_current_peak,
        _fixed(lambda d: d.drive.gated.peak_current_rating),
        because=lambda d, x: "a driver that limits makes slower edges",
        applies=_gated,
    ),
    Rating(
        "driver_junction",
        "Gate driver's junction",
        "°C",
        _driver_junction,
        _fixed(lambda d: d.drive.gated.junction_limit),
        because=lambda d, x: f"with {shown(float(x.driver_heat), 'W')} of heat",
        applies=_gated,
    ),
    Rating(
        "pull_down_current",
        "Base current in the interrupter's pull-down",
        "A",
        lambda d, x: x.pull_down_current,
        _fixed(lambda d: d.drive.direct.pull_down_current_rating),
        applies=lambda d, x: d.drive.kind == "direct" and d.interrupter.enabled,
    ),
    Rating(
        "regulator_input",
        "Input of the low-voltage regulator",
        "V",
        lambda d, x: x.supply_voltage,
        lambda d, x: d.supply.low_voltage.input_limit if d.supply.low_voltage else np.nan,
        applies=_regulated,
    ),
    Rating(
        "regulator_junction",
        "Junction of the low-voltage regulator",
        "°C",
        _regulator_junction,
        lambda d, x: d.supply.low_voltage.junction_limit if d.supply.low_voltage else np.nan,
        because=lambda d, x: f"feeding {shown(float(x.low_current), 'A')} to the driver",
        applies=_regulated,
    ),
    Rating(
        "supply_current",
        "Peak current from the supply",
        "A",
        lambda d, x: x.source_current_peak,
        _fixed(lambda d: d.supply.current_limit),
    ),
    Rating(
        "fuse",
        "RMS current through the fuse",
        "A",
        lambda d, x: x.fuse_current,
        _fixed(lambda d: CARRIED * (d.protection.fuse_rating or 0.0)),
        applies=lambda d, x: d.protection.fuse_rating is not None,
    ),
    Rating(
        "bulk_voltage",
        "Bulk capacitor voltage",
        "V",
        lambda d, x: x.supply_voltage,
        _fixed(lambda d: d.supply.bulk_voltage_rating),
        applies=_has_bulk,
    ),
    Rating(
        "bulk_ripple",
        "Ripple current of the bulk capacitor",
        "A",
        lambda d, x: x.bulk_ripple,
        _fixed(lambda d: d.supply.bulk_ripple_rating),
        applies=_has_bulk,
    ),
    Rating(
        "shunt_power",
        "Heat in the shunt",
        "W",
        lambda d, x: x.shunt_power,
        _fixed(lambda d: d.drive.shunt_power_rating),
        applies=lambda d, x: d.drive.shunt_resistance > 0,
    ),
    Rating(
        "clamp_power",
        "Heat in the drain clamp",
        "W",
        lambda d, x: x.clamp_power,
        _fixed(lambda d: d.protection.drain_clamp.power_rating if d.protection.drain_clamp else 0),
        applies=lambda d, x: d.protection.drain_clamp is not None,
    ),
    Rating(
        "turn_insulation",
        "Voltage between neighbouring turns",
        "V",
        lambda d, x: x.turn_voltage,
        lambda d, x: x.turn_withstand,
        applies=_has_geometry,
    ),
    Rating(
        "flashover",
        "Voltage from secondary to primary",
        "V",
        lambda d, x: x.gap_voltage,
        lambda d, x: x.gap_withstand,
        applies=_has_geometry,
    ),
    Rating(
        "lost_loop_current",
        "Drain current with the loop lost",
        "A",
        lambda d, x: x.lost_loop_current,
        _fixed(lambda d: d.device.pulsed_current),
        because=lambda d, x: "the bulk capacitor through primary and transistor",
        applies=_looks_at_lost_loop,
    ),
    Rating(
        "lost_loop_junction",
        "Junction with the loop lost",
        "°C",
        lambda d, x: x.lost_loop_junction,
        _fixed(lambda d: d.device.highest_junction),
        applies=_looks_at_lost_loop,
    ),
    Rating(
        "strike",
        "Strike from the top to the primary",
        "V",
        lambda d, x: x.strike_voltage,
        lambda d, x: x.strike_withstand,
        because=lambda d, x: "at 2 kV/cm of the way, as discharges grow over many bursts",
        applies=lambda d, x: _has_geometry(d, x) and d.coil.geometry.strike_ring_height is None,
    ),
)
