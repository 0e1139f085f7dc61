"""Low-voltage supply of timer and driver: linear regulator, Zener diode or a separate supply."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

from burstwise.core.errors import InputError
from burstwise.core.findings import Finding, caution, stop
from burstwise.core.series import value_below
from burstwise.core.units import shown


def smallest_peak_input(output: float, *, dropout: float, ripple: float) -> float:
    """Smallest input peak that keeps regulation in the valley of the ripple [V].

    Examples
    --------
    >>> smallest_peak_input(12.0, dropout=2.0, ripple=1.5)
    15.5
    """
    return output + dropout + ripple


@dataclass(frozen=True, slots=True)
class LowSupplyResult:
    """Low-voltage supply at work.

    Parameters
    ----------
    output_low, output_high : float
        Range of the output over the input range [V].
    series_resistor : float
        Resistor in front [ohm]; 0 without one.
    dissipation : float
        Largest heat in the regulator or Zener diode [W].
    resistor_dissipation : float
        Largest heat in the series resistor [W].
    junction : float
        Hottest junction [C].
    findings : tuple of Finding
        Drop-out, heat, input rating.
    """

    output_low: float
    output_high: float
    series_resistor: float
    dissipation: float
    resistor_dissipation: float
    junction: float
    findings: tuple[Finding, ...]


class LowSupply(Protocol):
    """A way to feed timer and driver."""

    def at(
        self, *, input_low: float, input_high: float, load: float, ambient: float
    ) -> LowSupplyResult:
        """Output and heat for an input range [V], a load [A] and an ambient [C]."""
        ...


@dataclass(frozen=True, slots=True)
class LinearRegulator:
    """Three-terminal regulator.

    Parameters
    ----------
    output, dropout : float
        [V].
    ground_current : float
        Own current [A].
    input_limit : float
        Highest input [V].
    thermal_resistance : float
        Junction to ambient with its heat sink [K/W]; 65 for a bare TO-220 is common practice.
    junction_limit : float
        [C].
    """

    output: float = 12.0
    dropout: float = 2.0
    ground_current: float = 5e-3
    input_limit: float = 35.0
    thermal_resistance: float = 65.0
    junction_limit: float = 125.0

    def at(
        self, *, input_low: float, input_high: float, load: float, ambient: float
    ) -> LowSupplyResult:
        """P = (Vin - Vout) I + Vin Iq; the junction follows from the thermal resistance.

        Examples
        --------
        >>> result = LinearRegulator().at(input_low=20, input_high=24, load=0.05, ambient=25)
        >>> round(result.dissipation, 3), round(result.junction, 1)
        (0.72, 71.8)
        """
        _checked(input_low, input_high, load)
        heat = max(input_high - self.output, 0.0) * load + input_high * self.ground_current
        junction = ambient + heat * self.thermal_resistance
        findings: list[Finding] = []
        needed = smallest_peak_input(self.output, dropout=self.dropout, ripple=0.0)
        if input_low < needed:
            findings.append(
                caution(
                    "regulator-dropout",
                    "low_supply.input",
                    f"At {input_low:.3g} V the regulator drops out (needs {needed:.3g} V): its "
                    f"output falls to {max(input_low - self.dropout, 0.0):.3g} V.",
                )
            )
        if input_high > self.input_limit:
            findings.append(
                stop(
                    "regulator-input",
                    "low_supply.input",
                    f"An input of {input_high:.3g} V exceeds the regulator's "
                    f"{self.input_limit:.3g} V.",
                )
            )
        findings += _heat_findings(junction, self.junction_limit, heat)
        low = min(self.output, max(input_low - self.dropout, 0.0))
        return LowSupplyResult(low, self.output, 0.0, heat, 0.0, junction, tuple(findings))


@dataclass(frozen=True, slots=True)
class ZenerSupply:
    """Zener diode behind a series resistor.

    Parameters
    ----------
    output, tolerance : float
        Zener voltage [V] and its tolerance.
    least_current : float
        Smallest Zener current that regulates [A].
    slope : float
        Differential resistance [ohm].
    thermal_resistance, junction_limit : float
        Junction to ambient [K/W]; limit [C].
    series : str
        E series of the resistor.
    """

    output: float = 12.0
    tolerance: float = 0.05
    least_current: float = 5e-3
    slope: float = 9.0
    thermal_resistance: float = 100.0
    junction_limit: float = 150.0
    series: str = "E24"

    def at(
        self, *, input_low: float, input_high: float, load: float, ambient: float
    ) -> LowSupplyResult:
        """R = (Vin,min - Vz,max)/(I + Iz,min), next value below.

        Heat is taken at the highest input without load, at the Zener voltage within tolerance
        that makes it largest.

        Raises
        ------
        InputError
            Lowest input not above the Zener voltage.

        Examples
        --------
        >>> result = ZenerSupply().at(input_low=20, input_high=24, load=0.02, ambient=25)
        >>> result.series_resistor, round(result.dissipation, 3)
        (270.0, 0.533)
        """
        _checked(input_low, input_high, load)
        highest, lowest = self.output * (1 + self.tolerance), self.output * (1 - self.tolerance)
        if input_low <= highest:
            raise InputError("low_supply.input", input_low, f"above {highest:.3g} V")
        largest = (input_low - highest) / (load + self.least_current)
        resistor = value_below(largest, series=self.series)
        unloaded = (input_high - lowest) / resistor
        hottest = min(max(input_high / 2, lowest), highest)
        heat = hottest * (input_high - hottest) / resistor
        junction = ambient + heat * self.thermal_resistance
        return LowSupplyResult(
            lowest,
            highest + self.slope * max(unloaded - self.least_current, 0.0),
            resistor,
            heat,
            (input_high - lowest) ** 2 / resistor,
            junction,
            tuple(_heat_findings(junction, self.junction_limit, heat)),
        )


@dataclass(frozen=True, slots=True)
class SeparateSupply:
    """Supply of its own: voltage [V], tolerance, current limit [A]."""

    output: float = 12.0
    tolerance: float = 0.05
    current_limit: float = 0.5

    def at(
        self, *, input_low: float, input_high: float, load: float, ambient: float
    ) -> LowSupplyResult:
        """Independent of the main supply; only its current limit counts.

        Examples
        --------
        >>> result = SeparateSupply().at(input_low=0, input_high=0, load=0.1, ambient=25)
        >>> round(result.output_low, 3)
        11.4
        """
        del input_low, input_high
        findings: list[Finding] = []
        if load > self.current_limit:
            findings.append(
                stop(
                    "low-supply-current",
                    "low_supply.load",
                    f"{shown(load, 'A')} exceed the separate supply's "
                    f"{shown(self.current_limit, 'A')}.",
                )
            )
        low, high = self.output * (1 - self.tolerance), self.output * (1 + self.tolerance)
        return LowSupplyResult(low, high, 0.0, 0.0, 0.0, ambient, tuple(findings))


def _heat_findings(junction: float, limit: float, heat: float) -> list[Finding]:
    if junction <= limit:
        return []
    return [
        stop(
            "low-supply-heat",
            "low_supply.dissipation",
            f"{shown(heat, 'W')} bring the junction to {junction:.0f} °C, above {limit:.0f} °C: "
            "fit a heat sink, a resistor in front, or a separate supply.",
        )
    ]


def _checked(low: float, high: float, load: float) -> None:
    if not 0 < low <= high:
        raise InputError("low_supply.input", (low, high), "positive and rising")
    if load < 0:
        raise InputError("low_supply.load", load, "at least 0 A")
