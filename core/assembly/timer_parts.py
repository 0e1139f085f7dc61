"""Parts of the interrupter and of what stands between it and the drive."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from burstwise.core.assembly.low_voltage_parts import low_rail
from burstwise.core.assembly.part import Fitted, Wanted, by_design, exactly, heated, requirement
from burstwise.core.design.document import Design
from burstwise.core.design.interrupter import BufferStage, IndicatorLamp, TimerParts
from burstwise.core.interrupter.chain_report import SWITCH_RESISTANCE, chain_sizes
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
_TIMES: Final = "Sets the timing; tolerance counts."


def fitted_interrupter(design: Design) -> Iterator[Fitted[object]]:
    """Timer, its timing parts, buffer and lamp, where an interrupter is fitted."""
    part = design.interrupter
    if not part.enabled:
        return
    if part.given_by == "parts":
        yield from _timer_parts(part.parts)
    else:
        yield Fitted("U", "timer", by_design(_pulse_source, design))
    if part.chain.buffer is not None:
        yield Fitted("Q", "buffer", by_design(_buffer, design, part.chain.buffer))
        yield Fitted("R", "buffer_collector", by_design(_collector, design, part.chain.buffer))
        yield Fitted("R", "buffer_base", by_design(_base, design))
    if part.chain.indicator is not None:
        yield Fitted("R", "indicator_resistor", by_design(_indicator_resistor, design))
        yield Fitted("D", "indicator", by_design(_indicator, part.chain.indicator))
    if design.drive.kind == "gated" and part.chain.gating == "supply":
        yield Fitted("U", "supply_switch", by_design(_supply_switch, low_rail(design)))


def _timer_parts(parts: TimerParts) -> Iterator[Fitted[object]]:
    circuit = circuit_named(parts.circuit)
    names = ("timer", "pulse_timer")[: circuit.timers]
    for name in names:
        yield Fitted("U", name, by_design(_timer, parts, name))
    for role in circuit.roles:
        value = float(getattr(parts, role))
        if value > 0:
            letter, make = next(of for ending, of in _TIMING.items() if role.endswith(ending))
            yield Fitted(letter, role, by_design(make, parts, role, value))
    for index in range(circuit.diodes):
        yield Fitted("D", f"steering_diode_{index + 1}", by_design(_steering_diode, parts))
    for name in names:
        yield Fitted("C", f"{name}_control", by_design(_control, parts))
        yield Fitted("C", f"{name}_decoupling", by_design(_decoupling, parts))


def _pulse_source(design: Design) -> Wanted:
    timer = resolved_interrupter(design)
    return Wanted(
        "Interrupter",
        family="pulse source",
        kind=f"pulse source, {shown(timer.frequency, 'Hz')}, {shown(timer.duty, '%')} on",
        why="The design gives the interrupter by its numbers; choose timer parts on the "
        "interrupter screen to have them listed here.",
    )  # fmt: skip


def _timer(parts: TimerParts, name: str) -> Wanted:
    return Wanted(
        "Timer" if name == "timer" else "Timer of the on-time",
        kind=f"{'CMOS' if parts.timer == 'cmos' else 'bipolar'} 555-type timer",
        family="timer",
        needs=[exactly("supply voltage", parts.supply, "V")],
        why=f"Circuit: {circuit_named(parts.circuit).label}.",
    )  # fmt: skip


def _capacitor(parts: TimerParts, role: str, farad: float) -> Wanted:
    return Wanted(
        _TITLES[role], farad, "F",
        family=f"timing capacitor, {getattr(parts, f'{role}_kind', 'film')}",
        tolerance=getattr(parts, f"{role}_tolerance", 0.05),
        needs=[requirement("voltage", parts.supply, "V")],
        why=_TIMES,
    )  # fmt: skip


def _potentiometer(parts: TimerParts, role: str, ohms: float) -> Wanted:
    return Wanted(
        _TITLES[role], ohms, "Ω",
        kind="linear track, insulated spindle",
        family="potentiometer", tolerance=parts.potentiometer_tolerance,
        needs=[requirement("power", parts.supply**2 / ohms, "W")],
        why=_TIMES,
    )  # fmt: skip


def _resistor(parts: TimerParts, role: str, ohms: float) -> Wanted:
    return Wanted(
        _TITLES[role], ohms, "Ω",
        family="resistor", tolerance=parts.resistor_tolerance,
        needs=[heated(parts.supply**2 / ohms)],
        why=_TIMES,
    )  # fmt: skip


_TIMING: Final = {
    "capacitor": ("C", _capacitor),
    "potentiometer": ("RV", _potentiometer),
    "resistor": ("R", _resistor),
}
"""Letter and maker of a timing part by how its role ends."""


def _steering_diode(parts: TimerParts) -> Wanted:
    return Wanted(
        "Steering diode" if circuit_named(parts.circuit).steered else "Trigger diode",
        kind="small silicon" if parts.diode == "silicon" else "small Schottky",
        family="timer diode",
        needs=[requirement("reverse voltage", parts.supply, "V")],
        why="Its drop counts in the timing.",
    )  # fmt: skip


def _control(parts: TimerParts) -> Wanted:
    return Wanted(
        "Filter at the control pin", CONTROL_FILTER, "F",
        family="ceramic capacitor", tolerance=0.20,
        needs=[requirement("voltage", parts.supply, "V")],
        why="Keeps the carrier out of the levels; common practice, no source.",
    )  # fmt: skip


def _decoupling(parts: TimerParts) -> Wanted:
    return Wanted(
        "Decoupling at the timer", 100e-9, "F",
        family="ceramic capacitor", tolerance=0.10,
        needs=[requirement("voltage", parts.supply, "V")],
        why="Beside the timer's supply pin; common practice, no source.",
    )  # fmt: skip


def _buffer(design: Design, part: BufferStage) -> Wanted:
    found = chain_sizes(design).buffer
    current = low_rail(design) / part.collector_resistor
    if found is not None:
        current = found.collector_current
    return Wanted(
        "Inverting buffer",
        family="transistor, npn",
        needs=[requirement("collector current", current, "A")],
        why=f"Gain of at least {part.smallest_gain:g}.",
    )  # fmt: skip


def _collector(design: Design, part: BufferStage) -> Wanted:
    return Wanted(
        "Collector resistor of the buffer", part.collector_resistor, "Ω",
        family="resistor", tolerance=0.05,
        needs=[heated(low_rail(design) ** 2 / part.collector_resistor)],
        why="Pulls the driver's side up while the transistor is off.",
    )  # fmt: skip


def _base(design: Design) -> Wanted:
    found = chain_sizes(design).buffer
    heat = 0.0 if found is None else found.base_current**2 * found.base_resistor
    return Wanted(
        "Base resistor of the buffer", None if found is None else found.base_resistor, "Ω",
        family="resistor", tolerance=0.05,
        needs=[heated(heat)],
        why=_NO_VALUE
        if found is None
        else f"Saturates the transistor with {found.overdrive:.2g} times the least base current.",
    )  # fmt: skip


def _indicator_resistor(design: Design) -> Wanted:
    lamp = chain_sizes(design).indicator
    return Wanted(
        "Resistor of the indicator", None if lamp is None else lamp.resistor, "Ω",
        family="resistor", tolerance=0.05,
        needs=[heated(0.0 if lamp is None else lamp.resistor_power)],
        why=_NO_VALUE if lamp is None else f"Lets {shown(lamp.current, 'A')} flow.",
    )  # fmt: skip


def _indicator(lamp: IndicatorLamp) -> Wanted:
    return Wanted(
        "Indicator", lamp.forward_voltage, "V",
        family="lamp", kind="LED",
        why="Follows the timer's output.",
    )  # fmt: skip


def _supply_switch(rail: float) -> Wanted:
    return Wanted(
        "Switch in the driver's supply",
        kind="high-side load switch, on when its input is high",
        family="supply switch",
        needs=[
            requirement("supply voltage", rail, "V"),
            requirement("inrush", rail / SWITCH_RESISTANCE, "A"),
        ],
        why="Feeds the driver in the on-time; the inrush fills the driver's decoupling "
        f"through {shown(SWITCH_RESISTANCE, 'Ω')}.",
    )  # fmt: skip
