"""Parts between the secondary's base and the gate, for both kinds of drive."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from burstwise.core.assembly.part import PartsBook, exactly, heated, requirement
from burstwise.core.assembly.worst import loss, worst_load
from burstwise.core.design.document import Design
from burstwise.core.design.drive import DirectDrive, GatedDrive
from burstwise.core.evaluate.feedback import FLUX_DENSITY, input_share, input_swing
from burstwise.core.evaluate.results import Results
from burstwise.core.limits.clamp_heat import clamp_heat
from burstwise.core.limits.linear_mode import THRESHOLD_SPREAD
from burstwise.core.series import nearest_value, value_above, value_below
from burstwise.core.units import percent, shown

_ONE_DIODE: Final = 1.5
"""Negative clamp voltage up to which one diode makes it [V]."""
STILL: Final = 100.0
"""Burden over the reactance of the capacitor that holds its cold end; common practice, no source.
"""


@dataclass(frozen=True, slots=True)
class Divider:
    """Two resistors from a rail to 0 V that stand for a bias source.

    `upper` or `lower` is None where one resistor alone does it.
    """

    upper: float | None
    lower: float | None
    voltage: float
    resistance: float


def bias_divider(rail: float, voltage: float, *, resistance: float) -> Divider:
    """Divider of E24 values nearest to a bias source.

    ``Ru = R V/Vb``, ``Rl = R V/(V - Vb)`` with the rail V and the open-circuit voltage Vb; from
    Thevenin's theorem.

    Parameters
    ----------
    rail, voltage : float
        Rail and wanted open-circuit voltage [V].
    resistance : float
        Wanted source resistance [ohm].

    Examples
    --------
    >>> bias_divider(12.0, 5.0, resistance=10e3)
    Divider(upper=24000.0, lower=18000.0, voltage=5.142857142857143, resistance=10285.714285714286)
    >>> bias_divider(12.0, 0.0, resistance=10e3).upper is None
    True
    """
    if voltage <= 0.0:
        lower = nearest_value(resistance, series="E24")
        return Divider(None, lower, 0.0, lower)
    if voltage >= rail:
        upper = nearest_value(resistance, series="E24")
        return Divider(upper, None, rail, upper)
    upper = nearest_value(resistance * rail / voltage, series="E24")
    lower = nearest_value(resistance * rail / (rail - voltage), series="E24")
    total = upper + lower
    return Divider(upper, lower, rail * lower / total, upper * lower / total)


BIAS_SPREAD: Final = THRESHOLD_SPREAD
"""Either way that a trimmer of the gate bias reaches [V]: the spread of thresholds."""


@dataclass(frozen=True, slots=True)
class TrimmedBias:
    """Fixed resistor and trimmer from the rail, resistor to 0 V [ohm].

    `lowest` and `highest` are the open-circuit voltages at the trimmer's ends, `setting` the part
    of it in use for the voltage wanted.
    """

    upper: float
    trimmer: float
    lower: float
    lowest: float
    highest: float
    setting: float


def trimmed_bias(rail: float, voltage: float, *, resistance: float) -> TrimmedBias | None:
    """Divider with a trimmer that moves a bias by the spread of thresholds either way.

    The trimmer stands on the rail's side: an open slider takes the bias away instead of turning
    the device hard on. None where one resistor alone makes the bias or the rail is too low.

    Parameters
    ----------
    rail, voltage : float
        Rail and wanted open-circuit voltage [V].
    resistance : float
        Wanted source resistance [ohm].

    Examples
    --------
    >>> made = trimmed_bias(12.0, 3.9, resistance=2200.0)
    >>> made.lowest < 2.9 and made.highest > 4.9
    True
    """
    plain = bias_divider(rail, voltage, resistance=resistance)
    if plain.lower is None or plain.upper is None or voltage + BIAS_SPREAD >= rail:
        return None
    lower = plain.lower
    upper = value_below(lower * (rail / (voltage + BIAS_SPREAD) - 1.0), series="E24")
    most = lower * (rail / max(voltage - BIAS_SPREAD, 0.2 * voltage) - 1.0)
    trimmer = value_above(most - upper, series="E3")
    setting = min(max(lower * (rail / voltage - 1.0) - upper, 0.0), trimmer)
    return TrimmedBias(
        upper,
        trimmer,
        lower,
        lowest=rail * lower / (lower + upper + trimmer),
        highest=rail * lower / (lower + upper),
        setting=setting,
    )


def gate_trimmer(design: Design) -> TrimmedBias | None:
    """Trimmed gate bias of a direct drive; None where there is nothing to trim."""
    part = design.drive.direct
    if design.drive.kind != "direct":
        return None
    return trimmed_bias(low_rail(design), part.bias_voltage, resistance=part.bias_resistance)


def low_rail(design: Design) -> float:
    """Low-voltage rail of the design [V]: its own supply's, else the driver's or the timer's."""
    if design.supply.low_voltage is not None:
        return design.supply.low_voltage.output
    if design.drive.kind == "gated":
        return design.drive.gated.driver_supply
    return max(design.interrupter.parts.supply, design.drive.direct.bias_voltage)


