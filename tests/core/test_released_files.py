"""Files of released versions open, keep what they say, and evaluate; newer ones are refused."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from burstwise.core import storage
from burstwise.core.design.document import FORMAT, Design, value_at
from burstwise.core.errors import FileError, InputError
from burstwise.core.evaluate import evaluate
from burstwise.core.version import VERSION

RELEASED = sorted((Path(__file__).parents[1] / "reference" / "released").glob("*/*.burstwise"))
NAMES = [f"{file.parent.name}/{file.stem}" for file in RELEASED]
NEWER = "999.0.0"


def plain_values(data: object, path: str = "") -> dict[str, object]:
    """Each number, text and truth value of a file by its dotted path."""
    if isinstance(data, dict):
        parts = ((f"{path}.{key}" if path else key, value) for key, value in data.items())
    elif isinstance(data, list):
        parts = ((f"{path}.{number}", value) for number, value in enumerate(data))
    else:
        return {path: data}
    found: dict[str, object] = {}
    for name, value in parts:
        found |= plain_values(value, name)
    return found


def test_each_format_has_released_files() -> None:
    formats = {json.loads(file.read_text("utf-8"))["format"] for file in RELEASED}
    assert set(range(1, FORMAT)) <= formats


@pytest.mark.parametrize("file", RELEASED, ids=NAMES)
def test_a_released_file_keeps_every_value(file: Path) -> None:
    design = storage.load(file)
    written = plain_values(json.loads(file.read_text("utf-8")))
    assert len(written) > 80
    changed = {
        path: (value, value_at(design, path))
        for path, value in written.items()
        if path != "format" and value_at(design, path) != value
    }
    assert not changed


@pytest.mark.parametrize("file", RELEASED, ids=NAMES)
def test_a_released_file_evaluates_and_saves_as_of_now(file: Path, tmp_path: Path) -> None:
    design = storage.load(file)
    results = evaluate(design, verify=False)
    assert results.carrier.oscillates
    storage.save(design, tmp_path / file.name)
    assert storage.load(tmp_path / file.name) == design


def test_a_file_of_the_first_format_keeps_the_constant_capacitance() -> None:
    laws = {
        file.parent.name: storage.load(file).device.capacitance_law
        for file in RELEASED
        if file.stem == "classroom-gated-interrupted"
    }
    assert laws["0.1.0-format-1"] == "constant"
    assert laws["0.1.0-format-2"] != "constant"


def changed_text(design: Design, **keys: object) -> str:
    """A design's file with keys of its first level replaced."""
    return json.dumps({**json.loads(storage.text_of(design)), **keys})


def test_a_saved_file_says_which_version_saved_it(small_design: Design) -> None:
    assert json.loads(storage.text_of(small_design))["saved_by"] == VERSION


@pytest.mark.parametrize("keys", [{"format": FORMAT + 1}, {"resonant_modulator": {"gain": 3}}])
def test_a_newer_file_is_refused_with_the_version_it_wants(
    small_design: Design, keys: dict[str, object]
) -> None:
    with pytest.raises(FileError) as caught:
        storage.design_from_text(
            changed_text(small_design, saved_by=NEWER, **keys), source="coil.burstwise"
        )
    message = str(caught.value)
    assert message.startswith("coil.burstwise must be of version ")
    assert f"open it with version {NEWER} or newer" in message
    assert next(iter(keys)) in message
    assert "\n" not in message


def test_a_newer_file_that_holds_nothing_new_opens(small_design: Design) -> None:
    assert storage.design_from_text(changed_text(small_design, saved_by=NEWER)) == small_design


def test_an_unknown_field_of_this_version_is_named(small_design: Design) -> None:
    with pytest.raises(InputError, match="resonant_modulator must be a field of the design"):
        storage.design_from_text(changed_text(small_design, resonant_modulator=3))


@pytest.mark.parametrize("value", ["the newest", 2, ["0.2.0"], "0.2", "1" * 5000 + ".0.0"])
def test_a_version_that_is_none_is_refused(small_design: Design, value: object) -> None:
    with pytest.raises(InputError, match="saved_by must be a version"):
        storage.design_from_text(changed_text(small_design, saved_by=value))
