"""Key figures and the split of losses of some results, as text with units."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final

from burstwise.app.plots.temperature_plots import limit_named
from burstwise.app.widgets.figure_table import Figure, Group
from burstwise.app.widgets.share_bars import Share
from burstwise.core.findings import Severity
from burstwise.core.units import shown

if TYPE_CHECKING:
    from burstwise.core.evaluate.results import Results

DIGITS: Final = 3
LOSS_NAMES: Final = {
    "channel": "Channel",
    "body_diode": "Body diode",
    "avalanche": "Avalanche",
    "internal_gate": "Gate, inside",
    "drain_clamp": "Drain clamp",
    "reservoir_clamp": "Reservoir clamp",
    "snubber": "Snubber",
    "primary_winding": "Primary",
    "secondary_winding": "Secondary",
    "breakout": "Breakout",
    "shunt": "Shunt",
    "bias": "Bias resistor",
    "burden": "Burden",
    "gate_clamp": "Gate clamp",
    "gate_drive": "Gate drive",
    "gate_hold": "Gate to source",
    "input_clamp": "Input clamp",
}
IN_DEVICE: Final = frozenset({"channel", "body_diode", "avalanche", "internal_gate"})
_RATED_KEYS: Final = {
    "drain_voltage": "limits.drain_voltage",
    "pulsed_current": "limits.pulsed_current",
    "supply_current": "limits.supply_current",
    "junction_peak": "thermal.junction_peak_C",
    "heat_sink": "thermal.heat_sink_C",
}
_SMALL: Final = 0.005
"""Part of all losses below which a loss is counted with the others."""


def figure_groups(results: Results) -> tuple[Group, ...]:
    """Rows of the table of key figures."""
    run, point = results.carrier, results.operation
    steady = math.isinf(point.on_time)
    carrier = (
        _plain(
            "Carrier frequency",
            _text(run.frequency, "Hz", 4) if run.oscillates else "none",
            "carrier.frequency_Hz",
        ),
        *_drain(results),
        _plain("Peak top voltage", _text(run.top_voltage_peak, "V"), "carrier.top_voltage_peak_V"),
        _plain(
            "Ring-up to 90 %",
            _text(run.time_to_90_percent, "s") if run.oscillates else "—",
            "carrier.time_to_90_percent_s",
        ),
        _plain("Input power while on", _text(run.input_power, "W"), "carrier.input_power_W"),
    )
    burst = (
        _plain(
            "On-time",
            "without a pause" if steady else _text(point.on_time, "s"),
            "burst.on_time_s",
        ),
        _plain(
            "Energy per burst",
            "—" if steady else _text(point.energy_per_burst, "J"),
            "burst.energy_per_burst_J",
        ),
        _plain("Average power", _text(results.average_power, "W"), "burst.average_power_W"),
        _plain("Bus droop", _text(results.droop, "V"), "burst.supply_droop_V"),
        _rated("Peak supply current", point.bus.source_peak, "A", results, "supply_current"),
    )
    heat = (
        _plain("Heat in the device", _text(point.device_power, "W"), "burst.device_power_W"),
        _plain("Junction mean", _heat(results.junction_mean), "thermal.junction_mean_C"),
        _rated("Junction peak", results.junction_peak, "°C", results, "junction_peak"),
        _plain("Junction ripple", _text(results.junction_ripple, "K"), "thermal.junction_ripple_K"),
        _rated("Heat sink", point.heat_sink, "°C", results, "heat_sink"),
    )
    return (
        Group("Carrier, while on", carrier),
        Group("Bursts", burst),
        Group("Heat", heat),
    )


def _drain(results: Results) -> tuple[Figure, ...]:
    """Peaks at the drain: the steady ones, and those of each burst's start where there is one."""
    run, load = results.carrier, results.load
    volts, amperes = float(load.drain_voltage_peak), float(load.drain_current_peak)
    if not results.design.interrupter.enabled:
        return (
            _rated("Peak drain voltage", volts, "V", results, "drain_voltage"),
            _rated("Peak drain current", amperes, "A", results, "pulsed_current"),
        )
    steady = _text(run.drain_voltage_peak, "V")
    return (
        _plain("Peak drain voltage, steady", steady, "carrier.drain_voltage_peak_V"),
        _rated("Highest in each burst", volts, "V", results, "drain_voltage"),
        _rated("Peak drain current in a burst", amperes, "A", results, "pulsed_current"),
    )


def loss_title(results: Results) -> str:
    """Heading of the losses."""
    return f"{_text(_total(results), 'W')} while on"


def loss_shares(results: Results) -> tuple[Share, ...]:
    """Losses while on by size; small ones together."""
    whole = _total(results)
    if whole <= 0.0:
        return ()
    shares, rest = [], 0.0
    for name, power in results.carrier.losses.items():
        if power < _SMALL * whole:
            rest += max(power, 0.0)
            continue
        words = LOSS_NAMES.get(name, name.replace("_", " ").capitalize())
        shares.append(Share(words, _text(power, "W"), power / whole, name in IN_DEVICE))
    if rest > 0.0:
        shares.append(Share("All others", _text(rest, "W"), rest / whole))
    return tuple(shares)


def _total(results: Results) -> float:
    return sum(max(power, 0.0) for power in results.carrier.losses.values())


def _rated(name: str, value: float, unit: str, results: Results, rating: str) -> Figure:
    limit = limit_named(results, rating)
    key = _RATED_KEYS[rating]
    if math.isinf(value):
        return Figure(name, "runs away", Severity.STOP, key)
    severity = None if limit is None else limit.severity
    return Figure(name, _text(value, unit), severity, key)


def _plain(name: str, value: str, key: str) -> Figure:
    return Figure(name, value, key=key)


def _heat(celsius: float) -> str:
    return "runs away" if math.isinf(celsius) else _text(celsius, "°C")


def _text(value: float, unit: str, digits: int = DIGITS) -> str:
    return shown(value, unit, digits=digits)