def add_drive(book: PartsBook, results: Results) -> None:
    """Add the drive."""
    drive = results.design.drive
    if drive.kind == "direct":
        _direct(book, results, drive.direct)
    else:
        _gated(book, results, drive.gated)


def _direct(book: PartsBook, results: Results, part: DirectDrive) -> None:
    trimmed = gate_trimmer(results.design)
    if trimmed is None:
        _bias(book, results, "gate", part.bias_voltage, part.bias_resistance)
    else:
        _trimmed(book, results, trimmed)
    if part.clamp_fitted:
        heat = loss(results, "gate_clamp")
        volts = (part.clamp_high, part.clamp_low)
        _clamps(book, results, "gate", volts, slope=part.clamp_resistance, heat=heat)
    if results.design.interrupter.enabled:
        book.add(
            "pull_down", "Pull-down of the interrupter", None, "",
            family="transistor, pull-down",
            needs=[
                requirement(
                    "voltage",
                    max(float(worst_load(results).gate_peak), part.clamp_high * part.clamp_fitted),
                    "V",
                ),
                exactly("peak current", part.pull_down_current_rating, "A"),
            ],
            why=f"Logic level. Holds the gate down in the off-time; on-resistance at most "
            f"{shown(part.pull_down_resistance, 'Ω')}.",
        )  # fmt: skip


def _gated(book: PartsBook, results: Results, part: GatedDrive) -> None:
    design = results.design
    frequency = results.carrier.frequency
    book.add(
        "driver", "Gate driver", None, "",
        kind=f"{'inverting' if part.inverting else 'non-inverting'} gate driver with enable",
        family="gate driver",
        needs=[
            requirement("supply voltage", part.driver_supply, "V"),
            exactly("peak current", part.peak_current_rating, "A"),
        ],
        why=f"Delay at most {shown(part.propagation_delay, 's')} "
        f"({percent(part.propagation_delay * frequency, decimals=1)} of a carrier cycle), "
        f"lockout at {shown(part.undervoltage_lockout, 'V')}, input thresholds "
        f"{shown(part.input_threshold_low, 'V')} and {shown(part.input_threshold_high, 'V')}.",
    )  # fmt: skip
    book.add(
        "driver_decoupling", "Decoupling at the driver",
        design.interrupter.chain.decoupling, "F",
        family="ceramic capacitor", tolerance=0.10,
        needs=[requirement("voltage", part.driver_supply, "V")],
        why="Beside the driver's pins; gives the gate charge of "
        f"{shown(design.device.gate_charge, 'C')} in each edge.",
    )  # fmt: skip
    if part.gate_resistor > 0:
        book.add(
            "gate_resistor", "Gate resistor", part.gate_resistor, "Ω",
            family="resistor", tolerance=0.05,
            needs=[heated(max(loss(results, "gate_drive"), 0.05))],
            why="Damps the gate loop; rated as if it took all of the gate's power.",
        )  # fmt: skip
    if part.gate_source_resistor is not None:
        _gate_source(book, results, part.gate_source_resistor)
    if part.feedback == "current transformer":
        _transformer(book, results, part)
    if part.feedback == "antenna":
        _antenna(book, results, part)
    _bias(book, results, "input", part.input_bias, part.input_bias_resistance)
    heat = loss(results, "input_clamp")
    volts = (part.input_clamp_high, part.input_clamp_low)
    _clamps(book, results, "input", volts, slope=part.input_clamp_resistance, heat=heat)


