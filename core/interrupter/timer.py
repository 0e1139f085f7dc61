"""Timers of the 555 type: thresholds, discharge switch and output levels, with their spread.

Figures are what data sheets of the class commonly state, from memory; each can be replaced.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import Final

from burstwise.core.errors import InputError
from burstwise.core.findings import Finding, caution


@dataclass(frozen=True, slots=True)
class Timer:
    """Electrical model of one timer.

    Parameters
    ----------
    name, label : str
        Key in `TIMERS`, and words for the parts list.
    supply_low, supply_high : float
        Supply range in which it is specified [V].
    discharge_saturation, discharge_resistance : float
        Closed discharge switch: Vsat [V] + Rsw [ohm] times current.
    output_high_drop, output_high_resistance : float
        Output high = supply - drop - resistance times current [V], [ohm].
    output_low, output_low_resistance : float
        Output low = voltage + resistance times current [V], [ohm].
    threshold_tolerance : float
        Spread of each of the two switching levels, as a fraction of the level.
    threshold_drift : float
        Drift of each switching level [1/K].
    level_spread : float
        Relative spread of saturation, drops and resistances from part to part.
    bias_current : float
        Largest input current of threshold and trigger [A].
    discharge_limit, output_limit : float
        Current up to which the level models hold [A].
    supply_current : float
        Own current at 12 V [A].
    fall_time : float
        Smallest width of a pulse that it makes reliably [s].
    upper, lower : float
        Switching levels as fractions of the supply with the control pin open.
    """

    name: str
    label: str
    supply_low: float
    supply_high: float
    discharge_saturation: float
    discharge_resistance: float
    output_high_drop: float
    output_high_resistance: float
    output_low: float
    output_low_resistance: float
    threshold_tolerance: float
    threshold_drift: float
    level_spread: float
    bias_current: float
    discharge_limit: float
    output_limit: float
    supply_current: float
    fall_time: float
    upper: float = 2 / 3
    lower: float = 1 / 3

    def with_control(self, control: float, supply: float) -> Timer:
        """Timer whose control pin is held at `control` [V]: levels become Vc and Vc/2.

        Raises
        ------
        InputError
            Control voltage not between 0.1 and 0.95 of the supply.

        Examples
        --------
        >>> BIPOLAR.with_control(4.0, 5.0).upper, BIPOLAR.with_control(4.0, 5.0).lower
        (0.8, 0.4)
        """
        if not 0.1 * supply <= control <= 0.95 * supply:
            raise InputError("interrupter.control_voltage", control, "0.1 to 0.95 of the supply")
        return replace(self, upper=control / supply, lower=control / supply / 2)

    def supply_findings(self, supply: float) -> tuple[Finding, ...]:
        """Caution where the supply is outside the timer's range."""
        if self.supply_low <= supply <= self.supply_high:
            return ()
        return (
            caution(
                "timer-supply",
                "interrupter.supply",
                f"The {self.label} is specified for {self.supply_low:g} V to "
                f"{self.supply_high:g} V, not {supply:g} V.",
            ),
        )


BIPOLAR: Final = Timer(
    name="bipolar",
    label="bipolar 555-type timer",
    supply_low=4.5,
    supply_high=16.0,
    discharge_saturation=0.04,
    discharge_resistance=10.0,
    output_high_drop=1.7,
    output_high_resistance=8.0,
    output_low=0.05,
    output_low_resistance=10.0,
    threshold_tolerance=0.01,
    threshold_drift=50e-6,
    level_spread=0.3,
    bias_current=0.25e-6,
    discharge_limit=20e-3,
    output_limit=30e-3,
    supply_current=10e-3,
    fall_time=1e-6,
)
"""Bipolar timer: output high 1.7 V below the supply (3.3 V at 5 V, 13.3 V at 15 V, 100 mA)."""

CMOS: Final = Timer(
    name="cmos",
    label="CMOS 555-type timer",
    supply_low=3.0,
    supply_high=15.0,
    discharge_saturation=0.0,
    discharge_resistance=15.0,
    output_high_drop=0.0,
    output_high_resistance=120.0,
    output_low=0.0,
    output_low_resistance=20.0,
    threshold_tolerance=0.01,
    threshold_drift=50e-6,
    level_spread=0.5,
    bias_current=1e-9,
    discharge_limit=10e-3,
    output_limit=5e-3,
    supply_current=0.4e-3,
    fall_time=0.3e-6,
)
"""CMOS timer: rail-to-rail output behind a resistance; 15 V is the lower of the common limits."""

TIMERS: Final[Mapping[str, Timer]] = MappingProxyType({t.name: t for t in (BIPOLAR, CMOS)})
"""Timer models by name."""
