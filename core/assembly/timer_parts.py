"""Parts of the interrupter, of what stands between it and the drive, and of the low supply."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

from burstwise.core.assembly.drive_parts import low_rail
from burstwise.core.assembly.part import Part, PartsBook, exactly, heated, requirement
from burstwise.core.assembly.references import low_voltage_needed, references, switched_supply
from burstwise.core.design.document import Design
from burstwise.core.design.interrupter import BufferStage, DriveChain, TimerParts
from burstwise.core.evaluate.chain import chain_of
from burstwise.core.evaluate.results import Results
from burstwise.core.interrupter.chain_report import SWITCH_RESISTANCE, ChainSizes, chain_sizes
from burstwise.core.interrupter.circuits import circuit_named
from burstwise.core.interrupter.resolve import resolved_interrupter
from burstwise.core.units import shown

_TITLES: Final = {
    "charge_resistor": "Charge resistor",
    "discharge_resistor": "Discharge resistor",
    "potentiometer": "Potentiometer of the duty or on-time knob",
    "frequency_potentiometer": "Potentiometer of the frequency knob",
    "timing_capacitor": "Timing capacitor",
    "pulse_resistor": "Resistor of the on-time cap",
    "pulse_capacitor": "Capacitor of the on-time cap",
    "trigger_resistor": "Trigger resistor",
    "trigger_capacitor": "Trigger capacitor",
}
CONTROL_FILTER: Final = 10e-9
"""Capacitor at a timer's control pin [F]."""
_NO_VALUE: Final = "No value works with these levels; see the findings of the drive chain."


def add_interrupter(book: PartsBook, design: Design) -> None:
    """Add timer, its timing parts, buffer and lamp, where an interrupter is fitted."""
    part = design.interrupter
    if not part.enabled:
        return
    if part.given_by == "parts":
        _timer(book, part.parts)
    else:
        timer = resolved_interrupter(design)
        book.add(
            "timer", "Interrupter", None, "",
            family="pulse source",
            kind=f"pulse source, {shown(timer.frequency, 'Hz')}, {shown(timer.duty, '%')} on",
            why="The design gives the interrupter by its numbers; choose timer parts on the "
            "interrupter screen to have them listed here.",
        )  # fmt: skip
    _chain(book, design, part.chain)


def interrupter_parts(design: Design) -> Mapping[str, Part]:
    """Parts of an interrupter by role, from the design alone: no operating point asks for them.

    Their references are those of the whole list of parts.
    """
    book = PartsBook(references(design), ambient=design.cooling.ambient)
    add_interrupter(book, design)
    return {part.role: part for part in book.parts}


def _timer(book: PartsBook, parts: TimerParts) -> None:
    circuit = circuit_named(parts.circuit)
    names = ["timer", "pulse_timer"][: circuit.timers]
    for name in names:
        book.add(
            name, "Timer" if name == "timer" else "Timer of the on-time", None, "",
            kind=f"{'CMOS' if parts.timer == 'cmos' else 'bipolar'} 555-type timer",
            family="timer",
            needs=[exactly("supply voltage", parts.supply, "V")],
            why=f"Circuit: {circuit.label}.",
        )  # fmt: skip
    for role in circuit.roles:
        value = float(getattr(parts, role))
        if value > 0:
            _timing_part(book, parts, role, value)
    for index in range(circuit.diodes):
        book.add(
            f"steering_diode_{index + 1}",
            "Steering diode" if circuit.steered else "Trigger diode", None, "",
            kind="small silicon" if parts.diode == "silicon" else "small Schottky",
            family="timer diode",
            needs=[requirement("reverse voltage", parts.supply, "V")],
            why="Its drop counts in the timing.",
        )  # fmt: skip
    for name in names:
        book.add(
            f"{name}_control", "Filter at the control pin", CONTROL_FILTER, "F",
            family="ceramic capacitor", tolerance=0.20,
            needs=[requirement("voltage", parts.supply, "V")],
            why="Keeps the carrier out of the levels; common practice, no source.",
        )  # fmt: skip
        book.add(
            f"{name}_decoupling", "Decoupling at the timer", 100e-9, "F",
            family="ceramic capacitor", tolerance=0.10,
            needs=[requirement("voltage", parts.supply, "V")],
            why="Beside the timer's supply pin; common practice, no source.",
        )  # fmt: skip


def _timing_part(book: PartsBook, parts: TimerParts, role: str, value: float) -> None:
    told: dict[str, Any]
    if role.endswith("capacitor"):
        kind = getattr(parts, f"{role}_kind", "film")
        tolerance = getattr(parts, f"{role}_tolerance", 0.05)
        told = {
            "family": f"timing capacitor, {kind}",
            "tolerance": tolerance,
            "needs": [requirement("voltage", parts.supply, "V")],
        }
    elif role.endswith("potentiometer"):
        told = {
            "kind": "linear track, insulated spindle",
            "family": "potentiometer",
            "tolerance": parts.potentiometer_tolerance,
            "needs": [requirement("power", parts.supply**2 / value, "W")],
        }
    else:
        told = {
            "family": "resistor",
            "tolerance": parts.resistor_tolerance,
            "needs": [heated(parts.supply**2 / value)],
        }
    unit = "F" if role.endswith("capacitor") else "Ω"
    book.add(role, _TITLES[role], value, unit, why="Sets the timing; tolerance counts.", **told)


