"""The stage as a SPICE netlist, so that any general simulator can check it.

Only R, C, L, K, V, B, E, F, S and T elements are used. Every two-terminal part comes from the same
lists as in the engine; the equations are made by the simulator. A capacitance that falls with
voltage is a linear capacitor behind a source that follows its charge. What switches with the drive
level is a switch, the driver's input a switch with hysteresis, its delay a matched line. What a
slow input adds to the delay is held at the crossing and waited for by a ramp.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import Final

from burstwise.core.stage.circuit import CoilValues, GatedFeed, StageCircuit
from burstwise.core.stage.elements import (
    GROUND,
    Charge,
    Element,
    Resistor,
    base_node,
    capacitors_of,
    charges_of,
    die_node,
    elements_of,
    resistors_of,
    source_node,
)
from burstwise.core.stage.netlist_drive import AERIAL_METER, FOOT_METER, drive_lines
from burstwise.core.stage.netlist_text import OPEN, across, line, number, plain

STEPS_PER_CYCLE: Final = 1000
"""Longest step of the simulator as a part of the secondary's period."""
OPTIONS: Final = "reltol=1e-5 abstol=1e-9 vntol=1e-5 chgtol=1e-13"
"""Tolerances; the usual ones are 1 to 2 % off, and smaller ones of charge make a run stop."""
_LAG: Final = 0.02
"""Time constant of a charge that follows a voltage, as a part of the longest step."""
_TERMINAL: Final = "device"
"""The device's own drain, behind the meter of its current."""


def netlist_of(
    circuit: StageCircuit,
    *,
    duration: float,
    title: str,
    on_time: float = math.inf,
    steps_per_cycle: float = STEPS_PER_CYCLE,
    notes: Iterable[str] = (),
) -> str:
    """Netlist of a stage that is enabled at rest, at time zero.

    Parameters
    ----------
    circuit : StageCircuit
        The stage.
    duration : float
        Time to simulate [s].
    title : str
        First line of the text.
    on_time : float
        Time after which the drive is held down again [s].
    steps_per_cycle : float
        Longest step of the simulator as a part of the secondary's period.
    notes : iterable of str
        Lines of comment below it.

    Returns
    -------
    str
        Netlist with its analysis, in SI units. Nodes ``vds`` and ``vgs`` are the device's voltages,
        ``i(Vdrain)`` is its current and ``-i(Vsupply)`` that of the supply.
    """
    step = 1.0 / (circuit.coil.resonance * steps_per_cycle)
    lines = [f"* {plain(text)}" for text in (title, *notes)]
    lines += ["", "* Supply and coil", line("Vsupply", "supply", GROUND, circuit.supply_voltage)]
    lines += _coil(circuit)
    lines += ["", "* Device, clamps and breakout"]
    lines += _device(circuit, step)
    lines += ["", "* Drive and resistors"]
    lines += drive_lines(circuit, step, on_time)
    lines += _transformer(circuit)
    lines += _resistors(circuit)
    lines += [
        "",
        f".options {OPTIONS}",
        f".tran {number(step)} {number(duration)} 0 {number(step)}",
        ".end",
        "",
    ]
    return "\n".join(lines)


def _coil(circuit: StageCircuit) -> list[str]:
    """Coupled windings; swapped ends of the secondary turn the sense round."""
    coil = circuit.coil
    ratio, base, feed = circuit.base_ratio, base_node(circuit), circuit.feed
    metered = isinstance(feed, GatedFeed) and feed.slew_counts
    foot = "foot" if metered or ratio != 1.0 else base
    # Rising currents from supply to drain and from top to base oppose each other, unless reversed.
    ends = ("winding", foot) if circuit.reversed_sense else (foot, "winding")
    lines = [
        line("Rprimary", "supply", "lead", coil.primary_resistance),
        *_primary(coil),
        line("Rsecondary", "top", "winding", coil.secondary_resistance),
        line("Lsecondary", *ends, coil.secondary_inductance),
        f"Kcoil Lprimary Lsecondary {number(coil.loop_coupling)}",
    ]
    if ratio != 1.0:
        # The current at the foot of a distributed winding, or a current transformer's, without
        # loss of energy.
        return [
            *lines,
            line(FOOT_METER, "foot", "lifted", 0.0),
            f"Efoot lifted 0 {base} 0 {number(ratio)}",
            f"Ffoot 0 {base} {FOOT_METER} {number(ratio)}",
        ]
    return [*lines, line(FOOT_METER, "foot", base, 0.0)] if metered else lines


def _primary(coil: CoilValues) -> list[str]:
    """Primary and its leads as one inductor: a node between two makes a simulator stop."""
    one = line("Lprimary", "lead", "drain", coil.loop_inductance)
    if coil.lead_inductance == 0.0:
        return [one]
    parts = f"{number(coil.primary_inductance)} H and leads of {number(coil.lead_inductance)} H"
    return [f"* Lprimary is a winding of {parts}; the coupling is that of both.", one]


