"""Drive and protection: how the gate is moved and what catches the spikes."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Final, Literal

from pydantic import Field, model_validator

from burstwise.core.design.fields import DisagreementError, Section, quantity_field
from burstwise.core.units import shown


class DirectDrive(Section):
    """Secondary base current straight into the gate, with bias and clamps."""

    bias_voltage: Annotated[float, *quantity_field("V", 0.0, 20, "Gate bias, open circuit")] = 3.9
    bias_resistance: Annotated[
        float, *quantity_field("Ω", 10, 1e7, "Source resistance of the bias")
    ] = 4700.0
    clamp_fitted: Annotated[bool, Field(title="Gate clamp fitted")] = True
    clamp_high: Annotated[float, *quantity_field("V", 1, 40, "Gate clamp, positive")] = 12.0
    clamp_low: Annotated[float, *quantity_field("V", 0.2, 40, "Gate clamp, negative")] = 0.7
    clamp_resistance: Annotated[
        float, *quantity_field("Ω", 0.1, 1e3, "Slope resistance of the gate clamp")
    ] = 3.0
    pull_down_resistance: Annotated[
        float, *quantity_field("Ω", 0.1, 1e3, "On-resistance of the interrupter's pull-down")
    ] = 5.0
    pull_down_current_rating: Annotated[
        float, *quantity_field("A", 1e-3, 100, "Peak current rating of the pull-down")
    ] = 0.5


class GatedDrive(Section):
    """Gate driver with a clamped input, enabled by the timer.

    What moves the input is the base current itself, a part of it by a current transformer whose
    one turn is the base wire, or an antenna near the top. The transformer has its burden from the
    input to the bias, which a capacitor holds still.
    """

    feedback: Annotated[
        Literal["base current", "current transformer", "antenna"], Field(title="Feedback by")
    ] = "base current"
    transformer_turns: Annotated[
        float, *quantity_field("", 2.0, 1000.0, "Turns of the current transformer")
    ] = 10.0
    transformer_inductance: Annotated[
        float, *quantity_field("H", 1e-6, 1.0, "Inductance of its winding", log=True)
    ] = 0.5e-3
    burden: Annotated[
        float, *quantity_field("Ω", 1.0, 1e5, "Burden of the current transformer")
    ] = 4700.0
    antenna_capacitance: Annotated[
        float, *quantity_field("F", 1e-15, 1e-10, "Capacitance from top to antenna", log=True)
    ] = 2e-13

    driver_supply: Annotated[float, *quantity_field("V", 3, 30, "Driver supply")] = 12.0
    undervoltage_lockout: Annotated[
        float, *quantity_field("V", 0.0, 25, "Under-voltage lockout")
    ] = 8.0
    pull_up_resistance: Annotated[
        float, *quantity_field("Ω", 0.05, 200, "Driver output resistance, high")
    ] = 2.0
    pull_down_resistance: Annotated[
        float, *quantity_field("Ω", 0.05, 200, "Driver output resistance, low")
    ] = 1.5
    gate_resistor: Annotated[float, *quantity_field("Ω", 0.0, 1e3, "Gate resistor")] = 4.7
    gate_source_resistor: Annotated[
        float | None, *quantity_field("Ω", 100, 1e7, "Resistor from gate to source")
    ] = 10e3
    propagation_delay: Annotated[
        float, *quantity_field("s", 0.0, 5e-6, "Driver propagation delay")
    ] = 40e-9
    fast_slew: Annotated[
        float, *quantity_field("V/s", 1e5, 1e12, "Input slew that this delay is of", log=True)
    ] = 1e9
    slow_slew: Annotated[
        float, *quantity_field("V/s", 1e3, 1e11, "Slow input slew of a second point", log=True)
    ] = 1e7
    slow_delay: Annotated[
        float, *quantity_field("s", 0.0, 5e-6, "Delay at the slow slew; 0: as above")
    ] = 0.0
    inverting: Annotated[bool, Field(title="Driver inverts")] = False
    input_threshold_high: Annotated[
        float, *quantity_field("V", 0.1, 20, "Input threshold, rising")
    ] = 2.1
    input_threshold_low: Annotated[
        float, *quantity_field("V", 0.05, 20, "Input threshold, falling")
    ] = 1.2
    input_capacitance: Annotated[
        float, *quantity_field("F", 1e-12, 1e-8, "Input capacitance with wiring")
    ] = 30e-12
    input_clamp_high: Annotated[float, *quantity_field("V", 0.3, 30, "Input clamp, positive")] = 5.6
    input_clamp_low: Annotated[float, *quantity_field("V", 0.1, 30, "Input clamp, negative")] = 0.6
    input_clamp_resistance: Annotated[
        float, *quantity_field("Ω", 0.5, 1e3, "Slope resistance of the input clamps")
    ] = 2.0
    input_bias: Annotated[
        float, *quantity_field("V", 0.0, 20, "Input rest voltage, open circuit")
    ] = 5.0
    input_bias_resistance: Annotated[
        float, *quantity_field("Ω", 100, 1e7, "Source resistance of the input bias")
    ] = 10e3
    quiescent_current: Annotated[
        float, *quantity_field("A", 0.0, 0.5, "Driver's own supply current")
    ] = 2e-3
    peak_current_rating: Annotated[
        float, *quantity_field("A", 0.05, 60, "Driver peak output current")
    ] = 4.0
    thermal_resistance: Annotated[
        float, *quantity_field("K/W", 10, 500, "Driver junction to ambient")
    ] = 110.0
    junction_limit: Annotated[
        float, *quantity_field("°C", 80, 200, "Driver's highest junction temperature")
    ] = 125.0

    @model_validator(mode="after")
    def _in_order(self) -> GatedDrive:
        if self.input_threshold_low >= self.input_threshold_high:
            raise DisagreementError(
                "input_threshold_low",
                shown(self.input_threshold_low, "V"),
                f"below the rising threshold of {shown(self.input_threshold_high, 'V')}",
            )
        if self.slow_slew >= self.fast_slew:
            raise DisagreementError(
                "slow_slew",
                shown(self.slow_slew, "V/s"),
                f"below the fast slew of {shown(self.fast_slew, 'V/s')}",
            )
        if 0.0 < self.slow_delay < self.propagation_delay:
            raise DisagreementError(
                "slow_delay",
                shown(self.slow_delay, "s"),
                f"0 or at least the propagation delay of {shown(self.propagation_delay, 's')}",
            )
        return self


FEEDBACK_FIELDS: Final[Mapping[str, tuple[str, ...]]] = {
    "base current": (),
    "current transformer": ("transformer_turns", "transformer_inductance", "burden"),
    "antenna": ("antenna_capacitance",),
}
"""Fields of a gate driver's input that have a say with one kind of feedback only."""


