"""What parts cost by the prices of a drawer, counted by hand."""

from __future__ import annotations

from pathlib import Path

import pytest

from burstwise.core.assembly.cost import Cost, cost_of_parts
from burstwise.core.assembly.part import Part
from burstwise.core.assembly.parts import parts_list
from burstwise.core.assembly.powerup import PowerupPlan
from burstwise.core.drawer import Drawer, drawer_from_text
from burstwise.core.evaluate import evaluate
from burstwise.core.evaluate.results import Results
from burstwise.core.report.sheet import Paragraph
from burstwise.core.report.sheet_content import build_sheet
from burstwise.core.storage import load

EXAMPLES = Path(__file__).parents[3] / "resources" / "examples"
DRAWER = drawer_from_text(
    "kind,value,name,price\n"
    "resistor,11R,,0.30\n"
    "resistor,11R,dear,0.90\n"
    "resistor,1k,,0.20\n"
    "resistor,24k,,\n"
    "film capacitor,2.2u,,4.50\n"
    "c0g capacitor,330p,,0.75\n"
    "x7r capacitor,330p,,0.05\n"
    "wire,0.2mm,,9\n"
    'device,,"650 V, 13 A planar, full-pack",3.25\n'
)


@pytest.fixture(scope="module")
def results() -> Results:
    return evaluate(load(EXAMPLES / "classroom-gated-interrupted.burstwise"), verify=False)


@pytest.fixture(scope="module")
def parts(results: Results) -> tuple[Part, ...]:
    return parts_list(results).parts


def test_prices_are_added_up_piece_by_piece(parts: tuple[Part, ...]) -> None:
    cost = cost_of_parts(parts, DRAWER)
    named = {part.reference: part.role for part in parts}
    # The snubber resistor of 22 ohm is two pieces of 11 ohm, at the lower price of the two; its
    # capacitor is no X7R.
    assert {named[name]: price for name, price in cost.prices.items()} == pytest.approx(
        {
            "bleed": 0.20,
            "bus_film": 4.50,
            "switch": 3.25,
            "snubber_resistor": 0.60,
            "snubber_capacitor": 0.75,
        }
    )
    assert cost.total == pytest.approx(9.30)
    assert cost.count == len(parts)
    assert f"9.30 for 5 of {len(parts)} parts" in cost.text


def test_nothing_is_said_without_a_price(parts: tuple[Part, ...], results: Results) -> None:
    bare = drawer_from_text("kind,value,name,price\nresistor,1k,,\n")
    assert cost_of_parts(parts, bare).text == ""
    assert cost_of_parts(parts, Drawer()) == Cost({}, len(parts))
    assert not any("drawer" in text for text in _above_the_list(results, bare))


def test_the_sheet_tells_it(results: Results) -> None:
    told = [text for text in _above_the_list(results, DRAWER) if "prices in the drawer" in text]
    assert len(told) == 1
    assert "9.30" in told[0]


def _above_the_list(results: Results, drawer: Drawer) -> list[str]:
    sheet = build_sheet(results, PowerupPlan(()), drawer=drawer)
    section = next(one for one in sheet.sections if one.title == "Parts list")
    return [item.text for item in section.blocks if isinstance(item, Paragraph)]
