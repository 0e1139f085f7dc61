"""Parts between the secondary's base and the gate, for both kinds of drive."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from functools import partial
from typing import Final

from burstwise.core.assembly.bias_parts import fitted_gate_bias, fitted_input_bias
from burstwise.core.assembly.low_voltage_parts import low_rail
from burstwise.core.assembly.part import (
    Fitted,
    Requirement,
    Wanted,
    by_design,
    exactly,
    heated,
    requirement,
)
from burstwise.core.assembly.worst import loss, worst_load
from burstwise.core.design.document import Design
from burstwise.core.design.drive import DirectDrive, GatedDrive
from burstwise.core.evaluate.feedback import FLUX_DENSITY, InputSwing, input_share, input_swing
from burstwise.core.evaluate.results import Results
from burstwise.core.limits.clamp_heat import ClampHeat, clamp_heat
from burstwise.core.series import value_above
from burstwise.core.units import percent, shown

_ONE_DIODE: Final = 1.5
"""Negative clamp voltage up to which one diode makes it [V]."""
STILL: Final = 100.0
"""Burden over the reactance of the capacitor that holds its cold end; common practice, no source.
"""


def fitted_drive(design: Design) -> Iterator[Fitted[Results]]:
    """Parts of the drive that a design has."""
    if design.drive.kind == "direct":
        yield from _direct(design, design.drive.direct)
    else:
        yield from _gated(design, design.drive.gated)


def _direct(design: Design, part: DirectDrive) -> Iterator[Fitted[Results]]:
    yield from fitted_gate_bias(design)
    if part.clamp_fitted:
        yield from _Clamps("gate", part.clamp_high, part.clamp_low, part.clamp_resistance).fitted()
    if design.interrupter.enabled:
        yield Fitted("Q", "pull_down", partial(_pull_down, part))


def _gated(design: Design, part: GatedDrive) -> Iterator[Fitted[Results]]:
    yield Fitted("U", "driver", partial(_driver, part))
    yield Fitted("C", "driver_decoupling", by_design(_decoupling, design))
    if part.gate_resistor > 0:
        yield Fitted("R", "gate_resistor", partial(_gate_resistor, part.gate_resistor))
    if part.gate_source_resistor is not None:
        make = by_design(_gate_source_resistor, design, part.gate_source_resistor)
        yield Fitted("R", "gate_source_resistor", make)
    if part.feedback == "current transformer":
        yield Fitted("T", "current_transformer", partial(_current_transformer, part))
        yield Fitted("R", "burden", partial(_burden, part.burden))
        yield Fitted("C", "input_bias_capacitor", partial(_input_bias_capacitor, part.burden))
    if part.feedback == "antenna":
        yield Fitted("E", "antenna", partial(_antenna, part.antenna_capacitance))
    yield from fitted_input_bias(design)
    slope = part.input_clamp_resistance
    yield from _Clamps("input", part.input_clamp_high, part.input_clamp_low, slope).fitted()


def _pull_down(part: DirectDrive, results: Results) -> Wanted:
    peak = max(float(worst_load(results).gate_peak), part.clamp_high * part.clamp_fitted)
    return Wanted(
        "Pull-down of the interrupter",
        family="transistor, pull-down",
        needs=[
            requirement("voltage", peak, "V"),
            exactly("peak current", part.pull_down_current_rating, "A"),
        ],
        why=f"Logic level. Holds the gate down in the off-time; on-resistance at most "
        f"{shown(part.pull_down_resistance, 'Ω')}.",
    )  # fmt: skip


def _driver(part: GatedDrive, results: Results) -> Wanted:
    cycle = part.propagation_delay * results.carrier.frequency
    return Wanted(
        "Gate driver",
        kind=f"{'inverting' if part.inverting else 'non-inverting'} gate driver with enable",
        family="gate driver",
        needs=[
            requirement("supply voltage", part.driver_supply, "V"),
            exactly("peak current", part.peak_current_rating, "A"),
        ],
        why=f"Delay at most {shown(part.propagation_delay, 's')} "
        f"({percent(cycle, decimals=1)} of a carrier cycle), "
        f"lockout at {shown(part.undervoltage_lockout, 'V')}, input thresholds "
        f"{shown(part.input_threshold_low, 'V')} and {shown(part.input_threshold_high, 'V')}.",
    )  # fmt: skip


def _decoupling(design: Design) -> Wanted:
    return Wanted(
        "Decoupling at the driver", design.interrupter.chain.decoupling, "F",
        family="ceramic capacitor", tolerance=0.10,
        needs=[requirement("voltage", design.drive.gated.driver_supply, "V")],
        why="Beside the driver's pins; gives the gate charge of "
        f"{shown(design.device.gate_charge, 'C')} in each edge.",
    )  # fmt: skip


def _gate_resistor(ohms: float, results: Results) -> Wanted:
    return Wanted(
        "Gate resistor", ohms, "Ω",
        family="resistor", tolerance=0.05,
        needs=[heated(max(loss(results, "gate_drive"), 0.05))],
        why="Damps the gate loop; rated as if it took all of the gate's power.",
    )  # fmt: skip


def _current_transformer(part: GatedDrive, results: Results) -> Wanted:
    swing, core = _swing(results), ""
    if swing is not None:
        pace = 2.0 * math.pi * swing.frequency
        section = swing.held / (pace * part.transformer_turns * FLUX_DENSITY)
        core = (
            f" A ferrite core of at least {shown(1e6 * section, '', digits=2)} mm² stays below "
            f"{shown(1e3 * FLUX_DENSITY, '', digits=2)} mT."
        )
    return Wanted(
        "Current transformer",
        kind=f"ring core, 1 : {part.transformer_turns:g} turns, "
        f"{shown(part.transformer_inductance, 'H')}",
        why="The base wire once through the core, insulated from it. Measure the winding's "
        f"inductance before it goes in.{core}",
    )  # fmt: skip


def _burden(ohms: float, results: Results) -> Wanted:
    swing, met = _swing(results), ""
    if swing is not None:
        met = (
            f" Without clamps {shown(swing.current, 'A', digits=3)} peak would bring "
            f"{_brought(swing)}"
        )
    return Wanted(
        "Burden of the current transformer", ohms, "Ω",
        family="resistor", tolerance=0.05,
        needs=[heated(loss(results, "burden"))],
        why=f"At the transformer's pins.{met}",
    )  # fmt: skip


def _input_bias_capacitor(burden: float, results: Results) -> Wanted:
    """Capacitor that holds the cold end of the transformer still."""
    pace = 2.0 * math.pi * results.carrier.circuit.coil.resonance
    return Wanted(
        "Capacitor at the input's bias", value_above(STILL / (pace * burden), series="E6"), "F",
        family="ceramic capacitor", tolerance=0.10,
        needs=[requirement("voltage", low_rail(results.design), "V")],
        why="Holds the transformer's cold end still: its reactance is at most a "
        f"{STILL:g}th of the burden at the carrier.",
    )  # fmt: skip


def _antenna(farad: float, results: Results) -> Wanted:
    """Piece of wire or sheet that the top's field reaches."""
    swing, met = _swing(results), ""
    if swing is not None:
        met = (
            f" It takes {shown(swing.current, 'A', digits=3)} peak, which without clamps would "
            f"bring {_brought(swing)}"
        )
    return Wanted(
        "Antenna", farad, "F",
        kind="insulated wire or small disc in the top's field, joined to it by air alone",
        why="Out of reach of any discharge and fixed, since its place sets its capacitance: the "
        "value is an estimate until it is measured. Begin far off, where the stage does not yet "
        f"start, and move it nearer with everything off.{met}",
    )  # fmt: skip


