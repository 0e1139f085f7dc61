"""The drawings show the circuit, and nothing in them covers or misses anything else.

Who checks whom: what is drawn, followed from pin to pin by the wires, against the circuit written
down by hand in `wiring.py`; the stage also against the netlist that the program saves. What is
booked as drawn is compared with the lines of the SVG text itself; words are measured by Qt.
"""

from __future__ import annotations

import itertools
import math
import re
from collections import Counter
from collections.abc import Callable, Iterator
from types import ModuleType

import pytest
from PySide6.QtGui import QFont, QFontMetricsF

from burstwise.core.assembly.circuit import circuit, drawn_circuit, drawn_interrupter
from burstwise.core.assembly.drawn import Box, CircuitSheet, Drawn, Line, Point
from burstwise.core.assembly.part import Part
from burstwise.core.assembly.parts import interrupter_parts
from burstwise.core.assembly.references import references, with_timer_parts
from burstwise.core.assembly.symbol_style import SymbolStyle
from burstwise.core.design.document import Design, with_values
from burstwise.core.evaluate.results import Results
from burstwise.core.interrupter.circuits import CIRCUITS
from burstwise.core.report.netlist import stage_netlist

Evaluated = Callable[[str], Results]

SCALE = 36.0
"""Points of the SVG text per drawing unit."""
NEAR = 0.02
"""Distance up to which two places of a drawing are one [drawing units]."""
LEAST_GAP = 0.5
"""Least gap between words and what is drawn [pt]."""
CHAIN, PARTS = "interrupter.chain", "interrupter.parts"
TIMED = {"interrupter.enabled": True, "interrupter.given_by": "parts"}
KNOBS = {f"{PARTS}.potentiometer": 470e3, f"{PARTS}.frequency_potentiometer": 470e3}
FULL = {f"{CHAIN}.buffer": {}, f"{CHAIN}.indicator": {}}
GUARDED = {"protection.snubber": {}, "protection.drain_clamp": {}}
STORED = {"protection.reservoir_clamp": {}}
DRIVES: dict[str, dict[str, object]] = {
    "gated": {"drive.kind": "gated"},
    "gated low": {"drive.kind": "gated", f"{CHAIN}.active_level": "low"},
    "switched": {"drive.kind": "gated", f"{CHAIN}.gating": "supply"},
    "switched low": {
        "drive.kind": "gated", f"{CHAIN}.gating": "supply", f"{CHAIN}.active_level": "low",
    },
    "inverting": {
        "drive.kind": "gated", "drive.gated.inverting": True, "drive.gated.input_clamp_low": 5.6,
    },
    "direct": {"drive.kind": "direct", "drive.direct.bias_voltage": 3.9},
    "direct Zeners": {"drive.kind": "direct", "drive.direct.clamp_low": 12.0},
    "direct bare": {
        "drive.kind": "direct", "drive.direct.clamp_fitted": False,
        "drive.direct.bias_voltage": 0.0,
    },
}  # fmt: skip
STAGES: dict[str, dict[str, object]] = {
    "plain": {"protection.snubber": None, "protection.fuse_rating": None},
    "snubber": {"protection.snubber": {}, "supply.bulk_fitted": False},
    "clamp": {"protection.snubber": None, "protection.drain_clamp": {}},
    "reservoir": {"protection.snubber": None, **STORED},
    "clamped": GUARDED,
    "all": {**GUARDED, **STORED, "drive.feedback_sense": "reversed"},
}
LOW: dict[str, object] = {
    "separate": {"kind": "separate"},
    "regulator": {"kind": "regulator"},
    "zener": {"kind": "zener"},
}


