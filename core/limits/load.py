"""What an operating point, or a whole field of them, asks of the parts."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Value = float | np.float64 | NDArray[np.float64]
"""One number, or one per operating point; all arrays of a `Load` broadcast together."""


@dataclass(frozen=True, slots=True)
class Load:
    """What operating points ask of the parts; SI units, temperatures in C.

    Attributes
    ----------
    supply_voltage, bus_voltage : Value
        Open-circuit supply, and the bus under load [V].
    drain_voltage_peak, gate_peak, gate_valley : Value
        [V].
    drain_current_peak, drain_current_rms : Value
        Peak, and RMS over the whole interrupter period [A].
    diode_slope : Value
        Rise of the drain on the body diode's stored charge, as its rating counts it [V/s].
    heat, burst_heat : Value
        Heat in the device, mean and while on [W].
    junction_peak, junction_mean, case, heat_sink : Value
        [C]; inf on runaway.
    on_time, period : Value
        Of the interrupter [s]; an on-time of inf means no pause.
    source_current_peak, supply_current_mean, bulk_ripple : Value
        [A].
    fuse_current : Value
        RMS current that heats a fuse in the supply's lead [A].
    avalanche_energy : Value
        Per carrier cycle [J].
    turn_off_energy : Value
        Into the device if it turns off at its peak current with the secondary gone [J].
    shunt_power, clamp_power : Value
        Mean heat in shunt and drain clamp [W].
    driver_current_peak, driver_heat, low_current : Value
        Gate driver's peak output [A], heat [W] and supply current [A]; 0 for a direct drive.
    pull_down_current : Value
        Peak base current that the interrupter's pull-down carries [A].
    turn_voltage, turn_withstand, gap_voltage, gap_withstand : Value
        Between turns and across the gap to the primary [V]; nan without a geometry.
    strike_voltage, strike_withstand : Value
        At the top where it breaks out, 0 where there is no discharge; and the voltage from which
        one reaches the primary [V].
    lost_loop_current, lost_loop_junction : Value
        Highest current [A] and junction [C] when the drive is enabled and nothing oscillates; nan
        in loads that do not look at it.
    """

    supply_voltage: Value
    bus_voltage: Value
    drain_voltage_peak: Value
    gate_peak: Value
    gate_valley: Value
    drain_current_peak: Value
    drain_current_rms: Value
    diode_slope: Value
    heat: Value
    burst_heat: Value
    junction_peak: Value
    junction_mean: Value
    case: Value
    heat_sink: Value
    on_time: Value
    period: Value
    source_current_peak: Value
    fuse_current: Value
    supply_current_mean: Value
    bulk_ripple: Value
    avalanche_energy: Value
    turn_off_energy: Value
    shunt_power: Value
    clamp_power: Value
    driver_current_peak: Value
    driver_heat: Value
    low_current: Value
    pull_down_current: Value
    turn_voltage: Value
    turn_withstand: Value
    gap_voltage: Value
    gap_withstand: Value
    strike_voltage: Value
    strike_withstand: Value
    lost_loop_current: Value = math.nan
    lost_loop_junction: Value = math.nan
