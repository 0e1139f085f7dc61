"""Circuit of a design written down by hand: which pin of which part belongs to which net.

The second opinion that the drawings are held against. It knows the design's choices and nothing of
the drawings. Timer circuits from the pin functions of the 555-type timer, from memory; the rest
from the circuit that the evaluation takes; `test_drawing.py` has the netlist as a third opinion.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping

from burstwise.core.assembly.references import references
from burstwise.core.design.document import Design

Pins = frozenset[tuple[str, str]]
Nets = dict[str, set[tuple[str, str]]]


NOT_DRAWN = {"breakout_point", "trip"}
"""The point is one piece with the top load; the trip is built after its maker's circuit, as the
list of parts says."""


class _Book:
    """Nets of the parts that a design has."""

    def __init__(self, design: Design) -> None:
        self.roles = set(references(design)) - NOT_DRAWN
        self.nets: Nets = defaultdict(set)
        self.booked: set[str] = set()

    def put(self, role: str, **pins: str) -> None:
        if role not in self.roles:
            return
        self.booked.add(role)
        for pin, net in pins.items():
            self.nets[net].add((role, pin))

    def pair(self, role: str, one: str, two: str) -> None:
        """Part with two ends alike."""
        if role in self.roles:
            self.booked.add(role)
            self.nets[one].add((role, "1"))
            self.nets[two].add((role, "2"))

    def poles(self, role: str, plus: str, minus: str) -> None:
        self.put(role, **{"+": plus, "-": minus})

    def diode(self, role: str, anode: str, cathode: str) -> None:
        self.put(role, anode=anode, cathode=cathode)


def wiring(design: Design) -> Mapping[str, Pins]:
    """Pins of every net of a design; every part is in it."""
    book = _Book(design)
    _stage(book, design)
    if design.drive.kind == "direct":
        _direct(book, design)
    else:
        _gated(book, design)
    if design.interrupter.enabled:
        _timer(book, design)
        _chain(book, design)
    _low_voltage(book)
    assert book.booked == book.roles, book.booked ^ book.roles
    return {name: frozenset(pins) for name, pins in book.nets.items()}


def source_net(design: Design) -> str:
    return "source" if design.drive.shunt_resistance > 0 else "zero"


def _stage(book: _Book, design: Design) -> None:
    source = source_net(design)
    gate = "base" if design.drive.kind == "direct" else "gate"
    plus = "unfused" if "fuse" in book.roles else "main"
    book.poles("supply", plus, "zero")
    book.pair("fuse", "unfused", "main")
    book.poles("bulk", "main", "zero")
    book.pair("bleed", "main", "zero")
    book.pair("bus_film", "main", "zero")
    normal = design.drive.feedback_sense == "normal"
    book.put("primary", dotted="main" if normal else "drain", other="drain" if normal else "main")
    book.put("secondary", dotted="base", other="top")
    book.pair("top_load", "top", "zero")
    book.put("switch", drain="drain", gate=gate, source=source)
    book.pair("shunt", "source", "zero")
    book.diode("drain_clamp", source, "drain")
    book.pair("snubber_resistor", "drain", "snubber")
    book.pair("snubber_capacitor", "snubber", source)
    book.diode("reservoir_diode", "drain", "reservoir")
    book.pair("reservoir_capacitor", "reservoir", "zero")
    book.pair("reservoir_resistor", "reservoir", "main")


def _clamped(
    book: _Book, where: str, node: str, foot: str, low: float, *, bias: str | None = None
) -> None:
    trimmer, held = f"{where}_bias_trimmer", bias or node
    book.pair(f"{where}_bias_upper", "low", "trimmed" if trimmer in book.roles else held)
    book.pair(trimmer, "trimmed", held)
    book.pair(f"{where}_bias_lower", held, "zero")
    if low > 1.5:
        # Two Zener diodes back to back.
        book.diode(f"{where}_clamp_high", "between clamps", node)
        book.diode(f"{where}_clamp_low", "between clamps", foot)
    else:
        book.diode(f"{where}_clamp_high", foot, node)
        book.diode(f"{where}_clamp_low", foot, node)


def _direct(book: _Book, design: Design) -> None:
    _clamped(book, "gate", "base", source_net(design), design.drive.direct.clamp_low)
    book.put("pull_down", drain="base", gate="way", source="zero")


def _gated(book: _Book, design: Design) -> None:
    chain, part = design.interrupter.chain, design.drive.gated
    switched = "supply_switch" in book.roles
    supply = "switched" if switched else "low"
    if design.interrupter.enabled and not switched:
        enable = "way"
    else:
        enable = supply if chain.active_level == "high" else "zero"
    output = "driver output" if "gate_resistor" in book.roles else "gate"
    driven = "base" if part.feedback == "base current" else "input"
    if part.feedback == "current transformer":
        book.put("current_transformer", base="base", hot="input", cold="held", **{"return": "zero"})
        book.pair("burden", "input", "held")
        book.pair("input_bias_capacitor", "held", "zero")
    if part.feedback == "antenna":
        book.pair("antenna", "top", "input")
        book.nets["zero"] |= book.nets.pop("base")
    book.put("driver", input=driven, enable=enable, supply=supply, ground="zero", output=output)
    book.pair("driver_decoupling", supply, "zero")
    book.pair("gate_resistor", "driver output", "gate")
    book.pair("gate_source_resistor", "gate", source_net(design))
    held = "held" if part.feedback == "current transformer" else driven
    _clamped(book, "input", driven, "zero", part.input_clamp_low, bias=held)


def _timer(book: _Book, design: Design) -> None:
    part = design.interrupter
    if part.given_by == "numbers":
        book.put("timer", supply="low", ground="zero", output="pulses")
        return
    name = part.parts.circuit
    for role in ("timer", "pulse_timer"):
        book.pair(f"{role}_control", f"{role} control", "zero")
        book.pair(f"{role}_decoupling", "low", "zero")
    second = "pulse_timer" in book.roles
    out = "astable" if second else "pulses"
    common = {"supply": "low", "ground": "zero", "reset": "low", "output": out}
    ends = {"threshold": "ramp", "trigger": "ramp", "control": "timer control"}
    if name in ("astable-classic", "two-timer"):
        pot = "frequency_potentiometer" if second else "potentiometer"
        node = "track" if pot in book.roles else "discharge"
        book.pair("charge_resistor", "low", node)
        book.put(pot, **{"1": "track", "2": "discharge", "wiper": "discharge"})
        book.pair("discharge_resistor", "discharge", "ramp")
        ends["discharge"] = "discharge"
    else:
        driven = name.endswith("output")
        node = out if driven else "discharge"
        if driven:
            # The charge resistor stands in the charging branch alone.
            book.pair("charge_resistor", out, "charging")
            ends["discharge"] = "open"
        else:
            book.pair("charge_resistor", "low", "discharge")
            ends["discharge"] = "discharge"
        wiped = "potentiometer" in book.roles
        book.diode(
            "steering_diode_1", "charging" if driven else "discharge",
            "track start" if wiped else "ramp",
        )  # fmt: skip
        book.put("potentiometer", **{"1": "track start", "2": "track end", "wiper": "ramp"})
        book.pair("discharge_resistor", "track end" if wiped else "ramp", "discharging")
        book.diode("steering_diode_2", "discharging", node)
    book.pair("timing_capacitor", "ramp", "zero")
    book.put("timer", **common, **ends)
    if second:
        _monostable(book, name)


def _monostable(book: _Book, name: str) -> None:
    two = name == "two-timer"
    book.put(
        "pulse_timer", supply="low", ground="zero", output="pulses",
        reset="low" if two else "astable", threshold="pulse", discharge="pulse",
        trigger="triggered", control="pulse_timer control",
    )  # fmt: skip
    knob = two and "potentiometer" in book.roles
    book.pair("pulse_resistor", "low", "pulse track" if knob else "pulse")
    if knob:
        book.put("potentiometer", **{"1": "pulse track", "2": "pulse", "wiper": "pulse"})
    book.pair("pulse_capacitor", "pulse", "zero")
    if two:
        book.pair("trigger_capacitor", "astable", "triggered")
        book.pair("trigger_resistor", "low", "triggered")
        book.diode("steering_diode_1", "triggered", "low")
    else:
        book.pair("trigger_resistor", "astable", "triggered")
        book.pair("trigger_capacitor", "triggered", "zero")


def _chain(book: _Book, design: Design) -> None:
    book.pair("indicator_resistor", "pulses", "lamp")
    book.diode("indicator", "lamp", "zero")
    way = "way"
    if design.interrupter.chain.buffer is None:
        # Without a buffer the pulses themselves are the way to the drive.
        book.nets["pulses"] |= book.nets.pop("way", set())
        way = "pulses"
    book.pair("buffer_base", "pulses", "buffer base")
    book.put("buffer", base="buffer base", collector=way, emitter="zero")
    book.pair("buffer_collector", "low", way)
    book.put("supply_switch", on=way, supply="low", ground="zero", output="switched")


def _low_voltage(book: _Book) -> None:
    book.poles("low_supply", "low", "zero")
    book.put("regulator", input="main", output="low", common="zero")
    book.pair("zener_resistor", "main", "low")
    book.diode("zener", "zero", "low")
    book.pair("low_output", "low", "zero")