class Drive(Section):
    """Kind of drive, winding sense, and the shunt that measures the drain current."""

    kind: Annotated[Literal["direct", "gated"], Field(title="Kind of drive")] = "gated"
    feedback_sense: Annotated[
        Literal["normal", "reversed"],
        Field(
            title="Winding sense",
            description=(
                "normal: a base current into the gate (or driver input) turns the device on with "
                "a chain that does not invert; an inverting driver needs 'reversed', and so does "
                "an antenna, whose current is opposite to the base's."
            ),
        ),
    ] = "normal"
    shunt_resistance: Annotated[
        float, *quantity_field("Ω", 0.0, 10, "Shunt in the source lead")
    ] = 0.1
    shunt_power_rating: Annotated[
        float, *quantity_field("W", 0.05, 200, "Power rating of the shunt")
    ] = 5.0
    source_inductance: Annotated[
        float, *quantity_field("H", 0.0, 1e-6, "Common-source inductance")
    ] = 0.0
    direct: DirectDrive = DirectDrive()
    gated: GatedDrive = GatedDrive()

    @property
    def past_input(self) -> bool:
        """Whether the base current goes to 0 V past the driver's input."""
        return self.kind == "gated" and self.gated.feedback != "base current"


class DrainClamp(Section):
    """Avalanche-type clamp from drain to source."""

    voltage: Annotated[float, *quantity_field("V", 5, 4000, "Clamp voltage")] = 480.0
    resistance: Annotated[float, *quantity_field("Ω", 0.05, 100, "Slope resistance")] = 4.0
    power_rating: Annotated[float, *quantity_field("W", 0.1, 100, "Power rating")] = 5.0


class Snubber(Section):
    """Resistor and capacitor in series from drain to source."""

    resistance: Annotated[float, *quantity_field("Ω", 0.5, 1e5, "Snubber resistor")] = 100.0
    capacitance: Annotated[float, *quantity_field("F", 1e-12, 1e-6, "Snubber capacitor")] = 220e-12


class ReservoirClamp(Section):
    """Diode into a capacitor that a resistor empties back to the supply (RCD clamp)."""

    capacitance: Annotated[float, *quantity_field("F", 1e-10, 1e-4, "Clamp capacitor")] = 22e-9
    resistance: Annotated[float, *quantity_field("Ω", 10, 1e7, "Bleed resistor")] = 22e3
    diode_voltage: Annotated[float, *quantity_field("V", 0.1, 5, "Diode forward voltage")] = 0.9
    diode_resistance: Annotated[float, *quantity_field("Ω", 0.05, 10, "Diode slope resistance")] = (
        0.3
    )


class Trip(Section):
    """Latch that holds the gate off: fast comparator at the shunt, or time without base current."""

    kind: Annotated[Literal["current", "time-out"], Field(title="Acts on")] = "current"
    current: Annotated[float, *quantity_field("A", 0.05, 2000, "Trip current")] = 15.0
    delay: Annotated[
        float, *quantity_field("s", 2e-8, 1.0, "Time until the gate is off", log=True)
    ] = 1e-6


class Protection(Section):
    """What catches the drain's spikes; absent parts are not fitted."""

    drain_clamp: Annotated[DrainClamp | None, Field(title="Drain clamp")] = None
    snubber: Annotated[Snubber | None, Field(title="Drain snubber")] = None
    reservoir_clamp: Annotated[ReservoirClamp | None, Field(title="Reservoir clamp")] = None
    trip: Annotated[Trip | None, Field(title="Trip for a lost loop")] = None
    fuse_rating: Annotated[
        float | None, *quantity_field("A", 0.02, 100, "Fuse in the main supply")
    ] = 2.0