def stand_ins(design: Design) -> dict[str, Part]:
    """Parts of a design with values as long as they come, so that nothing has to be evaluated."""
    kinds = {
        "reservoir_diode": "ultra-fast rectifier", "steering_diode_1": "small Schottky",
        "steering_diode_2": "small Schottky", "driver": "non-inverting gate driver with enable",
        "supply_switch": "high-side load switch, on when its input is high",
        "timer": "bipolar 555-type timer", "pulse_timer": "bipolar 555-type timer",
        "switch": "1200 V, 13 A silicon carbide, full-pack, typical",
        "pull_down": "small n-channel MOSFET, logic level", "buffer": "small npn transistor",
    }  # fmt: skip
    if design.interrupter.given_by == "numbers":
        kinds["timer"] = "pulse source, 12.34 kHz, 88.88 % on"
    for where, low in (
        ("gate", design.drive.direct.clamp_low), ("input", design.drive.gated.input_clamp_low),
    ):  # fmt: skip
        if low > 1.5:
            kinds[f"{where}_clamp_low"] = "Zener diode"
    units = {"R": "kΩ", "RV": "kΩ", "C": "µF", "L": "mH", "E": "pF", "F": "mA"}
    found = {}
    for role, reference in references(design).items():
        unit = units.get(re.sub(r"\d", "", reference), "V")
        kind = kinds.get(role, "no value works" if "indicator_r" in role else f"888.8 {unit}")
        found[role] = Part(reference, role, role, None, "", kind, None, (), "")
    return found


def meets(one: Point, two: Point) -> bool:
    return math.dist(one, two) < NEAR


def distance(at: Point, line: Line) -> float:
    (ax, ay), (bx, by) = line
    length = (bx - ax) ** 2 + (by - ay) ** 2
    share = 0.0 if length == 0 else ((at[0] - ax) * (bx - ax) + (at[1] - ay) * (by - ay)) / length
    share = min(max(share, 0.0), 1.0)
    return math.dist(at, (ax + share * (bx - ax), ay + share * (by - ay)))


def passes(at: Point, line: Line) -> bool:
    """Whether a line goes on to both sides of a place."""
    return distance(at, line) < NEAR and not meets(at, line[0]) and not meets(at, line[1])


def all_pins(sheets: tuple[CircuitSheet, ...]) -> Iterator[tuple[int, str, str, Point]]:
    for number, sheet in enumerate(sheets):
        for part in sheet.drawn:
            for pin, at in part.pins.items():
                yield number, part.role, pin, at


def drawn_nets(sheets: tuple[CircuitSheet, ...]) -> list[set[tuple[str, str]]]:
    """Pins that the wires, the earth symbols and the names of nets join."""
    found: list[set[object]] = []

    def join(members: set[object]) -> None:
        for other in [known for known in found if known & members]:
            found.remove(other)
            members |= other
        found.append(members)

    for number, role, pin, at in all_pins(sheets):
        join({("pin", role, pin), ("at", number, round(at[0], 3), round(at[1], 3))})
    for number, sheet in enumerate(sheets):

        def spot(at: Point, number: int = number) -> object:
            return ("at", number, round(at[0], 3), round(at[1], 3))

        for end in sheet.named:
            join({("name", end.name), spot(end.at)})
        ends = [place for line in sheet.wires for place in line]
        ends += [end.at for end in sheet.named] + [at for n, *_, at in all_pins((sheet,))]
        for line in sheet.wires:
            touching = [at for at in (*ends, *sheet.joints) if distance(at, line) < NEAR]
            join({spot(at) for at in (*touching, *line)})
        for part in sheet.drawn:
            for pin in part.pins.values():
                foot = part.body.nearest(pin)
                touching = [at for at in ends if distance(at, (pin, foot)) < NEAR]
                join({spot(at) for at in (*touching, pin)})
    return [
        {member[1:] for member in members if member[0] == "pin"}  # type: ignore[index]
        for members in found
        if any(member[0] == "pin" for member in members)  # type: ignore[index]
    ]


def alike(nets: list[set[tuple[str, str]]]) -> Counter[tuple[str, ...]]:
    """Nets to compare: resistors and the like may be turned round."""
    turned = {role for net in nets for role, pin in net} - {
        role for net in nets for role, pin in net if pin not in ("1", "2")
    }
    return Counter(
        tuple(sorted(role if role in turned else f"{role}.{pin}" for role, pin in net))
        for net in nets
    )


