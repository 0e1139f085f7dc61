"""Parts between the secondary's base and the gate, for both kinds of drive."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from core.assembly.part import Part, PartsBook, Requirement, requirement
from core.assembly.stage_parts import loss
from core.design.document import Design
from core.design.drive import DirectDrive, GatedDrive
from core.evaluate.results import Results
from core.series import nearest_value
from core.units import percent, shown

_ONE_DIODE: Final = 1.5
"""Negative clamp voltage up to which one diode makes it [V]."""
_SMALL_SIGNAL: Final = 0.25


@dataclass(frozen=True, slots=True)
class Divider:
    """Two resistors from a rail to 0 V that stand for a bias source.

    `upper` or `lower` is None where one resistor alone does it.
    """

    upper: float | None
    lower: float | None
    voltage: float
    resistance: float


def bias_divider(rail: float, voltage: float, *, resistance: float, series: str = "E24") -> Divider:
    """Divider of preferred values nearest to a bias source.

    ``Ru = R V/Vb``, ``Rl = R V/(V - Vb)`` with the rail V and the open-circuit voltage Vb; from
    Thevenin's theorem.

    Parameters
    ----------
    rail, voltage : float
        Rail and wanted open-circuit voltage [V].
    resistance : float
        Wanted source resistance [ohm].
    series : str
        E series.

    Examples
    --------
    >>> bias_divider(12.0, 5.0, resistance=10e3)
    Divider(upper=24000.0, lower=18000.0, voltage=5.142857142857143, resistance=10285.714285714286)
    >>> bias_divider(12.0, 0.0, resistance=10e3).upper is None
    True
    """
    if voltage <= 0.0:
        lower = nearest_value(resistance, series=series)
        return Divider(None, lower, 0.0, lower)
    if voltage >= rail:
        upper = nearest_value(resistance, series=series)
        return Divider(upper, None, rail, upper)
    upper = nearest_value(resistance * rail / voltage, series=series)
    lower = nearest_value(resistance * rail / (rail - voltage), series=series)
    total = upper + lower
    return Divider(upper, lower, rail * lower / total, upper * lower / total)


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
    _bias(book, results, "gate", part.bias_voltage, part.bias_resistance)
    if part.clamp_fitted:
        heat = loss(results, "gate_clamp")
        _clamps(book, "gate", part.clamp_high, part.clamp_low, heat)
    if results.design.interrupter.enabled:
        book.add(
            "pull_down", "Pull-down of the interrupter", None, "",
            kind="small n-channel MOSFET, logic level",
            needs=[
                requirement(
                    "voltage",
                    max(float(results.load.gate_peak), part.clamp_high * part.clamp_fitted),
                    "V",
                ),
                Requirement(
                    "peak current", part.pull_down_current_rating, "A",
                    part.pull_down_current_rating,
                ),
            ],
            why=f"Holds the gate down in the off-time; on-resistance at most "
            f"{shown(part.pull_down_resistance, 'Ω')}.",
        )  # fmt: skip


def _gated(book: PartsBook, results: Results, part: GatedDrive) -> None:
    design = results.design
    frequency = results.carrier.frequency
    book.add(
        "driver", "Gate driver", None, "",
        kind=f"{'inverting' if part.inverting else 'non-inverting'} gate driver with enable",
        needs=[
            requirement("supply voltage", part.driver_supply, "V"),
            Requirement(
                "peak current", part.peak_current_rating, "A", part.peak_current_rating
            ),
        ],
        why=f"Delay at most {shown(part.propagation_delay, 's')} "
        f"({percent(part.propagation_delay * frequency, decimals=1)} of a carrier cycle), "
        f"lockout at {shown(part.undervoltage_lockout, 'V')}, input thresholds "
        f"{shown(part.input_threshold_low, 'V')} and {shown(part.input_threshold_high, 'V')}.",
    )  # fmt: skip
    book.add(
        "driver_decoupling", "Decoupling at the driver",
        design.interrupter.chain.decoupling, "F",
        kind="ceramic X7R beside the driver's pins", tolerance=0.10,
        needs=[requirement("voltage", part.driver_supply, "V")],
        why=f"Gives the gate charge of {shown(design.device.gate_charge, 'C')} in each edge.",
    )  # fmt: skip
    if part.gate_resistor > 0:
        book.add(
            "gate_resistor", "Gate resistor", part.gate_resistor, "Ω",
            kind="film, low inductance", tolerance=0.05,
            needs=[requirement("power", max(loss(results, "gate_drive"), 0.05), "W")],
            why="Damps the gate loop; rated as if it took all of the gate's power.",
        )  # fmt: skip
    _bias(book, results, "input", part.input_bias, part.input_bias_resistance)
    heat = loss(results, "input_clamp")
    _clamps(book, "input", part.input_clamp_high, part.input_clamp_low, heat)


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
                kind="metal film", tolerance=0.01,
                needs=[Requirement("power", max(2 * heat, _SMALL_SIGNAL), "W", heat)],
                why=why,
            )  # fmt: skip


def _clamps(book: PartsBook, where: str, high: float, low: float, heat: float) -> Part:
    """Positive clamp by a Zener diode, negative one by a diode or a second Zener diode."""
    name = "Gate" if where == "gate" else "Driver input"
    positive = book.add(
        f"{where}_clamp_high", f"{name} clamp, positive", high, "V",
        kind="Zener diode", tolerance=0.05,
        needs=[requirement("power", heat, "W")],
        why="Carries the base current's surplus; rated as if it took the heat of both clamps.",
    )  # fmt: skip
    small = low <= _ONE_DIODE
    book.add(
        f"{where}_clamp_low", f"{name} clamp, negative", low, "V",
        kind="fast switching or Schottky diode" if small else "Zener diode",
        tolerance=None if small else 0.05,
        needs=[requirement("power", heat, "W")],
        why="Rated as if it took the heat of both clamps.",
    )  # fmt: skip
    return positive