def _swing(results: Results) -> InputSwing | None:
    return input_swing(results.design, results.coil, results.carrier)


def _brought(swing: InputSwing) -> str:
    return (
        f"{shown(swing.free, 'V', digits=2)} to either side of the bias, the first swing "
        f"{shown(swing.first, 'V', digits=2)}; the thresholds need "
        f"{shown(swing.needed, 'V', digits=2)}."
    )


def _gate_source_resistor(design: Design, ohms: float) -> Wanted:
    """Resistor that empties the gate while the driver has no supply."""
    device, supply = design.device, design.drive.gated.driver_supply
    return Wanted(
        "Resistor from gate to source", ohms, "Ω",
        family="resistor", tolerance=0.05,
        needs=[heated(supply**2 / ohms)],
        why="Right at the transistor's pins: empties a gate whose driver has no supply or came "
        f"loose, with a time constant of {shown(ohms * device.input_capacitance, 's', digits=2)}. "
        f"Takes {shown(supply / ohms, 'A', digits=2)} from the driver while the gate is high. Too "
        "weak to hold the gate against a fast drain: low voltage on first and off last all the "
        "same.",
    )  # fmt: skip


@dataclass(frozen=True, slots=True)
class _Clamps:
    """Positive clamp by a Zener diode, negative one by a diode or a second Zener diode.

    The same charge passes both, so each has its heat by its voltage.

    Attributes
    ----------
    where : str
        ``"gate"``, or ``"input"`` for the driver's.
    high, low : float
        Clamp voltages [V].
    slope : float
        Slope resistance of both [ohm].
    """

    where: str
    high: float
    low: float
    slope: float

    def fitted(self) -> Iterator[Fitted[Results]]:
        yield Fitted("D", f"{self.where}_clamp_high", self._positive)
        yield Fitted("D", f"{self.where}_clamp_low", self._negative)

    def _positive(self, results: Results) -> Wanted:
        each, pulse, heat = self._asked(results)
        return Wanted(
            f"{self._name} clamp, positive", self.high, "V",
            family="Zener diode", tolerance=0.05,
            needs=[heated(each.high), pulse],
            why=f"Carries the positive half of {_fed(results)}; its part of the heat goes by its "
            f"voltage, {percent(each.high / heat if heat > 0 else 0.5)} of both.",
        )  # fmt: skip

    def _negative(self, results: Results) -> Wanted:
        each, pulse, _ = self._asked(results)
        small = self.low <= _ONE_DIODE
        return Wanted(
            f"{self._name} clamp, negative", self.low, "V",
            family="clamp diode" if small else "Zener diode",
            tolerance=None if small else 0.05,
            needs=[heated(each.low), pulse],
            why=f"Carries the negative half of {_fed(results)}.",
        )  # fmt: skip

    @property
    def _name(self) -> str:
        return "Gate" if self.where == "gate" else "Driver input"

    def _asked(self, results: Results) -> tuple[ClampHeat, Requirement, float]:
        """Heat of each, pulse current, and the heat of both [W]."""
        heat = loss(results, f"{self.where}_clamp")
        share = input_share(results.design, results.coil)
        current = share * float(worst_load(results).pull_down_current)
        each = clamp_heat(
            heat, current=current, high=self.high, low=self.low, resistance=self.slope
        )
        return each, requirement("pulse current", current, "A"), heat


def _fed(results: Results) -> str:
    share = input_share(results.design, results.coil)
    return "the base current" if share == 1.0 else "what feeds the input"
