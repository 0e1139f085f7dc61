"""Sets as plain dictionaries for JSON: SI numbers, units in the keys."""

from __future__ import annotations

from typing import Any

from burstwise.core.interrupter.circuits import circuit_named
from burstwise.core.interrupter.dissipation import hottest_heats
from burstwise.core.interrupter.sets import Band, TimerSet, TimerSets

_FORMULAS = {
    "half_cycle": "t = R C ln(|source - diode - start| / |source - diode - end|)",
    "tracks": "rising = pot (end + (1 - 2 end) travel); falling = pot - rising",
    "switch": "Vsw = (Vsat Rl + Vcc Rsw)/(Rl + Rsw) behind Rsw Rl/(Rl + Rsw), Rl the pull-up",
}
_PATHS = {
    "astable-classic": (
        "supply through charge_resistor + rising + discharge_resistor, no diode",
        "discharge_resistor into the switch, pulled up by charge_resistor + rising, no diode",
    ),
    "astable-steered-discharge": (
        "supply through charge_resistor + rising and the charge diode",
        "falling + discharge_resistor and the discharge diode into the switch, pulled up by "
        "charge_resistor",
    ),
    "astable-steered-output": (
        "output high through its resistance + charge_resistor + rising and the charge diode",
        "falling + discharge_resistor + output low's resistance and the discharge diode into "
        "output low",
    ),
    "two-timer": (
        "supply through charge_resistor + frequency track + discharge_resistor, no diode",
        "discharge_resistor into the switch, pulled up by charge_resistor + frequency track",
    ),
}
_CAPPED = " (the on-time is cut at the monostable's pulse)"
_PULSE = (
    "pulse_capacitor from the switch, pulled up by the pulse resistance, to the upper level; "
    "pulse resistance = pulse_resistor, in the two-timer circuit + rising"
)


def sets_report(answer: TimerSets) -> dict[str, Any]:
    """Answer of `size_timer` as a dictionary: sets, nearest, findings.

    Examples
    --------
    >>> from burstwise.core.interrupter.sizing import TimerWish, size_timer
    >>> report = sets_report(size_timer(TimerWish(frequency=15.0)))
    >>> sorted(report), report["nearest"]
    (['findings', 'nearest', 'sets'], None)
    """
    return {
        "sets": [set_report(one) for one in answer.sets],
        "nearest": None if answer.nearest is None else set_report(answer.nearest),
        "findings": [finding.as_object() for finding in answer.findings],
    }


def set_report(one: TimerSet) -> dict[str, Any]:
    """One set as a dictionary."""
    frequency_range = one.frequency_range
    return {
        "circuit": one.circuit,
        "label": circuit_named(one.circuit).label,
        "parts": [
            {
                "role": part.role,
                "value": part.value,
                "unit": part.unit,
                "series": part.series,
                "tolerance": part.tolerance,
                "kind": part.kind,
            }
            for part in one.parts
        ],
        "frequency_Hz": _band(one.frequency),
        "lowest_frequency_Hz": None if frequency_range is None else _band(frequency_range),
        "duty_low": _band(one.duty_low),
        "duty_high": _band(one.duty_high),
        "duty_middle": one.duty_middle,
        "model": model_report(one),
        "dissipation_W": {heat.role: heat.power for heat in hottest_heats(one)},
        "part_count": one.part_count,
        "score": one.score,
        "findings": [finding.as_object() for finding in one.findings],
    }


def model_report(one: TimerSet) -> dict[str, Any]:
    """Drops, levels and spreads assumed, with the formulas, so that others can recompute a set."""
    timer = one.timer
    charge, discharge = _paths(one.circuit)
    circuit = circuit_named(one.circuit)
    return {
        "timer": timer.name,
        "timers": circuit.timers,
        "supply_V": one.supply,
        "upper_level_V": one.supply * timer.upper,
        "lower_level_V": one.supply * timer.lower,
        "discharge_saturation_V": timer.discharge_saturation,
        "discharge_resistance_ohm": timer.discharge_resistance,
        "output_high_V": one.supply - timer.output_high_drop,
        "output_high_resistance_ohm": timer.output_high_resistance,
        "output_low_V": timer.output_low,
        "output_low_resistance_ohm": timer.output_low_resistance,
        "diode_drop_V": one.diode.drop if circuit.diodes else 0.0,
        "diode": one.diode.label,
        "pot_end_fraction": one.potentiometer.end_fraction / 2,
        "pot_middle_fraction": one.potentiometer.middle,
        "on_while": "charging" if circuit.on_while_charging else "pulse",
        "charge_path": charge,
        "discharge_path": discharge,
        "pulse": _PULSE if circuit.timers == 2 else None,
        "formulas": dict(_FORMULAS),
        "spread": {
            "supply": one.given.supply_tolerance,
            "levels": timer.threshold_tolerance,
            "timer": timer.level_spread,
            "diode_drop_V": one.diode.spread,
            "pot_end_fraction_high": one.potentiometer.end_fraction,
            "frequency_band": "over tolerance and over the whole travel of the duty knob",
        },
    }


def _paths(name: str) -> tuple[str, str]:
    if name in _PATHS:
        return _PATHS[name]
    charge, discharge = _PATHS[name.replace("capped", "steered")]
    return charge + _CAPPED, discharge


def _band(band: Band) -> dict[str, float]:
    return {"nominal": band.nominal, "low": band.low, "high": band.high}