def _transformer(book: PartsBook, results: Results, part: GatedDrive) -> None:
    """Current transformer with its burden, and what holds its cold end still."""
    swing = input_swing(results.design, results.coil, results.carrier)
    core, met = "", ""
    if swing is not None:
        pace = 2.0 * math.pi * swing.frequency
        section = swing.held / (pace * part.transformer_turns * FLUX_DENSITY)
        core = (
            f" A ferrite core of at least {shown(1e6 * section, '', digits=2)} mm² stays below "
            f"{shown(1e3 * FLUX_DENSITY, '', digits=2)} mT."
        )
        met = (
            f"Without clamps {shown(swing.current, 'A', digits=3)} peak would bring "
            f"{shown(swing.free, 'V', digits=2)} to either side of the bias, the first swing "
            f"{shown(swing.first, 'V', digits=2)}; the thresholds need "
            f"{shown(swing.needed, 'V', digits=2)}."
        )
    book.add(
        "current_transformer", "Current transformer",
        kind=f"ring core, 1 : {part.transformer_turns:g} turns, "
        f"{shown(part.transformer_inductance, 'H')}",
        why="The base wire once through the core, insulated from it. Measure the winding's "
        f"inductance before it goes in.{core}",
    )  # fmt: skip
    book.add(
        "burden", "Burden of the current transformer", part.burden, "Ω",
        family="resistor", tolerance=0.05,
        needs=[heated(loss(results, "burden"))],
        why=f"At the transformer's pins. {met}".strip(),
    )  # fmt: skip
    farad = value_above(
        STILL / (2.0 * math.pi * results.carrier.circuit.coil.resonance * part.burden), series="E6"
    )
    book.add(
        "input_bias_capacitor", "Capacitor at the input's bias", farad, "F",
        family="ceramic capacitor", tolerance=0.10,
        needs=[requirement("voltage", low_rail(results.design), "V")],
        why="Holds the transformer's cold end still: its reactance is at most a "
        f"{STILL:g}th of the burden at the carrier.",
    )  # fmt: skip


def _antenna(book: PartsBook, results: Results, part: GatedDrive) -> None:
    """Piece of wire or sheet that the top's field reaches."""
    swing = input_swing(results.design, results.coil, results.carrier)
    met = ""
    if swing is not None:
        met = (
            f" It takes {shown(swing.current, 'A', digits=3)} peak, which without clamps would "
            f"bring {shown(swing.free, 'V', digits=2)} to either side of the bias, the first swing "
            f"{shown(swing.first, 'V', digits=2)}; the thresholds need "
            f"{shown(swing.needed, 'V', digits=2)}."
        )
    book.add(
        "antenna", "Antenna", part.antenna_capacitance, "F",
        kind="insulated wire or small disc in the top's field, joined to it by air alone",
        why="Out of reach of any discharge and fixed, since its place sets its capacitance: the "
        "value is an estimate until it is measured. Begin far off, where the stage does not yet "
        f"start, and move it nearer with everything off.{met}",
    )  # fmt: skip


def _gate_source(book: PartsBook, results: Results, ohms: float) -> None:
    """Resistor that empties the gate while the driver has no supply."""
    device, supply = results.design.device, results.design.drive.gated.driver_supply
    book.add(
        "gate_source_resistor", "Resistor from gate to source", ohms, "Ω",
        family="resistor", tolerance=0.05,
        needs=[heated(supply**2 / ohms)],
        why="Right at the transistor's pins: empties a gate whose driver has no supply or came "
        f"loose, with a time constant of {shown(ohms * device.input_capacitance, 's', digits=2)}. "
        f"Takes {shown(supply / ohms, 'A', digits=2)} from the driver while the gate is high. Too "
        "weak to hold the gate against a fast drain: low voltage on first and off last all the "
        "same.",
    )  # fmt: skip


