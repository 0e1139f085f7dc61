"""Parts of the supply of timer and driver."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import partial

from burstwise.core.assembly.part import (
    Fitted,
    Part,
    Wanted,
    by_design,
    exactly,
    heated,
    requirement,
)
from burstwise.core.design.document import Design
from burstwise.core.design.supply import LowVoltageSupply
from burstwise.core.evaluate.chain import chain_of
from burstwise.core.evaluate.results import Results
from burstwise.core.units import shown


def low_rail(design: Design) -> float:
    """Low-voltage rail of the design [V]: its own supply's, else the driver's or the timer's."""
    if design.supply.low_voltage is not None:
        return design.supply.low_voltage.output
    if design.drive.kind == "gated":
        return design.drive.gated.driver_supply
    return max(design.interrupter.parts.supply, design.drive.direct.bias_voltage)


def fitted_low_voltage(design: Design) -> Iterator[Fitted[Results]]:
    """Parts of the supply of timer and driver, where anything needs it."""
    part = design.supply.low_voltage
    if not _fed(design):
        return
    if part is None or part.kind == "separate":
        yield Fitted("G", "low_supply", by_design(_low_supply, design))
        return
    if part.kind == "regulator":
        yield Fitted("U", "regulator", by_design(_regulator, part, design.supply.voltage))
    else:
        yield Fitted("R", "zener_resistor", partial(_zener_resistor, part))
        yield Fitted("D", "zener", partial(_zener, part))
    yield Fitted("C", "low_output", by_design(_low_output, part))


def low_voltage_fitted(parts: Mapping[str, Part]) -> bool:
    """Whether there is a low voltage.

    Parameters
    ----------
    parts : mapping
        Parts of a design by role.
    """
    return "low_supply" in parts or made_from_main(parts)


def made_from_main(parts: Mapping[str, Part]) -> bool:
    """Whether the low voltage is made from the main supply.

    Parameters
    ----------
    parts : mapping
        Parts of a design by role.
    """
    return "regulator" in parts or "zener" in parts


def _fed(design: Design) -> list[str]:
    """What runs from the low-voltage supply."""
    drive = design.drive
    asked = {
        "the gate driver": drive.kind == "gated",
        "the interrupter": design.interrupter.enabled,
        "the gate bias": drive.kind == "direct" and drive.direct.bias_voltage > 0,
    }
    return [words for words, needed in asked.items() if needed]


def _low_supply(design: Design) -> Wanted:
    part = design.supply.low_voltage
    return Wanted(
        "Low-voltage supply", low_rail(design), "V",
        family="low-voltage supply",
        needs=[exactly("current", 0.1 if part is None else part.current_limit, "A")],
        why=f"Feeds {' and '.join(_fed(design))}.",
    )  # fmt: skip


def _regulator(part: LowVoltageSupply, main: float) -> Wanted:
    return Wanted(
        "Regulator of the low voltage", part.output, "V",
        family="linear regulator",
        needs=[requirement("input voltage", main, "V")],
        why=f"From the main supply; rated input {shown(part.input_limit, 'V')}, "
        f"drop-out {shown(part.dropout, 'V')}, on a heat sink of at most "
        f"{shown(part.thermal_resistance, 'K/W')} junction to air.",
    )  # fmt: skip


def _zener_resistor(part: LowVoltageSupply, results: Results) -> Wanted:
    report = chain_of(results)
    sized = report.low_supply
    return Wanted(
        "Series resistor of the Zener supply",
        None if sized is None else sized.series_resistor, "Ω",
        family="resistor", wound_does_no_harm=True, tolerance=0.05,
        needs=[] if sized is None else [heated(sized.resistor_dissipation)],
        why=f"Sized for a load of {shown(report.low_load_burst, 'A', digits=3)} within a burst "
        f"beside the least Zener current of {shown(part.least_zener_current, 'A')}.",
    )  # fmt: skip


def _zener(part: LowVoltageSupply, results: Results) -> Wanted:
    sized = chain_of(results).low_supply
    return Wanted(
        "Zener diode of the low voltage", part.output, "V",
        family="Zener diode", tolerance=part.tolerance,
        needs=[] if sized is None else [requirement("power", sized.dissipation, "W")],
        why="Takes the load's current when there is no load.",
    )  # fmt: skip


def _low_output(part: LowVoltageSupply) -> Wanted:
    return Wanted(
        "Capacitor at the low-voltage output", 10e-6, "F",
        family="ceramic capacitor", tolerance=0.20,
        needs=[requirement("voltage", part.output, "V")],
        why="Common practice, no source.",
    )  # fmt: skip