def check_circuit(design: Design, sheets: tuple[CircuitSheet, ...], by_hand: ModuleType) -> None:
    """What is drawn is the circuit."""
    told = alike([set(net) for net in by_hand.wiring(design).values()])
    drawn = alike(drawn_nets(sheets))
    assert drawn == told, (sorted((drawn - told).elements()), sorted((told - drawn).elements()))


def check_ends(sheet: CircuitSheet) -> None:
    """No wire and no pin ends in nothing; a dot stands where three ends meet, and only there."""
    leads = [(pin, part.body.nearest(pin)) for part in sheet.drawn for pin in part.pins.values()]
    ends = [place for line in sheet.wires for place in line]
    pins = [pin for pin, _ in leads]
    named = [end.at for end in sheet.named]

    def branches(at: Point) -> int:
        count = sum(meets(at, other) for other in (*ends, *pins, *named))
        count += sum(2 * passes(at, line) for line in (*sheet.wires, *leads))
        return count + sum(2 for pin, foot in leads if meets(at, foot) and not meets(at, pin))

    for at in (*ends, *pins, *named):
        open_pin = any(meets(at, other) for other in sheet.unused)
        assert branches(at) == 1 if open_pin else branches(at) > 1, (sheet.name, at)
        dotted = any(meets(at, dot) for dot in sheet.joints)
        assert dotted == (branches(at) > 2), (sheet.name, at, branches(at))
    for dot in sheet.joints:
        assert any(meets(dot, at) for at in (*ends, *pins, *named)), (sheet.name, dot)


def inside(line: Line, part: Drawn) -> bool:
    """Whether a line runs through a body, not only along its rim."""
    box, (start, end) = part.body, line
    for step in range(101):
        x = start[0] + (end[0] - start[0]) * step / 100
        y = start[1] + (end[1] - start[1]) * step / 100
        if box.left + NEAR < x < box.right - NEAR and box.bottom + NEAR < y < box.top - NEAR:
            return True
    return False


def check_bodies(sheet: CircuitSheet) -> None:
    """No wire and no lead runs through a body or along another wire; bodies keep apart."""
    lines = [(line, None) for line in sheet.wires]
    lines += [(lead, part) for part in sheet.drawn for lead in part.leads]
    for (line, owner), part in itertools.product(lines, sheet.drawn):
        assert owner is part or not inside(line, part), (sheet.name, part.reference, line)
    for (one, _), (two, _) in itertools.combinations(lines, 2):
        shared = sum(passes(at, one) for at in two) + sum(passes(at, two) for at in one)
        same = meets(one[0], two[0]) + meets(one[1], two[1])
        same = max(same, meets(one[0], two[1]) + meets(one[1], two[0]))
        middle = ((two[0][0] + two[1][0]) / 2, (two[0][1] + two[1][1]) / 2)
        assert shared + same < 2 or not passes(middle, one), (sheet.name, one, two)
    for one, two in itertools.combinations(sheet.drawn, 2):
        a, b = one.body, two.body
        apart = a.right < b.left or b.right < a.left or a.top < b.bottom or b.top < a.bottom
        assert apart, (sheet.name, one.reference, two.reference)


NUMBER = r"(-?[\d.]+(?:e-?\d+)?)"
PATH = re.compile(r'<path d="([^"]+)" style="stroke:black;fill:none')
FILLED = re.compile(r'<(?:path d|polygon points)="([^"]+)" style="[^"]*"')
CIRCLE = re.compile(r'<circle cx="([^"]+)" cy="([^"]+)" r="([^"]+)" style="stroke:black;fill:(\w+)')
WORDS = re.compile(
    r'<text x="([^"]+)" y="([^"]+)" font-size="([^"]+)"[^>]*text-anchor="([^"]+)"[^>]*>([^<]*)<'
)