def _chain(book: PartsBook, design: Design, chain: DriveChain) -> None:
    sizes = chain_sizes(design)
    rail = low_rail(design)
    if chain.buffer is not None:
        _buffer(book, chain.buffer, sizes, rail)
    if chain.indicator is not None:
        lamp = sizes.indicator
        heat = 0.0 if lamp is None else lamp.resistor_power
        book.add(
            "indicator_resistor", "Resistor of the indicator",
            None if lamp is None else lamp.resistor, "Ω", family="resistor", tolerance=0.05,
            needs=[heated(heat)],
            why=_NO_VALUE if lamp is None else f"Lets {shown(lamp.current, 'A')} flow.",
        )  # fmt: skip
        book.add(
            "indicator", "Indicator", chain.indicator.forward_voltage, "V",
            family="lamp", kind="LED", why="Follows the timer's output.",
        )  # fmt: skip
    if switched_supply(design):
        book.add(
            "supply_switch", "Switch in the driver's supply", None, "",
            kind="high-side load switch, on when its input is high",
            family="supply switch",
            needs=[
                requirement("supply voltage", rail, "V"),
                requirement("inrush", rail / SWITCH_RESISTANCE, "A"),
            ],
            why="Feeds the driver in the on-time; the inrush fills the driver's decoupling "
            f"through {shown(SWITCH_RESISTANCE, 'Ω')}.",
        )  # fmt: skip


def _buffer(book: PartsBook, part: BufferStage, sizes: ChainSizes, rail: float) -> None:
    found = sizes.buffer
    current = rail / part.collector_resistor if found is None else found.collector_current
    book.add(
        "buffer", "Inverting buffer", None, "", family="transistor, npn",
        needs=[requirement("collector current", current, "A")],
        why=f"Gain of at least {part.smallest_gain:g}.",
    )  # fmt: skip
    heat = rail**2 / part.collector_resistor
    book.add(
        "buffer_collector", "Collector resistor of the buffer", part.collector_resistor, "Ω",
        family="resistor", tolerance=0.05,
        needs=[heated(heat)],
        why="Pulls the driver's side up while the transistor is off.",
    )  # fmt: skip
    heat = 0.0 if found is None else found.base_current**2 * found.base_resistor
    book.add(
        "buffer_base", "Base resistor of the buffer",
        None if found is None else found.base_resistor, "Ω", family="resistor", tolerance=0.05,
        needs=[heated(heat)],
        why=_NO_VALUE
        if found is None
        else f"Saturates the transistor with {found.overdrive:.2g} times the least base current.",
    )  # fmt: skip


def add_low_voltage(book: PartsBook, results: Results) -> None:
    """Add the supply of timer and driver, where anything needs it."""
    design = results.design
    rail = low_rail(design)
    if not low_voltage_needed(design):
        return
    part = design.supply.low_voltage
    if part is None or part.kind == "separate":
        limit = 0.1 if part is None else part.current_limit
        book.add(
            "low_supply", "Low-voltage supply", rail, "V",
            family="low-voltage supply",
            needs=[exactly("current", limit, "A")],
            why="Feeds " + _fed(results) + ".",
        )  # fmt: skip
        return
    if part.kind == "regulator":
        book.add(
            "regulator", "Regulator of the low voltage", rail, "V",
            family="linear regulator",
            needs=[requirement("input voltage", design.supply.voltage, "V")],
            why=f"From the main supply; rated input {shown(part.input_limit, 'V')}, "
            f"drop-out {shown(part.dropout, 'V')}, on a heat sink of at most "
            f"{shown(part.thermal_resistance, 'K/W')} junction to air.",
        )  # fmt: skip
    else:
        report = chain_of(results)
        sized = report.low_supply
        book.add(
            "zener_resistor", "Series resistor of the Zener supply",
            None if sized is None else sized.series_resistor, "Ω",
            family="resistor", wound_does_no_harm=True, tolerance=0.05,
            needs=[] if sized is None else [heated(sized.resistor_dissipation)],
            why=f"Sized for a load of {shown(report.low_load_burst, 'A', digits=3)} within a burst "
            f"beside the least Zener current of {shown(part.least_zener_current, 'A')}.",
        )  # fmt: skip
        book.add(
            "zener", "Zener diode of the low voltage", rail, "V", family="Zener diode",
            tolerance=part.tolerance,
            needs=[] if sized is None else [requirement("power", sized.dissipation, "W")],
            why="Takes the load's current when there is no load.",
        )  # fmt: skip
    book.add(
        "low_output", "Capacitor at the low-voltage output", 10e-6, "F",
        family="ceramic capacitor", tolerance=0.20,
        needs=[requirement("voltage", rail, "V")],
        why="Common practice, no source.",
    )  # fmt: skip


def _fed(results: Results) -> str:
    design = results.design
    fed = []
    if design.drive.kind == "gated":
        fed.append("the gate driver")
    if design.interrupter.enabled:
        fed.append("the interrupter")
    if design.drive.kind == "direct" and design.drive.direct.bias_voltage > 0:
        fed.append("the gate bias")
    return " and ".join(fed)
