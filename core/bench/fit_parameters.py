"""Parameters of the stage that a calibration may fit, and what each does to the circuit."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import Final

from burstwise.core.coil.resolve import ResolvedCoil
from burstwise.core.design.document import Design, field_info
from burstwise.core.stage.circuit import StageCircuit


class Parameter(StrEnum):
    """What can be fitted, by its name in the calibration."""

    COUPLING = "coupling"
    QUALITY_FACTOR = "quality_factor"
    SECONDARY_CAPACITANCE = "secondary_capacitance"
    BREAKOUT_VOLTAGE = "breakout_voltage"
    ON_RESISTANCE = "on_resistance"
    OUTPUT_CAPACITANCE = "output_capacitance"

    @property
    def label(self) -> str:
        """Words for a list."""
        return _FACTS[self].label

    @property
    def unit(self) -> str:
        """SI unit."""
        return _FACTS[self].unit

    @property
    def spread(self) -> float:
        """How far the prior value is trusted: standard deviation of its logarithm [-]."""
        return _FACTS[self].spread


@dataclass(frozen=True, slots=True)
class _Facts:
    label: str
    unit: str
    spread: float


_FACTS: Final = {
    Parameter.COUPLING: _Facts("Coupling", "", 0.25),
    Parameter.QUALITY_FACTOR: _Facts("Quality factor of the secondary", "", 0.7),
    Parameter.SECONDARY_CAPACITANCE: _Facts("Secondary capacitance", "F", 0.1),
    Parameter.BREAKOUT_VOLTAGE: _Facts("Breakout voltage", "V", 0.5),
    Parameter.ON_RESISTANCE: _Facts("On-resistance at 25 °C", "Ω", 0.3),
    Parameter.OUTPUT_CAPACITANCE: _Facts("Output capacitance", "F", 0.5),
}
_WIDEST: Final = 1.5
"""Farthest that a fit may go from the prior: this many logarithmic units, or three spreads."""


def prior_values(design: Design, coil: ResolvedCoil) -> dict[Parameter, float]:
    """Values before the fit, from the design without its calibration."""
    return {
        Parameter.COUPLING: coil.coupling,
        Parameter.QUALITY_FACTOR: coil.quality_factor,
        Parameter.SECONDARY_CAPACITANCE: coil.secondary_capacitance,
        Parameter.BREAKOUT_VOLTAGE: coil.breakout_voltage,
        Parameter.ON_RESISTANCE: design.device.on_resistance,
        Parameter.OUTPUT_CAPACITANCE: design.device.output_capacitance,
    }


def log_bounds(parameter: Parameter, prior: float, design: Design) -> tuple[float, float]:
    """Least and greatest logarithm of value over prior that a fit may take."""
    info = field_info(f"calibration.{parameter.value}")
    low, high = float(info["low"]), float(info["high"])
    if parameter is Parameter.OUTPUT_CAPACITANCE:
        low = max(low, 1.01 * design.device.reverse_capacitance)
    if parameter is Parameter.COUPLING:
        high = min(high, 0.8)
    reach = min(3.0 * parameter.spread, _WIDEST)
    return max(math.log(low / prior), -reach), min(math.log(high / prior), reach)


def with_parameters(
    circuit: StageCircuit,
    values: Mapping[Parameter, float],
    *,
    prior: Mapping[Parameter, float],
    reverse_capacitance: float,
) -> StageCircuit:
    """Circuit with fitted values in place of the prior ones.

    Parameters
    ----------
    circuit : StageCircuit
        With the prior values.
    values : mapping
        Values of all parameters.
    prior : mapping
        The prior values; the on-resistance goes with the ratio, which keeps the temperature that
        the circuit was made for.
    reverse_capacitance : float
        Of the device [F].
    """
    coil = circuit.coil
    capacitance = values[Parameter.SECONDARY_CAPACITANCE]
    reactance = math.sqrt(coil.secondary_inductance / capacitance)
    before = prior[Parameter.OUTPUT_CAPACITANCE] - reverse_capacitance
    wider = (values[Parameter.OUTPUT_CAPACITANCE] - reverse_capacitance) / before
    warm = values[Parameter.ON_RESISTANCE] / prior[Parameter.ON_RESISTANCE]
    return replace(
        circuit,
        coil=replace(
            coil,
            coupling=values[Parameter.COUPLING],
            secondary_capacitance=capacitance,
            secondary_resistance=reactance / values[Parameter.QUALITY_FACTOR],
            breakout_voltage=values[Parameter.BREAKOUT_VOLTAGE],
        ),
        switch=replace(
            circuit.switch,
            on_resistance=circuit.switch.on_resistance * warm,
            drain_source_capacitance=circuit.switch.drain_source_capacitance.scaled(wider),
        ),
    )