def svg_lines(sheet: CircuitSheet) -> list[Line]:
    """Straight lines of the SVG text in drawing units."""
    found: list[Line] = []
    for path in PATH.findall(sheet.svg):
        for stroke in re.split(r"M", path)[1:]:
            if re.search(r"[aAcCqQzZ]", stroke):
                continue
            values = [float(value) for value in re.findall(NUMBER, stroke)]
            places = [
                (x / SCALE, -y / SCALE) for x, y in zip(values[::2], values[1::2], strict=True)
            ]
            found += itertools.pairwise(places)
    return found


def arrow_heads(sheet: CircuitSheet) -> Iterator[Line]:
    """From the foot to the tip of each, which goes on with its line."""
    for path in re.findall(r'<path d="(M[^"Z]*)Z" style="stroke:black;fill:black', sheet.svg):
        values = [float(value) for value in re.findall(NUMBER, path)]
        if len(values) == 6:
            x, y, left, upper, right, lower = values
            foot = (0.5 * (left + right) / SCALE, -0.5 * (upper + lower) / SCALE)
            yield foot, (x / SCALE, -y / SCALE)


def check_booked(sheet: CircuitSheet) -> None:
    """What is booked is in the SVG text, and no line of the SVG text but symbols is not booked."""
    lines = [*svg_lines(sheet), *arrow_heads(sheet)]
    # The circle of an inverted pin stands between its block and its lead.
    bubbles = [
        ((float(x) / SCALE, -float(y) / SCALE), float(r) / SCALE)
        for x, y, r, fill in CIRCLE.findall(sheet.svg)
        if fill == "none"
    ]
    booked = [*sheet.wires, *(lead for part in sheet.drawn for lead in part.leads)]
    wipers = [part.pins["wiper"] for part in sheet.drawn if "wiper" in part.pins]
    for line in booked:
        # An arrow's tip stands a little before what it points at.
        for share in (0.02, 0.5, 0.9 if line[0] in wipers else 0.98):
            at = tuple(a + share * (b - a) for a, b in zip(*line, strict=True))
            bubbled = any(math.dist(at, middle) < radius + NEAR for middle, radius in bubbles)
            assert bubbled or any(distance(at, other) < NEAR for other in lines), (sheet.name, line)
    marks = [end.at for end in sheet.named] + list(sheet.unused)
    for line in lines:
        at = ((line[0][0] + line[1][0]) / 2, (line[0][1] + line[1][1]) / 2)
        symbol = any(math.dist(at, part.body.nearest(at)) < NEAR for part in sheet.drawn)
        mark = any(math.dist(at, place) < 0.7 for place in marks)
        known = any(distance(at, other) < NEAR for other in booked)
        assert symbol or mark or known, (sheet.name, line)
    dots = [
        (float(x) / SCALE, -float(y) / SCALE)
        for x, y, r, fill in CIRCLE.findall(sheet.svg)
        if fill == "black" and float(r) < 3
    ]
    assert len(dots) == len(sheet.joints)
    assert all(any(meets(dot, joint) for joint in sheet.joints) for dot in dots)


Rectangle = tuple[float, float, float, float, str]


def text_boxes(svg: str) -> list[Rectangle]:
    """Left, top, right, bottom and words of all texts as Qt's face has them [pt]."""
    found = []
    for x, y, size, anchor, words in WORDS.findall(svg):
        font = QFont("sans-serif")
        font.setPixelSize(100)
        metrics, share = QFontMetricsF(font), float(size) / 100
        wide = share * metrics.horizontalAdvance(words)
        ink = metrics.tightBoundingRect(words)
        left = float(x) - {"start": 0.0, "middle": 0.5, "end": 1.0}[anchor] * wide
        top, bottom = float(y) + share * ink.top(), float(y) + share * ink.bottom()
        found.append((left, top, left + wide, bottom, words))
    return found


