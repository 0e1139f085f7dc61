"""Variants live in the file, change what they say and nothing else."""

from __future__ import annotations

from pathlib import Path

import pytest

from core.design.differences import differences
from core.design.document import Design, with_values
from core.design.variants import Variant, variant_design, variant_of
from core.errors import InputError
from core.storage import design_from_text, load, save, text_of

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


def test_parts_fitted_in_one_only_are_said_and_do_not_make_a_variant(design: Design) -> None:
    bare = with_values(design, {"protection.snubber": None})
    paths = {item.path: item.texts for item in differences([design, bare])}
    assert any("not fitted" in texts for texts in paths.values())
    with pytest.raises(InputError, match="snubber"):
        variant_of("bare", design, bare)


def test_titles_and_units_are_the_designs_own(design: Design) -> None:
    other = with_values(design, {"supply.voltage": 24.0, "interrupter.duty": 0.15})
    texts = {item.title: item.texts for item in differences([design, other])}
    assert texts == {"Duty": ("30 %", "15 %"), "Supply voltage": ("36 V", "24 V")}
