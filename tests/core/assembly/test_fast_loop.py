"""Drawing of the short loops: every part at the pins that the evaluation takes it to be at."""

from __future__ import annotations

import itertools
import re
from collections.abc import Callable

from burstwise.core.assembly.drawn import ZERO, CircuitSheet, Point, same
from burstwise.core.assembly.fast_loop import fast_loop
from burstwise.core.assembly.layout_notes import fast_loop_figures
from burstwise.core.assembly.parts import parts_list
from burstwise.core.evaluate.results import Results

Evaluated = Callable[[str], Results]
PINS = ("1", "2")


def nets(sheet: CircuitSheet) -> dict[tuple[str, str], int]:
    """Net of each pin, by joining wires that touch."""
    spots: list[tuple[Point, object]] = []
    for number, wire in enumerate(sheet.wires):
        spots += [(wire[0], ("wire", number)), (wire[1], ("wire", number))]
    for item in sheet.drawn:
        spots += [(at, (item.role, name)) for name, at in item.pins.items()]
    spots += [(end.at, ("name", end.name)) for end in sheet.named]
    group = {key: number for number, key in enumerate(dict.fromkeys(key for _, key in spots))}

    def join(one: object, two: object) -> None:
        old, new = group[one], group[two]
        for key, value in group.items():
            if value == old:
                group[key] = new

    for (at, one), (there, two) in itertools.combinations(spots, 2):
        if same(at, there):
            join(one, two)
    for number, (start, end) in enumerate(sheet.wires):
        for at, key in spots:
            flat = min(start[1], end[1]) - 1e-6 <= at[1] <= max(start[1], end[1]) + 1e-6
            wide = min(start[0], end[0]) - 1e-6 <= at[0] <= max(start[0], end[0]) + 1e-6
            if flat and wide:
                join(key, ("wire", number))
    return {key: value for key, value in group.items() if key[0] != "wire"}  # type: ignore[index,misc]


def test_parts_stand_where_the_evaluation_takes_them(evaluated: Evaluated, variety: str) -> None:
    results = evaluated(variety)
    parts = parts_list(results)
    sheet = fast_loop(results, parts)
    found, roles = nets(sheet), {item.role for item in sheet.drawn}
    drain, source = found["switch", "drain"], found["switch", "source"]
    gate, zero = found["switch", "gate"], found["name", ZERO]
    pairs = {
        "snubber": ({found["snubber_resistor", "1"], found["snubber_capacitor", "2"]}, "drain"),
        "clamp": ({found.get(("drain_clamp", "anode")), found.get(("drain_clamp", "cathode"))},
                  "drain"),
    } if "snubber_resistor" in roles else {}  # fmt: skip
    assert all(ends == {drain, source} or None in ends for ends, _ in pairs.values())
    assert (zero == source) is ("shunt" not in roles)
    if "shunt" in roles:
        assert {found["shunt", name] for name in PINS} == {source, zero}
    if "gate_source_resistor" in roles:
        assert {found["gate_source_resistor", name] for name in PINS} == {gate, source}
    if "driver" in roles:
        assert found["driver", "ground"] == zero
        assert found["driver", "supply"] in {found["driver_decoupling", name] for name in PINS}
        if "gate_resistor" not in roles:
            assert found["driver", "output"] == gate
    for role in ("gate_clamp_high", "gate_clamp_low"):
        if role in roles and "Zener diode" not in str(parts.by_role["gate_clamp_low"].kind):
            assert {found[role, "cathode"], found[role, "anode"]} == {gate, source}
    wanted = {"snubber_resistor", "snubber_capacitor", "drain_clamp", "shunt", "driver",
              "gate_resistor", "gate_source_resistor", "driver_decoupling", "switch",
              "gate_clamp_high", "gate_clamp_low"}  # fmt: skip
    assert roles == wanted & set(parts.by_role)


def test_words_of_the_loops_stand_apart_and_carry_the_slope(
    evaluated: Evaluated, variety: str
) -> None:
    results = evaluated(variety)
    svg = fast_loop(results, parts_list(results)).svg.replace("\N{NO-BREAK SPACE}", " ")
    assert fast_loop_figures(results).replace("\N{NO-BREAK SPACE}", " ") in svg
    boxes = []
    pattern = (
        r'<text x="([^"]+)" y="([^"]+)" font-size="([^"]+)"[^>]*text-anchor="([^"]+)"[^>]*>([^<]*)<'
    )
    for x, y, size, anchor, words in re.findall(pattern, svg):
        wide = 0.5 * float(size) * len(words)
        left = float(x) - {"start": 0.0, "middle": 0.5, "end": 1.0}[anchor] * wide
        boxes.append((left, float(y) - 0.6 * float(size), left + wide, float(y), words))
    for one, two in itertools.combinations(boxes, 2):
        apart = one[2] <= two[0] or two[2] <= one[0] or one[3] <= two[1] or two[3] <= one[1]
        assert apart, (one, two)