def hits(box: Rectangle, line: Line, half: float) -> bool:
    """Whether a line of some half width [pt] comes into a rectangle."""
    left, top, right, bottom = (
        box[0] - half, box[1] - half, box[2] + half, box[3] + half,
    )  # fmt: skip
    (ax, ay), (bx, by) = ((x * SCALE, -y * SCALE) for x, y in line)
    enter, leave = 0.0, 1.0
    for start, way, low, high in ((ax, bx - ax, left, right), (ay, by - ay, top, bottom)):
        if abs(way) < 1e-9:
            if not low < start < high:
                return False
            continue
        one, two = sorted(((low - start) / way, (high - start) / way))
        enter, leave = max(enter, one), min(leave, two)
    return enter < leave


def check_words(sheet: CircuitSheet) -> None:
    """No words lie on words, lines, dots or symbols, or outside of the picture."""
    boxes = text_boxes(sheet.svg)
    assert boxes
    left, top, width, height = map(float, re.search(r'viewBox="([^"]+)"', sheet.svg)[1].split())
    for box in boxes:
        assert left <= box[0] < box[2] <= left + width, (sheet.name, box)
        assert top <= box[1] < box[3] <= top + height, (sheet.name, box)
    for one, two in itertools.combinations(boxes, 2):
        apart = (
            one[2] + LEAST_GAP <= two[0] or two[2] + LEAST_GAP <= one[0]
            or one[3] + LEAST_GAP <= two[1] or two[3] + LEAST_GAP <= one[1]
        )  # fmt: skip
        assert apart, (sheet.name, one, two)
    for box, line in itertools.product(boxes, svg_lines(sheet)):
        assert not hits(box, line, 0.75 + LEAST_GAP), (sheet.name, box, line)
    for box, found in itertools.product(boxes, CIRCLE.findall(sheet.svg)):
        x, y, r = (float(value) for value in found[:3])
        near = (min(max(x, box[0]), box[2]), min(max(y, box[1]), box[3]))
        assert math.dist((x, y), near) > r + LEAST_GAP, (sheet.name, box, found)
    for box, part in itertools.product(boxes, sheet.drawn):
        body = part.body
        a = (body.left * SCALE, -body.top * SCALE, body.right * SCALE, -body.bottom * SCALE)
        apart = box[2] <= a[0] or a[2] <= box[0] or box[3] <= a[1] or a[3] <= box[1]
        held = a[0] < box[0] and box[2] < a[2] and a[1] < box[1] and box[3] < a[3]
        assert apart or held, (sheet.name, box, part.reference)


CHECKED: set[str] = set()
"""Sheets, with all that they hold, whose lines and words were found to keep apart."""


def check(design: Design, sheets: tuple[CircuitSheet, ...], by_hand: ModuleType) -> None:
    check_circuit(design, sheets, by_hand)
    for sheet in sheets:
        if repr(sheet) in CHECKED:  # most designs share most of their sheets
            continue
        check_ends(sheet)
        check_bodies(sheet)
        check_booked(sheet)
        check_words(sheet)
        CHECKED.add(repr(sheet))


@pytest.mark.parametrize(
    ("at", "nearest"),
    [((1.5, 0.25), (1.5, 0.25)), ((-1.0, 5.0), (0.0, 1.0)), ((3.0, -2.0), (2.0, 0.0))],
)
def test_the_place_of_a_box_that_is_nearest_to_a_point(at: Point, nearest: Point) -> None:
    assert Box(0.0, 0.0, 2.0, 1.0).nearest(at) == nearest


def test_every_evaluated_design_is_drawn_as_it_is_wired(
    qapp: object, evaluated: Evaluated, variety: str, by_hand: ModuleType
) -> None:
    results = evaluated(variety)
    sheets = circuit(results)
    check(results.design, sheets, by_hand)
    (stage,) = (sheet for sheet in sheets if sheet.name == "stage")
    coil = results.coil
    coupling = coil.mutual_inductance / (coil.primary_inductance * coil.secondary_inductance) ** 0.5
    (told,) = re.findall(r"k (\S+) to L1", stage.svg)
    assert float(told) == pytest.approx(coupling, rel=6e-3)


