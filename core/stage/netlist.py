"""The stage as a SPICE netlist, so that any general simulator can check it.

Only R, C, L, K, V, B, E, F, S and T elements are used. Every two-terminal part comes from the same
lists as in the engine; the equations are made by the simulator. A capacitance that falls with
voltage is a linear capacitor behind a source that follows its charge. What switches with the drive
level is a switch, the driver's input a switch with hysteresis, its delay a matched line.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import Final

from core.stage.circuit import GatedFeed, StageCircuit
from core.stage.elements import (
    GROUND,
    Charge,
    Element,
    Resistor,
    base_node,
    capacitors_of,
    charges_of,
    elements_of,
    resistors_of,
    source_node,
)

STEPS_PER_CYCLE: Final = 1000
"""Longest step of the simulator as a part of the secondary's period."""
OPTIONS: Final = "reltol=1e-5 abstol=1e-9 vntol=1e-5 chgtol=1e-13"
"""Tolerances; the usual ones are 1 to 2 % off, and smaller ones of charge make a run stop."""
_OPEN: Final = 1e9
"""Resistance of an open switch [ohm]."""
_LINE: Final = 50.0
"""Impedance of the line that delays the driver [ohm]."""
_LAG: Final = 0.02
"""Time constant of a charge that follows a voltage, as a part of the longest step."""
_TERMINAL: Final = "device"
"""The device's own drain, behind the meter of its current."""

_SIGNS: Final = {"µ": "u", "Ω": "ohm", "°": "deg ", " ·": ",", "–": "-", "−": "-"}
"""Words for the signs beyond ASCII that titles and quantities hold."""


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
    lines = [f"* {_plain(text)}" for text in (title, *notes)]
    lines += ["", "* Supply and coil", _line("Vsupply", "supply", GROUND, circuit.supply_voltage)]
    lines += _coil(circuit)
    lines += ["", "* Device, clamps and breakout"]
    lines += _device(circuit, step)
    lines += ["", "* Drive and resistors"]
    lines += _drive(circuit, step, on_time)
    lines += _resistors(circuit)
    lines += [
        "",
        f".options {OPTIONS}",
        f".tran {_number(step)} {_number(duration)} 0 {_number(step)}",
        ".end",
        "",
    ]
    return "\n".join(lines)


def _plain(text: str) -> str:
    """One line in ASCII, so that no simulator takes a comment for anything else."""
    for sign, word in _SIGNS.items():
        text = text.replace(sign, word)
    return " ".join(text.split()).encode("ascii", "replace").decode("ascii")


def _number(value: float) -> str:
    return f"{value:.12g}"


def _line(name: str, start: str, end: str, value: float | str) -> str:
    ends = ["0" if node == GROUND else node for node in (start, end)]
    return " ".join([name, *ends, value if isinstance(value, str) else _number(value)])


def _across(start: str, end: str) -> str:
    return f"v({start})" if end == GROUND else f"v({start},{end})"


def _coil(circuit: StageCircuit) -> list[str]:
    """Coupled windings; swapped ends of the secondary turn the sense round."""
    coil = circuit.coil
    ratio, base = coil.base_current_ratio, base_node(circuit)
    foot = base if ratio == 1.0 else "foot"
    # Rising currents from supply to drain and from top to base oppose each other, unless reversed.
    ends = ("winding", foot) if circuit.reversed_sense else (foot, "winding")
    lines = [
        _line("Rprimary", "supply", "lead", coil.primary_resistance),
        _line("Lprimary", "lead", "drain", coil.primary_inductance),
        _line("Rsecondary", "top", "winding", coil.secondary_resistance),
        _line("Lsecondary", *ends, coil.secondary_inductance),
        f"Kcoil Lprimary Lsecondary {_number(coil.coupling)}",
    ]
    if ratio != 1.0:
        # The current at the foot of a distributed winding, without loss of energy.
        lines += [
            _line("Vfoot", "foot", "lifted", 0.0),
            f"Efoot lifted 0 {base} 0 {_number(ratio)}",
            f"Ffoot 0 {base} Vfoot {_number(ratio)}",
        ]
    return lines


def _device(circuit: StageCircuit, step: float) -> list[str]:
    switch, source = circuit.switch, source_node(circuit)
    forward, reverse = _across("gate", source), _across("gate", _TERMINAL)
    ohmic = f"{_across(_TERMINAL, source)}/{_number(switch.on_resistance)}"
    gain, threshold = _number(switch.transconductance), _number(switch.threshold)
    law = (
        f"I=max(min({ohmic},{gain}*max({forward}-{threshold},0)),"
        f"-{gain}*max({reverse}-{threshold},0))"
    )
    below = "0" if source == GROUND else source
    lines = [
        _line("Vdrain", "drain", _TERMINAL, 0.0),
        _line("Bchannel", _TERMINAL, source, law),
        f"Evds vds 0 {_TERMINAL} {below} 1",
        f"Evgs vgs 0 gate {below} 1",
    ]
    lines += [_element(element) for element in elements_of(circuit)]
    for start, end, farad in capacitors_of(circuit):
        lines.append(_line(f"C{start}_{end}", start, end, farad))
    for charge in charges_of(circuit):
        lines += _charge(charge, step)
    return lines


