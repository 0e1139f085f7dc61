"""Remedies that choose a part take one that lies in the drawer, and no other."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from burstwise.core.design.document import Design, with_values
from burstwise.core.drawer import Drawer, DrawerPart, parts_from
from burstwise.core.limits.device_classes import devices_by_name
from burstwise.core.storage import load
from burstwise.core.studies.remedies_at_hand import at_hand
from burstwise.core.studies.remedy_kinds import KINDS, Kind, other_device

EXAMPLES = Path(__file__).parents[3] / "resources" / "examples"
FITTING = "650 V, 30 A superjunction, non-isolated"


@pytest.fixture(scope="module")
def design() -> Design:
    return load(EXAMPLES / "classroom-gated-spiking.burstwise")


def kinds_with(*parts: DrawerPart) -> dict[str, Kind]:
    kinds = (*KINDS, other_device(devices_by_name()))
    return {kind.name: kind for kind in at_hand(kinds, Drawer(parts), devices_by_name())}


def tried(kind: Kind, design: Design, path: str) -> list[float]:
    return [dict(edits)[path] for _, edits in kind.edits(design)]  # type: ignore[misc]


def test_gate_resistors_near_the_present_one_the_larger_first(design: Design) -> None:
    ten = with_values(design, {"drive.gated.gate_resistor": 10.0})
    kind = kinds_with(*parts_from("resistor", "1 4.7 6.8 10 15 47 100 1k", "", ""))
    path = "drive.gated.gate_resistor"
    # By hand: a quarter to six times of 10 ohm, the present one left out.
    assert tried(kind["gate_resistor"], ten, path) == [15.0, 47.0, 6.8, 4.7]


def test_a_snubber_of_what_is_there(design: Design) -> None:
    own = with_values(design, {"device.output_capacitance": 100e-12})
    resistors = parts_from("resistor", "10 33 68 1k", "", "")
    capacitors = parts_from("film capacitor", "22p 100p 470p 10n", "", "")
    kind = kinds_with(*resistors, *capacitors, *parts_from("x7r capacitor", "220p", "", ""))
    made = [dict(edits)["protection.snubber"] for _, edits in kind["snubber"].edits(own)]
    # From half to eight times of 100 pF; 33 ohm lies nearest to 47 ohm by ratio; no X7R.
    assert made == [
        {"resistance": 33.0, "capacitance": 100e-12},
        {"resistance": 33.0, "capacitance": 470e-12},
    ]
    text = next(text for text, _ in kind["snubber"].edits(own))
    assert "from the drawer" in text
    assert "stand" in text, "nobody knows what a part of the drawer is rated for"


def test_larger_top_loads_and_listed_devices_only(design: Design) -> None:
    part = with_values(design, {"coil.geometry.top_load.diameter": 0.05})
    names = [DrawerPart("device", math.nan, name) for name in (FITTING, "own sort")]
    kind = kinds_with(*names, *parts_from("top load", "40mm 80mm 150mm", "", ""))
    assert tried(kind["top_load"], part, "coil.geometry.top_load.diameter") == [0.08]
    rated = with_values(part, {"device": devices_by_name()["500 V, 8 A planar, non-isolated"]})
    devices = [dict(edits)["device"] for _, edits in kind["device"].edits(rated)]
    assert devices == [devices_by_name()[FITTING]]


def test_what_nobody_listed_is_chosen_as_before(design: Design) -> None:
    kinds = kinds_with(*parts_from("wire", "0.2 mm", "", ""))
    for before in KINDS:
        assert list(kinds[before.name].edits(design)) == list(before.edits(design))
