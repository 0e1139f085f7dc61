"""Supplies and cooling: the slow side of the design."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Final, Literal

from pydantic import Field

from burstwise.core.design.fields import Section, quantity_field

BARE_BUS: Final = 1e-6
"""Capacitance of a bus without a bulk capacitor [F]: the film capacitor at the stage. Any value of
that size empties and fills within the source resistance in far less than a burst."""


class LowVoltageSupply(Section):
    """Supply of timer and driver, made from the main supply or a supply of its own."""

    kind: Annotated[Literal["regulator", "zener", "separate"], Field(title="Kind")] = "regulator"
    output: Annotated[float, *quantity_field("V", 2, 30, "Output voltage")] = 12.0
    dropout: Annotated[float, *quantity_field("V", 0.0, 10, "Drop-out")] = 2.0
    own_current: Annotated[float, *quantity_field("A", 0.0, 0.1, "Regulator's own current")] = 5e-3
    input_limit: Annotated[float, *quantity_field("V", 5, 500, "Highest input")] = 35.0
    tolerance: Annotated[float, *quantity_field("", 0.0, 0.2, "Output tolerance", percent=True)] = (
        0.05
    )
    least_zener_current: Annotated[
        float, *quantity_field("A", 1e-5, 0.5, "Least Zener current")
    ] = 5e-3
    thermal_resistance: Annotated[
        float, *quantity_field("K/W", 1, 500, "Junction to air with its heat sink")
    ] = 65.0
    junction_limit: Annotated[float, *quantity_field("°C", 80, 200, "Junction limit")] = 125.0
    current_limit: Annotated[float, *quantity_field("A", 0.01, 10, "Current limit")] = 0.5


_COMMON: Final = ("kind", "output")
LOW_VOLTAGE_FIELDS: Final[Mapping[str, tuple[str, ...]]] = {
    "regulator": (
        *_COMMON, "dropout", "own_current", "input_limit", "thermal_resistance", "junction_limit",
    ),
    "zener": (
        *_COMMON, "tolerance", "least_zener_current", "thermal_resistance", "junction_limit",
    ),
    "separate": (*_COMMON, "tolerance", "current_limit"),
}  # fmt: skip
"""Fields of a low-voltage supply that have a say, by its kind."""


class Supply(Section):
    """Main supply with its source resistance and the bulk capacitor."""

    voltage: Annotated[float, *quantity_field("V", 1, 400, "Supply voltage")] = 36.0
    tolerance: Annotated[
        float,
        *quantity_field("", 0.0, 0.2, "How far the supply may stand above that", percent=True),
    ] = 0.05
    source_resistance: Annotated[
        float, *quantity_field("Ω", 0.0, 100, "Source resistance with leads")
    ] = 0.2
    current_limit: Annotated[float, *quantity_field("A", 0.05, 100, "Supply current limit")] = 5.0
    bulk_fitted: Annotated[bool, Field(title="Bulk capacitor fitted")] = True
    bulk_capacitance: Annotated[
        float, *quantity_field("F", 1e-7, 1, "Bulk capacitor", log=True)
    ] = 2200e-6
    bulk_esr: Annotated[
        float, *quantity_field("Ω", 0.0, 10, "Equivalent series resistance of the bulk capacitor")
    ] = 0.05
    bulk_voltage_rating: Annotated[
        float, *quantity_field("V", 2, 1000, "Voltage rating of the bulk capacitor")
    ] = 100.0
    bulk_ripple_rating: Annotated[
        float, *quantity_field("A", 0.01, 100, "Ripple-current rating of the bulk capacitor")
    ] = 2.5
    low_voltage: Annotated[LowVoltageSupply | None, Field(title="Low-voltage supply")] = None

    @property
    def bus_capacitance(self) -> float:
        """Capacitance that bursts draw on [F]: the bulk capacitor's where one is fitted."""
        return self.bulk_capacitance if self.bulk_fitted else BARE_BUS

    @property
    def bus_esr(self) -> float:
        """Its equivalent series resistance [ohm]; a film capacitor has next to none."""
        return self.bulk_esr if self.bulk_fitted else 0.0


class Cooling(Section):
    """From case to air."""

    ambient: Annotated[float, *quantity_field("°C", -40, 80, "Ambient temperature")] = 25.0
    interface_resistance: Annotated[
        float, *quantity_field("K/W", 0.01, 50, "Case to heat sink")
    ] = 0.8
    case_heat_capacity: Annotated[
        float, *quantity_field("J/K", 0.05, 100, "Heat capacity of the case")
    ] = 1.5
    sink_resistance: Annotated[
        float, *quantity_field("K/W", 0.05, 200, "Heat sink to air", log=True)
    ] = 6.0
    sink_heat_capacity: Annotated[
        float, *quantity_field("J/K", 0.1, 1e5, "Heat capacity of the heat sink", log=True)
    ] = 60.0
    sink_limit: Annotated[
        float, *quantity_field("°C", 40, 200, "Highest heat-sink temperature allowed")
    ] = 85.0
