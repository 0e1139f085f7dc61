"""Bias of the gate or of the driver's input from the low-voltage rail."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from burstwise.core.assembly.low_voltage_parts import low_rail
from burstwise.core.assembly.part import Fitted, Wanted, by_design, heated, requirement
from burstwise.core.design.document import Design
from burstwise.core.limits.linear_mode import THRESHOLD_SPREAD
from burstwise.core.series import nearest_value, value_above, value_below
from burstwise.core.units import shown


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


def fitted_gate_bias(design: Design) -> Iterator[Fitted[object]]:
    """Bias of a direct drive's gate, with a trimmer where there is something to trim."""
    trimmed, part = gate_trimmer(design), design.drive.direct
    if trimmed is None:
        yield from _plain(design, "gate", part.bias_voltage, part.bias_resistance)
    else:
        yield from _trimmed(design, trimmed)


def fitted_input_bias(design: Design) -> Iterator[Fitted[object]]:
    """Bias of a gate driver's input."""
    part = design.drive.gated
    yield from _plain(design, "input", part.input_bias, part.input_bias_resistance)


def _plain(
    design: Design, where: str, voltage: float, resistance: float
) -> Iterator[Fitted[object]]:
    rail = low_rail(design)
    made = bias_divider(rail, voltage, resistance=resistance)
    name = "Gate" if where == "gate" else "Driver input"
    why = (
        f"The design has {shown(voltage, 'V')} behind {shown(resistance, 'Ω')}; these values give "
        f"{shown(made.voltage, 'V')} behind {shown(made.resistance, 'Ω')} from "
        f"{shown(rail, 'V')}."
    )
    for end, words, ohms, across in (
        ("upper", "to the rail", made.upper, rail),
        ("lower", "to 0 V", made.lower, max(voltage, 0.0)),
    ):
        if ohms is not None:
            make = by_design(_resistor, f"{name} bias, {words}", ohms, across, why)
            yield Fitted("R", f"{where}_bias_{end}", make)


def _resistor(title: str, ohms: float, across: float, why: str) -> Wanted:
    """Resistor with the voltage across it that heats it most [V]."""
    return Wanted(
        title, ohms, "Ω",
        family="resistor", tolerance=0.01,
        needs=[heated(across**2 / ohms)],
        why=why,
    )  # fmt: skip


def _trimmed(design: Design, made: TrimmedBias) -> Iterator[Fitted[object]]:
    """Gate bias that is set on the built stage, as thresholds spread."""
    rail, part = low_rail(design), design.drive.direct
    least = (
        f"Keeps the bias at {shown(made.highest, 'V', digits=2)} at most, whatever the trimmer "
        "does."
    )
    source = (
        f"The design has {shown(part.bias_voltage, 'V')} behind "
        f"{shown(part.bias_resistance, 'Ω')}, from {shown(rail, 'V')}."
    )
    upper = by_design(_resistor, "Gate bias, to the rail", made.upper, rail - made.highest, least)
    yield Fitted("R", "gate_bias_upper", upper)
    yield Fitted("RV", "gate_bias_trimmer", by_design(_trimmer, made, rail, part.bias_voltage))
    lower = by_design(_resistor, "Gate bias, to 0 V", made.lower, made.highest, source)
    yield Fitted("R", "gate_bias_lower", lower)


def _trimmer(made: TrimmedBias, rail: float, voltage: float) -> Wanted:
    most = rail - made.lowest
    return Wanted(
        "Trimmer of the gate bias", made.trimmer, "Ω",
        kind="several turns, as a variable resistor", family="potentiometer",
        needs=[requirement("power", most**2 / made.trimmer, "W")],
        why=f"Thresholds spread by {shown(BIAS_SPREAD, 'V')} either way. Begin at its full "
        f"resistance, {shown(made.lowest, 'V', digits=2)} at the gate. With the main supply at its "
        "first stage and its current limit set, turn slowly until the stage just begins to "
        "oscillate, then no more than 0.1 V further; go back at once if it draws current and does "
        f"not oscillate. The design expects {shown(voltage, 'V', digits=2)}, at about "
        f"{shown(made.setting, 'Ω', digits=2)}. Set again after every change of the transistor.",
    )  # fmt: skip
