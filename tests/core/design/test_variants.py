"""Variants live in the file, change what they say and nothing else."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from burstwise.core.design.differences import compared, differences, differing_values
from burstwise.core.design.document import Design, with_values
from burstwise.core.design.variant import Variant
from burstwise.core.design.variants import variant_design, variant_of
from burstwise.core.errors import InputError
from burstwise.core.storage import design_from_text, load, save, text_of
from burstwise.core.units import shown

EXAMPLES = Path(__file__).parents[3] / "resources" / "examples"


@pytest.fixture
def design() -> Design:
    return load(EXAMPLES / "classroom-gated-interrupted.burstwise")


def test_a_file_keeps_its_variants(design: Design, tmp_path: Path) -> None:
    kept = with_values(
        design, {"variants": [Variant(name="half", changes={"interrupter.duty": 0.15})]}
    )
    save(kept, tmp_path / "a.burstwise")
    assert load(tmp_path / "a.burstwise").variants[0].changes == {"interrupter.duty": 0.15}


def test_a_file_without_variants_loads(design: Design) -> None:
    import json

    data = json.loads(text_of(design))
    data.pop("variants")
    assert design_from_text(json.dumps(data)).variants == ()


def test_a_variant_changes_what_it_says_and_nothing_else(design: Design) -> None:
    variant = Variant(name="stiff", changes={"supply.voltage": 24.0, "drive.kind": "direct"})
    made = variant_design(design, variant)
    assert [item.path for item in differences([design, made])] == ["drive.kind", "supply.voltage"]
    assert made.name == f"{design.name}: stiff"


def test_a_variant_made_from_two_designs_turns_one_into_the_other(design: Design) -> None:
    changed = with_values(design, {"interrupter.frequency": 15.0, "cooling.sink_resistance": 9.0})
    variant = variant_of("slow", design, changed)
    made = variant_design(design, variant)
    assert differences([made, changed]) == ()


def test_a_change_out_of_its_limits_is_refused(design: Design) -> None:
    with pytest.raises(InputError, match=r"interrupter\.duty"):
        variant_design(design, Variant(name="much", changes={"interrupter.duty": 2.0}))
    with pytest.raises(InputError, match="colour"):
        variant_design(design, Variant(name="odd", changes={"supply.colour": 2.0}))


def rows(*designs: Design) -> dict[str, tuple[str, ...]]:
    return {item.title: item.texts for item in differences(designs)}


def test_a_part_fitted_in_one_only_is_one_line_before_its_fields(design: Design) -> None:
    bare = with_values(design, {"protection.snubber": None, "protection.drain_clamp": {}})
    found = rows(design, bare)
    assert list(found) == [
        "Drain clamp", "Clamp voltage", "Slope resistance", "Power rating",
        "Drain snubber", "Snubber resistor", "Snubber capacitor",
    ]  # fmt: skip
    assert found["Drain clamp"] == ("none", "fitted")
    assert found["Clamp voltage"] == ("–", "480 V")
    assert found["Drain snubber"] == ("fitted", "none")
    assert found["Snubber resistor"] == (shown(design.protection.snubber.resistance, "Ω"), "–")
    assert rows(design, with_values(design, {"protection.fuse_rating": None})) == {
        "Fuse in the main supply": (shown(design.protection.fuse_rating, "A"), "none")
    }


CHANGES: dict[str, dict[str, object]] = {
    "part removed": {"protection.snubber": None},
    "part fitted": {"protection.drain_clamp": {"voltage": "320V"}},
    "part exchanged": {
        "protection.snubber": None, "protection.reservoir_clamp": {"resistance": "10k"},
    },
    "part changed": {"protection.snubber": {"resistance": 47.0, "capacitance": "1n"}},
    "drive exchanged": {"drive.kind": "direct", "drive.direct.bias_voltage": 4.2},
    "chain": {"interrupter.chain.buffer": {}, "interrupter.chain.indicator": {"current": "2mA"}},
    "supply": {"supply.low_voltage": {"kind": "zener"}, "protection.fuse_rating": None},
    "list": {"device.thermal_network": [{"resistance": 1.0, "time_constant": 0.1}]},
}  # fmt: skip


@pytest.mark.parametrize("name", CHANGES)
def test_a_variant_fits_removes_and_exchanges_parts(
    design: Design, name: str, tmp_path: Path
) -> None:
    changed = with_values(design, CHANGES[name])
    kept = with_values(design, {"variants": [variant_of(name, design, changed)]})
    save(kept, tmp_path / "a.burstwise")
    again = load(tmp_path / "a.burstwise")
    assert again == kept
    made = variant_design(again, again.variants[0])
    assert made == with_values(changed, {"name": made.name})
    back = with_values(changed, differing_values(changed, design))
    assert back == design


def test_whole_examples_turn_into_each_other(design: Design) -> None:
    for file in sorted(EXAMPLES.glob("*.burstwise")):
        other = load(file)
        made = variant_design(design, variant_of("other", design, other))
        assert compared(made) == compared(other)
        assert differences([made, other]) == ()


def test_a_change_within_a_part_that_is_gone_is_refused(design: Design) -> None:
    variant = Variant(name="soft", changes={"protection.snubber.resistance": 220.0})
    assert variant_design(design, variant).protection.snubber.resistance == 220.0
    bare = with_values(design, {"protection.snubber": None})
    with pytest.raises(InputError, match=r"protection\.snubber\.resistance .* a fitted part"):
        variant_design(bare, variant)


def test_numbers_without_end_and_parts_without_sense_are_refused(design: Design) -> None:
    for value, path in ((math.inf, "supply"), ({"voltage": math.nan}, "supply.voltage")):
        with pytest.raises(InputError, match="must be a finite number") as caught:
            with_values(design, {"variants": [{"name": "x", "changes": {"supply": value}}]})
        assert caught.value.field == f"variants.0.changes.{path}"
    part = Variant(name="x", changes={"protection.snubber": {"resistance": -1.0}})
    with pytest.raises(InputError, match=r"protection\.snubber\.resistance"):
        variant_design(design, part)


def test_lists_that_differ_do_not_look_the_same(design: Design) -> None:
    network = [{"resistance": 1.0, "time_constant": 0.1}] * len(design.device.thermal_network)
    texts = rows(design, with_values(design, {"device.thermal_network": network}))
    assert len(set(texts["Junction-to-case Foster network"])) == 2


def test_titles_and_units_are_the_designs_own(design: Design) -> None:
    other = with_values(design, {"supply.voltage": 24.0, "interrupter.duty": 0.15})
    texts = {item.title: item.texts for item in differences([design, other])}
    assert texts == {"Duty": ("30 %", "15 %"), "Supply voltage": ("36 V", "24 V")}
