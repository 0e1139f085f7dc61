"""Every whole part that a design can do without is offered, and the offer is a valid design."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from pydantic import BaseModel

from burstwise.core.design.differences import differences
from burstwise.core.design.document import Design, value_at, with_value
from burstwise.core.design.drive import Snubber
from burstwise.core.design.optional_parts import FLAGS, OPTIONAL_PARTS, part_changes
from burstwise.core.storage import load

EXAMPLES = Path(__file__).parents[3] / "resources" / "examples"
NO_PARTS = {"calibration", "interrupter.wish"}
"""Sections that may be missing but are no parts to solder."""


@pytest.fixture
def design() -> Design:
    return load(EXAMPLES / "classroom-gated-interrupted.burstwise")


def optional_sections(model: type[BaseModel], path: str = "") -> Iterator[str]:
    for name, info in model.model_fields.items():
        here = f"{path}.{name}" if path else name
        kinds = getattr(info.annotation, "__args__", (info.annotation,))
        sections = [one for one in kinds if isinstance(one, type) and issubclass(one, BaseModel)]
        if sections and type(None) in kinds:
            yield here
        elif sections and not getattr(info.annotation, "__origin__", None):
            yield from optional_sections(sections[0], here)


def flags(model: type[BaseModel], path: str = "") -> Iterator[str]:
    for name, info in model.model_fields.items():
        here = f"{path}.{name}" if path else name
        if name.endswith("_fitted"):
            yield here
        if isinstance(info.annotation, type) and issubclass(info.annotation, BaseModel):
            yield from flags(info.annotation, here)


def test_all_optional_parts_of_the_document_are_offered() -> None:
    assert set(optional_sections(Design)) - NO_PARTS == set(OPTIONAL_PARTS)
    assert set(flags(Design)) == set(FLAGS)


def test_each_change_is_by_one_part_and_can_be_taken_back(design: Design) -> None:
    changes = part_changes(design)
    names = {one.name for one in changes}
    assert {
        "with direct drive", "without drain snubber", "with drain clamp", "without fuse",
        "with reservoir clamp", "with indicator LED", "with low-voltage supply",
        "without bulk capacitor",
    } <= names  # fmt: skip
    for one in changes:
        made = with_value(design, one.path, one.value)
        found = differences([design, made])
        assert all(item.path == one.path or item.path.startswith(f"{one.path}.") for item in found)
        assert {"fitted", "none", "gated", "2 A"} & set(found[0].texts), one
        clamp = {"drive.direct.clamp_fitted"} if one.path == "drive.kind" else set()
        paths = {change.path for change in part_changes(made)}
        assert paths == {change.path for change in changes} | clamp


def test_parts_that_keep_their_values_are_told_in_one_line(design: Design) -> None:
    direct = with_value(design, "drive.kind", "direct")
    for name, title in (("gate clamp", "Gate clamp"), ("bulk capacitor", "Bulk capacitor")):
        change = next(one for one in part_changes(direct) if one.name == f"without {name}")
        made = with_value(direct, change.path, change.value)
        (line,) = differences([direct, made])
        assert (line.title, line.texts) == (title, ("fitted", "none"))


def test_a_part_comes_with_its_usual_values(design: Design) -> None:
    bare = with_value(design, "protection.snubber", None)
    change = next(one for one in part_changes(bare) if one.path == "protection.snubber")
    assert change.name == "with drain snubber"
    assert value_at(with_value(bare, change.path, change.value), change.path) == Snubber()