def _device(circuit: StageCircuit, step: float) -> list[str]:
    switch, source = circuit.switch, die_node(circuit)
    forward, reverse = across("gate", source), across("gate", _TERMINAL)
    ohmic = f"{across(_TERMINAL, source)}/{number(switch.on_resistance)}"
    gain, threshold = number(switch.transconductance), number(switch.threshold)
    law = (
        f"I=max(min({ohmic},{gain}*max({forward}-{threshold},0)),"
        f"-{gain}*max({reverse}-{threshold},0))"
    )
    below = "0" if source == GROUND else source
    lines = [
        line("Vdrain", "drain", _TERMINAL, 0.0),
        line("Bchannel", _TERMINAL, source, law),
        f"Evds vds 0 {_TERMINAL} {below} 1",
        f"Evgs vgs 0 gate {below} 1",
    ]
    if circuit.lifted:
        lines.append(line("Lsource", source, source_node(circuit), circuit.source_inductance))
    lines += [_element(element) for element in elements_of(circuit)]
    for start, end, farad in capacitors_of(circuit):
        metered = (start, end) == ("top", "input")
        lines.append(line(f"C{start}_{end}", start, "aerial" if metered else end, farad))
        if metered:
            lines.append(line(AERIAL_METER, "aerial", end, 0.0))
    for charge in charges_of(circuit):
        lines += _charge(charge, step)
    return lines


def _element(element: Element) -> str:
    """Piecewise-linear current, written as what each break adds to the segment in the middle."""
    start = _TERMINAL if element.name == "device" else element.start
    volts = across(start, element.end)
    low, middle, high = element.conductance
    terms = [] if middle == 0.0 else [f"{number(middle)}*{volts}+({number(element.offset[1])})"]
    if not math.isinf(element.high):
        terms.append(f"{number(high - middle)}*max({volts}-({number(element.high)}),0)")
    if not math.isinf(element.low):
        terms.append(f"{number(low - middle)}*min({volts}-({number(element.low)}),0)")
    return line(f"B{element.name}", start, element.end, f"I={'+'.join(terms) or '0'}")


def _charge(charge: Charge, step: float) -> list[str]:
    """Capacitor of the highest segment, and what each knot below adds as a charge that follows.

    The charge stands on a capacitor of its own, whose current flows in the circuit as well. A small
    resistance keeps that current finite where the charge bends.
    """
    law, name = charge.law, f"{charge.start}_{charge.end}"
    ends, last = (_TERMINAL, charge.end), law.farads[-1]
    lines = [] if last == 0.0 else [line(f"C{name}", *ends, last)]
    if not law.knots:
        return lines
    volts, size = across(*ends), max(law.farads)
    terms = [
        f"({number((below - above) / size)})*min({volts}-({number(knot)}),0)"
        for knot, below, above in zip(law.knots, law.farads[:-1], law.farads[1:], strict=True)
    ]
    return [
        *lines,
        line(f"Bq_{name}", f"q_{name}", GROUND, f"V={'+'.join(terms)}"),
        line(f"Vq_{name}", f"q_{name}", f"r_{name}", 0.0),
        line(f"Rq_{name}", f"r_{name}", f"c_{name}", _LAG * step / size),
        line(f"Cq_{name}", f"c_{name}", GROUND, size),
        line(f"Fq_{name}", *ends, f"Vq_{name} 1"),
    ]


def _transformer(circuit: StageCircuit) -> list[str]:
    """Winding of a current transformer, beside its burden."""
    feed = circuit.feed
    if not (isinstance(feed, GatedFeed) and circuit.magnetised):
        return []
    return [
        line("Vcold", "cold", GROUND, feed.bias_voltage),
        line("Ltransformer", "input", "cold", feed.inductance),
    ]


def _resistors(circuit: StageCircuit) -> list[str]:
    """Resistors; those that hang on the drive level sit behind a switch."""
    levels = [resistors_of(circuit, level) for level in (0, 1)]
    lines: list[str] = []
    for level, parts in enumerate(levels):
        for part in parts:
            if part in levels[1 - level]:
                lines += _resistor(part) if level == 0 else []
            else:
                lines += _switched(part, level)
    return lines


def _resistor(part: Resistor) -> list[str]:
    lines, end = _behind(part, part.name)
    return [*lines, line(f"R{part.name}", part.start, end, 1.0 / part.conductance)]


def _switched(part: Resistor, level: int) -> list[str]:
    name = f"{part.name}_{'high' if level else 'low'}"
    lines, end = _behind(part, name)
    control = "level half" if level else "half level"
    rest = "OFF" if level else "ON"
    return [
        *lines,
        line(f"S{name}", part.start, end, f"{control} {name} {rest}"),
        f".model {name} SW(vt=0 vh=0 ron={number(1.0 / part.conductance)} roff={OPEN:g})",
    ]


def _behind(part: Resistor, name: str) -> tuple[list[str], str]:
    """Source of the fixed voltage behind a resistor, and the node that the resistor ends at."""
    if part.fixed == 0.0:
        return [], part.end
    if part.name == "reservoir_bleed":
        return [], "supply"
    return [line(f"V{name}", f"{name}_rail", part.end, part.fixed)], f"{name}_rail"