def _bias(book: PartsBook, results: Results, where: str, voltage: float, resistance: float) -> None:
    """Bias of the gate or of the driver's input from the low-voltage rail."""
    rail = low_rail(results.design)
    made = bias_divider(rail, voltage, resistance=resistance)
    name = "Gate" if where == "gate" else "Driver input"
    why = (
        f"The design has {shown(voltage, 'V')} behind {shown(resistance, 'Ω')}; these values give "
        f"{shown(made.voltage, 'V')} behind {shown(made.resistance, 'Ω')} from "
        f"{shown(rail, 'V')}."
    )
    for value, end, words in (
        (made.upper, "upper", "to the rail"),
        (made.lower, "lower", "to 0 V"),
    ):
        if value is not None:
            heat = (rail if end == "upper" else max(voltage, 0.0)) ** 2 / value
            book.add(
                f"{where}_bias_{end}", f"{name} bias, {words}", value, "Ω",
                family="resistor", tolerance=0.01,
                needs=[heated(heat)],
                why=why,
            )  # fmt: skip


def _trimmed(book: PartsBook, results: Results, made: TrimmedBias) -> None:
    """Gate bias that is set on the built stage, as thresholds spread."""
    rail, wanted = low_rail(results.design), results.design.drive.direct.bias_voltage
    most = rail - made.lowest
    book.add(
        "gate_bias_upper", "Gate bias, to the rail", made.upper, "Ω",
        family="resistor", tolerance=0.01,
        needs=[heated((rail - made.highest) ** 2 / made.upper)],
        why=f"Keeps the bias at {shown(made.highest, 'V', digits=2)} at most, whatever the "
        "trimmer does.",
    )  # fmt: skip
    book.add(
        "gate_bias_trimmer", "Trimmer of the gate bias", made.trimmer, "Ω",
        kind="several turns, as a variable resistor", family="potentiometer",
        needs=[requirement("power", most**2 / made.trimmer, "W")],
        why=f"Thresholds spread by {shown(BIAS_SPREAD, 'V')} either way. Begin at its full "
        f"resistance, {shown(made.lowest, 'V', digits=2)} at the gate. With the main supply at its "
        "first stage and its current limit set, turn slowly until the stage just begins to "
        "oscillate, then no more than 0.1 V further; go back at once if it draws current and does "
        f"not oscillate. The design expects {shown(wanted, 'V', digits=2)}, at about "
        f"{shown(made.setting, 'Ω', digits=2)}. Set again after every change of the transistor.",
    )  # fmt: skip
    book.add(
        "gate_bias_lower", "Gate bias, to 0 V", made.lower, "Ω",
        family="resistor", tolerance=0.01,
        needs=[heated(made.highest**2 / made.lower)],
        why=f"The design has {shown(wanted, 'V')} behind "
        f"{shown(results.design.drive.direct.bias_resistance, 'Ω')}, from {shown(rail, 'V')}.",
    )  # fmt: skip


def _clamps(
    book: PartsBook,
    results: Results,
    where: str,
    volts: tuple[float, float],
    *,
    slope: float,
    heat: float,
) -> None:
    """Positive clamp by a Zener diode, negative one by a diode or a second Zener diode.

    The same charge passes both, so each has its heat by its voltage.
    """
    name = "Gate" if where == "gate" else "Driver input"
    high, low = volts
    share = input_share(results.design, results.coil)
    current = share * float(worst_load(results).pull_down_current)
    each = clamp_heat(heat, current=current, high=high, low=low, resistance=slope)
    pulse = requirement("pulse current", current, "A")
    fed = "the base current" if share == 1.0 else "what feeds the input"
    book.add(
        f"{where}_clamp_high", f"{name} clamp, positive", high, "V",
        family="Zener diode", tolerance=0.05,
        needs=[heated(each.high), pulse],
        why=f"Carries the positive half of {fed}; its part of the heat goes by its "
        f"voltage, {percent(each.high / heat if heat > 0 else 0.5)} of both.",
    )  # fmt: skip
    small = low <= _ONE_DIODE
    book.add(
        f"{where}_clamp_low", f"{name} clamp, negative", low, "V",
        family="clamp diode" if small else "Zener diode",
        tolerance=None if small else 0.05,
        needs=[heated(each.low), pulse],
        why=f"Carries the negative half of {fed}.",
    )  # fmt: skip