def check_drawn(
    small_design: Design,
    by_hand: ModuleType,
    *changes: dict[str, object],
    style: SymbolStyle = SymbolStyle.IEC,
) -> tuple[CircuitSheet, ...]:
    """Draw a design with stand-ins and check it."""
    values: dict[str, object] = {}
    for one in changes:
        values |= one
    design = with_values(small_design, values)
    sheets = drawn_circuit(design, stand_ins(design), style=style)
    check(design, sheets, by_hand)
    return sheets


def zigzags(sheets: tuple[CircuitSheet, ...]) -> int:
    """Straight lines of two leads that turn back and forth six times between."""
    found = 0
    for path in (path for sheet in sheets for path in PATH.findall(sheet.svg)):
        straight = not re.search(r"[aAcCqQzZ]", path)
        values = [float(value) for value in re.findall(NUMBER, path)]
        places = list(zip(values[::2], values[1::2], strict=True)) if straight else []
        found += len(places) == 10 and path.count("M") == 1 and _turns(places) >= 6
    return found


def _turns(places: list[tuple[float, float]]) -> int:
    """How often the way to the one and to the other side of the ends' line changes."""
    (x, y), (to_x, to_y) = places[0], places[-1]
    sides = [(to_x - x) * (b - y) - (to_y - y) * (a - x) for a, b in places[1:-1]]
    return sum(one * two < 0 for one, two in itertools.pairwise(sides)) + 1


@pytest.mark.parametrize("name", CIRCUITS)
def test_ansi_symbols_are_wired_alike_and_have_room(
    qapp: object, small_design: Design, by_hand: ModuleType, name: str
) -> None:
    """As many zigzags as resistors and potentiometers: IEEE 315, section 2.1 (from memory)."""
    given = (TIMED, DRIVES["gated"], KNOBS, {f"{PARTS}.circuit": name}, FULL)
    boxes = check_drawn(small_design, by_hand, *given)
    lines = check_drawn(small_design, by_hand, *given, style=SymbolStyle.ANSI)
    assert zigzags(boxes) == 0
    resistors = [
        part for sheet in lines for part in sheet.drawn if part.reference.startswith(("R", "RV"))
    ]
    assert zigzags(lines) == len(resistors) > 5
    assert zigzags(check_drawn(small_design, by_hand, *given)) == 0


@pytest.mark.parametrize("shunt", [0.1, 0.0])
@pytest.mark.parametrize("stage", STAGES)
def test_stages(
    qapp: object, small_design: Design, by_hand: ModuleType, stage: str, shunt: float
) -> None:
    for drive in ("gated", "direct"):
        given = {"drive.shunt_resistance": shunt}
        check_drawn(small_design, by_hand, DRIVES[drive], STAGES[stage], given)


@pytest.mark.parametrize("enabled", [True, False])
@pytest.mark.parametrize("shunt", [0.1, 0.0])
@pytest.mark.parametrize("drive", DRIVES)
def test_drives(
    qapp: object, small_design: Design, by_hand: ModuleType, drive: str, shunt: float, enabled: bool
) -> None:
    given = {"drive.shunt_resistance": shunt, "interrupter.enabled": enabled}
    check_drawn(small_design, by_hand, DRIVES[drive], given)


@pytest.mark.parametrize("drive", DRIVES)
@pytest.mark.parametrize("name", CIRCUITS)
def test_timers_and_ways_to_the_drive(
    qapp: object, small_design: Design, by_hand: ModuleType, name: str, drive: str
) -> None:
    given = {f"{PARTS}.circuit": name}
    for fitted in ({}, FULL):
        check_drawn(small_design, by_hand, TIMED, DRIVES[drive], KNOBS, given, fitted)


