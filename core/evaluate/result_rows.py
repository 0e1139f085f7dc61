"""Results that are shown to people, with titles and units, by their key in the results' object."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

from burstwise.core.units import shown


@dataclass(frozen=True, slots=True)
class ResultRow:
    """One result: group, title, key such as ``"carrier.input_power_W"``, unit.

    `without_carrier` says that it has a meaning when the stage does not oscillate.
    """

    group: str
    title: str
    path: str
    unit: str
    without_carrier: bool = False

    def text(self, value: float | None) -> str:
        """Value with unit; a value that does not exist is said in words."""
        if value is None:
            return "runs away" if self.unit in ("°C", "K") else "without end"
        return shown(value, self.unit)


def result_value(known: Mapping[str, Any], path: str) -> float | None:
    """Number at a path of the results' object; None where it has none.

    Examples
    --------
    >>> result_value({"limits": [{"value": 3}]}, "limits.0.value")
    3.0
    """
    here: Any = known
    for name in path.split("."):
        here = here[int(name)] if isinstance(here, Sequence) else here[name]
    return None if here is None else float(here)


RESULT_ROWS: Final[tuple[ResultRow, ...]] = (
    ResultRow("Coil", "Primary inductance", "coil.primary_inductance_H", "H", True),
    ResultRow("Coil", "Secondary inductance", "coil.secondary_inductance_H", "H", True),
    ResultRow("Coil", "Secondary capacitance", "coil.secondary_capacitance_F", "F", True),
    ResultRow("Coil", "Mutual inductance", "coil.mutual_inductance_H", "H", True),
    ResultRow("Coil", "Coupling", "coil.coupling", "", True),
    ResultRow("Coil", "Coupling with the leads", "coil.loop_coupling", "", True),
    ResultRow("Coil", "Resonance of the secondary", "coil.resonance_Hz", "Hz", True),
    ResultRow("Coil", "Quality factor", "coil.quality_factor", "", True),
    ResultRow("Coil", "Breakout", "coil.breakout_voltage_V", "V", True),
    ResultRow("While on", "Carrier frequency", "carrier.frequency_Hz", "Hz"),
    ResultRow("While on", "Bus voltage", "carrier.supply_voltage_V", "V", True),
    ResultRow("While on", "Mean supply current, net", "carrier.supply_current_mean_A", "A", True),
    ResultRow("While on", "RMS supply current, gross", "carrier.supply_current_rms_A", "A", True),
    ResultRow("While on", "Input power", "carrier.input_power_W", "W", True),
    ResultRow("While on", "Time constant of the gate", "carrier.gate_time_constant_s", "s", True),
    ResultRow("While on", "Delay of the driver", "carrier.driver_delay_s", "s", True),
    ResultRow("While on", "Peak drain current", "carrier.drain_current_peak_A", "A", True),
    ResultRow("While on", "RMS drain current", "carrier.drain_current_rms_A", "A", True),
    ResultRow("While on", "Peak drain voltage, steady", "carrier.drain_voltage_peak_V", "V", True),
    ResultRow("While on", "Peak top voltage, steady", "carrier.top_voltage_peak_V", "V"),
    ResultRow(
        "While on", "Peak current into gate or driver input", "carrier.input_current_peak_A", "A"
    ),
    ResultRow("While on", "Heat in the device", "carrier.device_power_W", "W", True),
    ResultRow("While on", "Charge of Coss at the peak", "device.output_charge_C", "C", True),
    ResultRow("While on", "Energy of Coss at the peak", "device.output_energy_J", "J", True),
    ResultRow("While on", "Coss, energy related", "device.energy_related_F", "F", True),
    ResultRow("While on", "Coss, time related", "device.time_related_F", "F", True),
    ResultRow("While on", "Cycles to 90 %", "carrier.cycles_to_90_percent", ""),
    ResultRow("While on", "Time to 90 %", "carrier.time_to_90_percent_s", "s"),
    ResultRow("Bursts", "Duty", "burst.duty", "%", True),
    ResultRow("Bursts", "Interrupter frequency", "burst.frequency_Hz", "Hz", True),
    ResultRow("Bursts", "On-time", "burst.on_time_s", "s", True),
    ResultRow("Bursts", "Energy per burst", "burst.energy_per_burst_J", "J", True),
    ResultRow("Bursts", "Average power", "burst.average_power_W", "W", True),
    ResultRow("Bursts", "Mean heat in the device", "burst.device_power_W", "W", True),
    ResultRow("Bursts", "Bus droop", "burst.supply_droop_V", "V", True),
    ResultRow("Bursts", "Top voltage reached", "burst.top_voltage_reached_V", "V"),
    ResultRow("Temperatures", "Junction mean", "thermal.junction_mean_C", "°C", True),
    ResultRow("Temperatures", "Junction peak", "thermal.junction_peak_C", "°C", True),
    ResultRow("Temperatures", "Junction ripple", "thermal.junction_ripple_K", "K", True),
    ResultRow("Temperatures", "Case", "thermal.case_C", "°C", True),
    ResultRow("Temperatures", "Heat sink", "thermal.heat_sink_C", "°C", True),
)
