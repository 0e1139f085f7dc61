"""Builds of a design made one by one, by setting each of its fields."""

from __future__ import annotations

from collections.abc import Mapping

from burstwise.core.arrays import Array
from burstwise.core.design.document import Design, with_values
from burstwise.core.evaluate.results import Results
from burstwise.core.studies.spread import SPREADS, ratio


def given_by_values(results: Results) -> Design:
    """The same stage with its coil given by values, so that each input can be set."""
    coil = results.coil
    return with_values(
        results.design,
        {
            "coil.given_by": "measured",
            "coil.measured": {
                "primary_inductance": coil.primary_inductance,
                "primary_resistance": coil.primary_resistance,
                "secondary_inductance": coil.secondary_inductance,
                "secondary_capacitance": coil.secondary_capacitance,
                "quality_factor": coil.quality_factor,
                "coupling": coil.coupling,
                "breakout_voltage": coil.breakout_voltage,
            },
        },
    )


def numbered(design: Design, numbers: Mapping[str, Array], place: int) -> Design:
    """One of the builds that standard normal numbers of the inputs make."""
    ratios = {
        item.name: float(ratio(item, numbers[item.name])[place])
        for item in SPREADS
        if item.name != "ambient"
    }
    return build(design, ratios, 4.0 * float(numbers["ambient"][place]))


def build(design: Design, ratios: Mapping[str, float], kelvin: float) -> Design:
    """The design of one build: ratios of the inputs to nominal, ambient moved by some kelvin."""
    device, coil, cooling = design.device, design.coil.measured, design.cooling
    reverse = device.reverse_capacitance
    ds = (device.output_capacitance - reverse) * ratios["output_capacitance"]
    return with_values(
        design,
        {
            "coil.measured.coupling": coil.coupling * ratios["coupling"],
            # Q goes with the wave resistance when the capacitance does.
            "coil.measured.quality_factor": coil.quality_factor
            * ratios["quality"] / ratios["capacitance"] ** 0.5,
            "coil.measured.breakout_voltage": coil.breakout_voltage * ratios["breakout"],
            "coil.measured.secondary_capacitance": coil.secondary_capacitance
            * ratios["capacitance"],
            "device.output_capacitance": ds + reverse,
            "device.threshold_voltage": device.threshold_voltage * ratios["threshold"],
            "device.on_resistance": device.on_resistance * ratios["on_resistance"],
            "supply.voltage": design.supply.voltage * ratios["supply"],
            "interrupter.duty": design.interrupter.duty * ratios["duty"],
            "device.thermal_network": [
                {"resistance": part.resistance * ratios["junction_resistance"],
                 "time_constant": part.time_constant * ratios["junction_resistance"]}
                for part in device.thermal_network
            ],
            "cooling.interface_resistance": cooling.interface_resistance
            * ratios["interface_resistance"],
            "cooling.sink_resistance": cooling.sink_resistance * ratios["sink_resistance"],
            "cooling.ambient": cooling.ambient + kelvin,
        },
    )  # fmt: skip