def _element(element: Element) -> str:
    """Piecewise-linear current, written as what each break adds to the segment in the middle."""
    start = _TERMINAL if element.name == "device" else element.start
    volts = _across(start, element.end)
    low, middle, high = element.conductance
    terms = [] if middle == 0.0 else [f"{_number(middle)}*{volts}+({_number(element.offset[1])})"]
    if not math.isinf(element.high):
        terms.append(f"{_number(high - middle)}*max({volts}-({_number(element.high)}),0)")
    if not math.isinf(element.low):
        terms.append(f"{_number(low - middle)}*min({volts}-({_number(element.low)}),0)")
    return _line(f"B{element.name}", start, element.end, f"I={'+'.join(terms) or '0'}")


def _charge(charge: Charge, step: float) -> list[str]:
    """Capacitor of the highest segment, and what each knot below adds as a charge that follows.

    The charge stands on a capacitor of its own, whose current flows in the circuit as well. A small
    resistance keeps that current finite where the charge bends.
    """
    law, name = charge.law, f"{charge.start}_{charge.end}"
    ends, last = (_TERMINAL, charge.end), law.farads[-1]
    lines = [] if last == 0.0 else [_line(f"C{name}", *ends, last)]
    if not law.knots:
        return lines
    volts, size = _across(*ends), max(law.farads)
    terms = [
        f"({_number((below - above) / size)})*min({volts}-({_number(knot)}),0)"
        for knot, below, above in zip(law.knots, law.farads[:-1], law.farads[1:], strict=True)
    ]
    return [
        *lines,
        _line(f"Bq_{name}", f"q_{name}", GROUND, f"V={'+'.join(terms)}"),
        _line(f"Vq_{name}", f"q_{name}", f"r_{name}", 0.0),
        _line(f"Rq_{name}", f"r_{name}", f"c_{name}", _LAG * step / size),
        _line(f"Cq_{name}", f"c_{name}", GROUND, size),
        _line(f"Fq_{name}", *ends, f"Vq_{name} 1"),
    ]


def _drive(circuit: StageCircuit, step: float, on_time: float) -> list[str]:
    """Node ``level`` (above ``half`` while the drive is on) from enable and feedback."""
    feed = circuit.feed
    on = 0.0 if isinstance(feed, GatedFeed) and feed.locked_out else 1.0
    edge = step / 100
    end = "" if math.isinf(on_time) else f" {_number(on_time)} {on:g} {_number(on_time + edge)} 0"
    enable = f"PWL(0 0 {_number(edge)} {on:g}{end})"
    lines = [_line("Vhalf", "half", GROUND, 0.5)]
    if not isinstance(feed, GatedFeed):
        return [*lines, _line("Venable", "level", GROUND, enable)]
    middle = 0.5 * (feed.threshold_high + feed.threshold_low)
    half_width = 0.5 * (feed.threshold_high - feed.threshold_low)
    rest = "ON" if _rest_input(feed) > middle else "OFF"
    wanted = "1-v(compared)" if feed.inverting else "v(compared)"
    lines += [
        _line("Venable", "enable", GROUND, enable),
        _line("Vlogic", "logic", GROUND, 1.0),
        f"Scompare logic compared input 0 compare {rest}",
        f".model compare SW(vt={_number(middle)} vh={_number(half_width)} ron=1 roff={_OPEN:g})",
        _line("Rcompare", "compared", GROUND, 1e4),
        _line("Bwanted", "wanted", GROUND, f"V=2*v(enable)*({wanted})"),
    ]
    if feed.delay == 0.0:
        return [*lines, "Elevel level 0 wanted 0 0.5"]
    return [
        *lines,
        _line("Rsend", "wanted", "sent", _LINE),
        f"Tdelay sent 0 level 0 Z0={_LINE:g} TD={_number(feed.delay)}",
        _line("Rheard", "level", GROUND, _LINE),
    ]


def _rest_input(feed: GatedFeed) -> float:
    """Voltage of the driver's input at rest: its bias, held by its clamp."""
    if feed.bias_voltage <= feed.clamp_high:
        return feed.bias_voltage
    share = feed.clamp_resistance / (feed.clamp_resistance + feed.bias_resistance)
    return feed.clamp_high + share * (feed.bias_voltage - feed.clamp_high)


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
    return [*lines, _line(f"R{part.name}", part.start, end, 1.0 / part.conductance)]


def _switched(part: Resistor, level: int) -> list[str]:
    name = f"{part.name}_{'high' if level else 'low'}"
    lines, end = _behind(part, name)
    control = "level half" if level else "half level"
    rest = "OFF" if level else "ON"
    return [
        *lines,
        _line(f"S{name}", part.start, end, f"{control} {name} {rest}"),
        f".model {name} SW(vt=0 vh=0 ron={_number(1.0 / part.conductance)} roff={_OPEN:g})",
    ]


def _behind(part: Resistor, name: str) -> tuple[list[str], str]:
    """Source of the fixed voltage behind a resistor, and the node that the resistor ends at."""
    if part.fixed == 0.0:
        return [], part.end
    if part.name == "reservoir_bleed":
        return [], "supply"
    return [_line(f"V{name}", f"{name}_rail", part.end, part.fixed)], f"{name}_rail"