@pytest.mark.parametrize("name", CIRCUITS)
def test_timers_without_knobs(
    qapp: object, small_design: Design, by_hand: ModuleType, name: str
) -> None:
    given = {f"{PARTS}.circuit": name, **dict.fromkeys(KNOBS, 0.0)}
    sheets = check_drawn(small_design, by_hand, TIMED, given)
    assert not any(part.role.endswith("potentiometer") for one in sheets for part in one.drawn)


@pytest.mark.parametrize("fitted", ["buffer", "indicator"])
@pytest.mark.parametrize("drive", DRIVES)
def test_chains(
    qapp: object, small_design: Design, by_hand: ModuleType, drive: str, fitted: str
) -> None:
    check_drawn(small_design, by_hand, DRIVES[drive], {f"{CHAIN}.{fitted}": {}})


@pytest.mark.parametrize("enabled", [True, False])
@pytest.mark.parametrize("low", LOW)
def test_low_voltage(
    qapp: object, small_design: Design, by_hand: ModuleType, low: str, enabled: bool
) -> None:
    given = {"supply.low_voltage": LOW[low], "interrupter.enabled": enabled}
    for drive in DRIVES.values():
        check_drawn(small_design, by_hand, drive, given)


PLACE = "at 100 %"


@pytest.mark.parametrize("drive", DRIVES)
@pytest.mark.parametrize("name", CIRCUITS)
def test_the_interrupter_alone_is_drawn_as_in_the_whole_circuit(
    qapp: object, small_design: Design, name: str, drive: str
) -> None:
    """The same symbols at the same places; only the low-voltage supply is left out."""
    given = {f"{PARTS}.circuit": name}
    for fitted in ({}, FULL):
        design = with_values(small_design, {**TIMED, **DRIVES[drive], **KNOBS, **given, **fitted})
        known = {**stand_ins(design), **interrupter_parts(design)}
        whole = {sheet.name: sheet for sheet in drawn_circuit(design, known)}
        alone = {sheet.name: sheet for sheet in drawn_interrupter(design)}
        assert len(alone) >= 2
        assert all(alone[sheet] == whole[sheet] for sheet in alone if sheet != "chain")
        way = {part.role: part.text for part in alone["chain"].drawn}
        low = {"low_supply", "regulator", "zener", "zener_resistor", "low_output"}
        assert way == {
            part.role: part.text for part in whole["chain"].drawn if part.role not in low
        }
        marked = drawn_interrupter(design, place=PLACE)
        for sheet in marked:
            check_ends(sheet)
            check_bodies(sheet)
            check_booked(sheet)
            check_words(sheet)
        assert sum(PLACE in sheet.svg for sheet in marked) == (
            "potentiometer" in references(design)
        )


def test_the_interrupter_is_drawn_before_the_design_takes_its_parts(
    qapp: object, small_design: Design
) -> None:
    for given in ({"interrupter.enabled": False}, {"interrupter.given_by": "numbers"}):
        design = with_values(small_design, given)
        assert drawn_interrupter(design) == drawn_interrupter(with_timer_parts(design))


def test_values_of_the_interrupter_are_those_of_the_list_of_parts(
    qapp: object, evaluated: Evaluated, variety: str
) -> None:
    results = evaluated(variety)
    part = results.design.interrupter
    if not part.enabled or part.given_by != "parts":
        pytest.skip("this design has no timer parts")
    whole = {sheet.name: sheet for sheet in circuit(results)}
    for sheet in drawn_interrupter(results.design):
        assert sheet.name == "chain" or sheet == whole[sheet.name]


