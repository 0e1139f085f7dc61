"""Results as one JSON-ready object: SI numbers with the unit in the key."""

from __future__ import annotations

import math
from typing import Any, Final

from burstwise.core.evaluate.earth_strike import earth_strike_object
from burstwise.core.evaluate.feedback import foot_current, input_share
from burstwise.core.evaluate.lost_loop import lost_loop_object
from burstwise.core.evaluate.output_charge import output_charge
from burstwise.core.evaluate.results import Results
from burstwise.core.evaluate.surroundings import field_distance_object

FIELD_DISTANCE: Final = "field_distance"
"""Section of the distances around the coil."""


def results_object(results: Results) -> dict[str, Any]:
    """Object that `burstwise evaluate --json` prints; a value that does not exist is None."""
    return {**figures_object(results), FIELD_DISTANCE: field_distance_object(results)}


def figures_object(results: Results) -> dict[str, Any]:
    """The same without the field around the coil, which costs more than all else together."""
    return {
        "name": results.design.name,
        "coil": _coil(results),
        "device": _device(results),
        "carrier": _carrier(results),
        "burst": _burst(results),
        "thermal": _thermal(results),
        "limits": [
            {
                "rating": item.rating,
                "value": _number(item.value),
                "limit": _number(item.limit),
                "unit": item.unit,
                "margin_percent": _number(100 * item.margin),
                "verdict": item.verdict.value,
                "text": item.text,
                "corner": item.corner,
            }
            for item in results.limits
        ],
        "lost_loop": None if results.lost_loop is None else lost_loop_object(results.lost_loop),
        "earth_strike": (
            None if results.earth_strike is None else earth_strike_object(results.earth_strike)
        ),
        "findings": [item.as_object() for item in results.findings],
    }


def _number(value: float) -> float | None:
    return float(value) if math.isfinite(value) else None


def _coil(results: Results) -> dict[str, Any]:
    coil = results.coil
    return {
        "primary_inductance_H": coil.primary_inductance,
        "secondary_inductance_H": coil.secondary_inductance,
        "secondary_capacitance_F": coil.secondary_capacitance,
        "mutual_inductance_H": coil.mutual_inductance,
        "coupling": coil.coupling,
        "loop_coupling": results.carrier.circuit.coil.loop_coupling,
        "resonance_Hz": coil.resonance,
        "quality_factor": coil.quality_factor,
        "base_current_ratio": coil.base_current_ratio,
        "primary_resistance_ohm": coil.primary_resistance,
        "secondary_resistance_ohm": coil.secondary_resistance,
        "breakout_voltage_V": coil.breakout_voltage,
        "given_by": results.design.coil.given_by,
    }


def _carrier(results: Results) -> dict[str, Any]:
    run = results.carrier
    return {
        "oscillates": run.oscillates,
        "frequency_Hz": run.frequency,
        "supply_voltage_V": run.circuit.supply_voltage,
        "supply_current_mean_A": run.supply_current_mean,
        "supply_current_rms_A": run.supply_current_rms,
        "gate_time_constant_s": run.circuit.gate_time_constant,
        "driver_delay_s": run.driver_delay,
        "drain_current_peak_A": run.drain_current_peak,
        "drain_current_rms_A": run.drain_current_rms,
        "drain_voltage_peak_V": run.drain_voltage_peak,
        "drain_voltage_worst_V": run.drain_voltage_worst,
        "drain_current_worst_A": run.drain_current_worst,
        "top_voltage_peak_V": run.top_voltage_peak,
        "input_current_peak_A": input_share(results.design, results.coil)
        * foot_current(results.coil, run),
        "input_power_W": run.input_power,
        "auxiliary_power_W": run.auxiliary_power,
        "device_power_W": run.device_power,
        "cycles_to_90_percent": run.cycles_to_90_percent,
        "time_to_90_percent_s": run.time_to_90_percent,
        "ring_down_time_constant_s": run.ring_down.time_constant,
        "envelope_spread": run.spread,
        "losses_W": {name: float(power) for name, power in sorted(run.losses.items())},
        "energy_residual": _number(run.residual),
        "step_error": _number(run.step_error),
        "pieces_error": _number(run.pieces_error),
    }


def _device(results: Results) -> dict[str, Any]:
    found = output_charge(results)
    return {
        "output_charge_C": found.charge,
        "output_energy_J": found.energy,
        "energy_related_F": found.energy_related,
        "time_related_F": found.time_related,
    }


def _burst(results: Results) -> dict[str, Any]:
    point = results.operation
    return {
        "duty": results.duty,
        "frequency_Hz": results.frequency,
        "on_time_s": _number(point.on_time),
        "energy_per_burst_J": _number(point.energy_per_burst),
        "average_power_W": _number(results.average_power),
        "device_power_W": _number(point.device_power),
        "supply_droop_V": _number(results.droop),
        "top_voltage_reached_V": _number(results.top_voltage_reached),
        "warm_start": _number(point.warm_start),
    }


def _thermal(results: Results) -> dict[str, Any]:
    point = results.operation
    return {
        "junction_mean_C": _number(results.junction_mean),
        "junction_peak_C": _number(results.junction_peak),
        "junction_ripple_K": _number(results.junction_ripple),
        "case_C": _number(point.case),
        "heat_sink_C": _number(point.heat_sink),
        "on_resistance_ohm": _number(point.on_resistance),
    }
