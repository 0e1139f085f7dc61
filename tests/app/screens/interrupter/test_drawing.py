"""Circuit drawings: every part of timer and chain is in it, and no words are cut off or covered.

Who checks whom: references against those of the list of parts of the evaluated design, values
against the design and the report of its drive chain.
"""

from __future__ import annotations

import re
from itertools import combinations

import pytest
from PySide6.QtCore import QByteArray
from PySide6.QtSvg import QSvgRenderer

from app.screens.interrupter.chain_drawing import chain_of_design
from app.screens.interrupter.circuit_sheet import Ink
from app.screens.interrupter.drawing import circuit_svg, with_wiper
from core.assembly.parts import parts_list
from core.assembly.references import timer_references
from core.design.document import with_values
from core.evaluate import evaluate
from core.interrupter.circuits import CIRCUITS
from core.interrupter.resolve import timer_set

INK = Ink("#102030", "#405060")
CHAIN = "interrupter.chain"
FULL = {f"{CHAIN}.buffer": {"collector_resistor": 4700.0}, f"{CHAIN}.indicator": {}}
ENDS = {
    "enable": {},
    "enable low": {f"{CHAIN}.active_level": "low"},
    "switched supply": {f"{CHAIN}.gating": "supply"},
    "direct": {"drive.kind": "direct"},
    "no value": {
        "interrupter.parts.timer": "bipolar", "interrupter.parts.supply": 5.0,
        f"{CHAIN}.indicator": {"forward_voltage": 4.9},
    },
}  # fmt: skip
TEXT = re.compile(
    r'<text x="([^"]+)" y="([^"]+)" dominant-baseline="([^"]+)"[^>]*font-size="([^"]+)"'
    r'[^>]*text-anchor="([^"]+)"[^>]*><tspan[^>]* dy="([^"]+)">([^<]*)</tspan>'
)


@pytest.fixture
def design(small_design):
    return with_values(
        small_design,
        {
            "interrupter.given_by": "parts",
            "interrupter.parts.frequency_potentiometer": 470e3,
            "interrupter.parts.potentiometer": 470e3,
            "protection.snubber": {},
        },
    )


def drawn(design, travel=0.25):
    one = timer_set(design.interrupter.parts)
    references = timer_references(design)
    svg = circuit_svg(one, chain_of_design(design), INK, references=references)
    return with_wiper(svg, travel).decode()


def words(svg):
    return [found[6] for found in TEXT.findall(svg)]


def boxes(svg):
    """Left, top, right, bottom and words of all texts, a little smaller than they are."""
    found = []
    for x, y, baseline, size, anchor, dy, text in TEXT.findall(svg):
        wide, tall = 0.56 * float(size) * len(text), 0.6 * float(size)
        left = float(x) - {"start": 0.0, "middle": 0.5, "end": 1.0}[anchor] * wide
        # Qt takes every text as standing on its base line.
        bottom = float(y) + float(dy)
        assert baseline
        found.append((left, bottom - tall, left + wide, bottom, text))
    return found


@pytest.mark.parametrize("name", CIRCUITS)
def test_each_part_is_drawn_with_its_reference_and_value(qapp, design, name):
    changed = with_values(design, {"interrupter.parts.circuit": name, **FULL})
    results = evaluate(changed, verify=False)
    svg = drawn(changed)
    listed = parts_list(results).by_role
    one = timer_set(changed.interrupter.parts)
    chain = ("buffer_base", "buffer_collector", "indicator_resistor", "indicator")
    for role in (*(part.role for part in one.parts), *chain):
        assert f"{listed[role].reference} {listed[role].value_text}" in words(svg), role
    for role in ("buffer", "timer", "driver", "timer_control"):
        assert any(re.match(rf"{listed[role].reference}\b", text) for text in words(svg)), role
    diodes = [part.reference for role, part in listed.items() if role.startswith("steering")]
    assert set(diodes) <= set(words(svg))
    assert "at 25 %" in words(svg)
    assert QSvgRenderer(QByteArray(svg.encode())).isValid()


@pytest.mark.parametrize("end", ENDS)
@pytest.mark.parametrize("name", CIRCUITS)
def test_no_words_lie_on_each_other_or_leave_the_drawing(qapp, design, name, end):
    for fitted in ({}, FULL):
        values = {"interrupter.parts.circuit": name, **fitted, **ENDS[end]}
        svg = drawn(with_values(design, values))
        found = boxes(svg)
        assert len(found) > 15
        box = re.search(r'viewBox="([^"]+)"', svg)[1].split()
        left, top, width, height = map(float, box)
        for one in found:
            assert left <= one[0] <= one[2] <= left + width, one
            assert top <= one[1] <= one[3] <= top + height, one
        for one, two in combinations(found, 2):
            apart = one[2] <= two[0] or two[2] <= one[0] or one[3] <= two[1] or two[3] <= one[1]
            assert apart, (one, two)


def test_parts_that_are_not_fitted_are_not_drawn(qapp, design):
    values = {"interrupter.parts.circuit": "astable-classic", "interrupter.parts.potentiometer": 0}
    svg = drawn(with_values(design, values))
    assert not [text for text in words(svg) if text.startswith(("RV", "Q"))]
    assert not [text for text in words(svg) if text.endswith(" V") and text.startswith("D")]


@pytest.mark.parametrize(
    ("values", "told"),
    [
        ({}, {"U1 gate driver", "on when high", "enable"}),
        ({f"{CHAIN}.active_level": "low"}, {"U1 gate driver", "on when low", "enable"}),
        ({f"{CHAIN}.gating": "supply"}, {"U3 switch", "supply of U1"}),
        ({"drive.kind": "direct"}, {"Q2", "gate of Q1"}),
    ],
)
def test_the_chain_ends_where_the_design_has_it_act(qapp, design, values, told):
    changed = with_values(design, values)
    assert told <= set(words(drawn(changed)))
    listed = {part.reference for part in parts_list(evaluate(changed, verify=False)).parts}
    assert {text.split()[0] for text in told if re.match(r"[UQ]\d", text)} <= listed


def test_a_part_that_no_value_suits_says_so(qapp, design):
    svg = drawn(with_values(design, ENDS["no value"]))
    reference = timer_references(with_values(design, ENDS["no value"]))["indicator_resistor"]
    assert f"{reference} no value works" in words(svg)


def test_values_and_references_follow_the_design(qapp, design):
    before = with_values(design, FULL)
    after = with_values(
        before,
        {
            f"{CHAIN}.buffer.overdrive": 8.0,
            f"{CHAIN}.buffer.collector_resistor": 1000.0,
            f"{CHAIN}.indicator.current": 1e-3,
            "protection.snubber": None,
        },
    )
    # With the snubber goes one resistor and one capacitor of lower number.
    for one, texts in (
        (before, {"R9 4.7 kΩ", "R10 110 kΩ", "R11 2.2 kΩ", "R8 3.9 kΩ", "C5 330 nF"}),
        (after, {"R8 1 kΩ", "R9 11 kΩ", "R10 10 kΩ", "R7 3.9 kΩ", "C4 330 nF"}),
    ):
        assert texts <= set(words(drawn(one))), sorted(words(drawn(one)))