NODES = {
    "Ctop_ground": ("top_load", "1", "2"),
    "Rshunt": ("shunt", "1", "2"),
    "Rgate_hold": ("gate_source_resistor", "1", "2"),
    "Rsnubber": ("snubber_resistor", "1", "2"),
    "Csnubber_source": ("snubber_capacitor", "1", "2"),
    "Csnubber_ground": ("snubber_capacitor", "1", "2"),
    "Bdrain_clamp": ("drain_clamp", "cathode", "anode"),
    "Breservoir_diode": ("reservoir_diode", "anode", "cathode"),
    "Creservoir_ground": ("reservoir_capacitor", "1", "2"),
    "Rreservoir_bleed": ("reservoir_resistor", "1", "2"),
    "Vdrain": ("switch", "drain", None),
    "Cgate_source": ("switch", "gate", "source"),
    "Cgate_ground": ("switch", "gate", "source"),
    "Spull_down_low": ("pull_down", "drain", "source"),
    "Ctop_input": ("antenna", "1", "2"),
    "Ltransformer": ("current_transformer", "hot", "cold"),
    "Rburden": ("burden", "1", "2"),
    "Lprimary": ("primary", "dotted", "other"),
    "Lsecondary": ("secondary", "dotted", "other"),
}
"""Elements of the saved netlist that are parts of the drawing, with the pins at their nodes."""
CLAMPS = {"Bgate_clamp": "gate", "Binput_clamp": "input"}
ONE_NODE = {"lead": "supply", "winding": "top", "foot": "base", "lifted": "base",
            "terminal": "gate", "burden_rail": "cold", "aerial": "input"}  # fmt: skip
"""Nodes that only the model tells apart: behind a winding's resistance, before its foot current,
before the resistance of the gate on the die, beside a burden, behind an antenna's meter."""


def test_the_stage_is_drawn_as_the_saved_netlist_has_it(evaluated: Evaluated, variety: str) -> None:
    results = evaluated(variety)
    gated = results.design.drive.kind == "gated"
    base = "input" if gated else "gate"
    if results.design.drive.past_input:
        base = "0" if results.design.drive.gated.feedback == "antenna" else "base"
    nodes: dict[str, str] = {}
    for line in stage_netlist(results).splitlines():
        name, *words = line.split() or [""]
        spots = [ONE_NODE.get(word, word) for word in words[:2]]
        spots = [base if spot == "base" else spot for spot in spots]
        if name in NODES:
            role, one, two = NODES[name]
            nodes[f"{role}.{one}"] = spots[0]
            if two is not None:
                nodes[f"{role}.{two}"] = spots[1]
        elif name in CLAMPS:
            nodes[f"{CLAMPS[name]}_clamp_high.cathode"] = spots[0]
            if results.design.drive.kind == "gated" or results.design.drive.direct.clamp_low < 1.5:
                nodes[f"{CLAMPS[name]}_clamp_high.anode"] = spots[1]
    if nodes["secondary.dotted"] == "top":
        # Dots at the other ends of both windings say the same.
        for coil in ("primary", "secondary"):
            ends = nodes[f"{coil}.dotted"], nodes[f"{coil}.other"]
            nodes[f"{coil}.other"], nodes[f"{coil}.dotted"] = ends
    fitted = references(results.design)
    nodes = {pin: node for pin, node in nodes.items() if pin.split(".")[0] in fitted}
    assert len(nodes) >= 8
    drawn: dict[str, int] = {}
    for number, net in enumerate(drawn_nets(circuit(results))):
        drawn |= {f"{role}.{pin}": number for role, pin in net}
    turned = {
        role
        for role in {pin.split(".")[0] for pin in nodes}
        if f"{role}.1" in nodes and f"{role}.2" in nodes
    }
    fixed = {nodes[pin]: drawn[pin] for pin in nodes if pin.split(".")[0] not in turned}
    for pin, node in nodes.items():
        if pin.split(".")[0] not in turned:
            assert drawn[pin] == fixed[node], (pin, node)
    for role in turned:
        netlist = {nodes[f"{role}.1"], nodes[f"{role}.2"]}
        ends = {drawn[f"{role}.1"], drawn[f"{role}.2"]}
        for node in netlist & set(fixed):
            assert fixed[node] in ends, (role, node)
    assert len(set(fixed.values())) == len(fixed)
