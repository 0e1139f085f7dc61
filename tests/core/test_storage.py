"""Design files: what is saved is loaded, old formats are lifted, broken files say where."""

from __future__ import annotations

import json
import os
from pathlib import Path

import pytest

from burstwise.core import storage
from burstwise.core.design.document import Design, design_from, with_value
from burstwise.core.disk import whole_copy
from burstwise.core.errors import FileError, InputError

COIL = {
    "measured": {
        "primary_inductance": 8e-6,
        "primary_resistance": 0.05,
        "secondary_inductance": 12e-3,
        "secondary_capacitance": 14e-12,
        "quality_factor": 150,
        "coupling": 0.2,
        "breakout_voltage": 20e3,
    }
}


@pytest.fixture
def design() -> Design:
    return design_from({"name": "Spule — Prüfstück", "coil": COIL})


def test_round_trip_is_exact(design: Design, tmp_path: Path) -> None:
    file = tmp_path / "coil.burstwise"
    storage.save(design, file)
    assert storage.load(file) == design
    assert [item.name for item in tmp_path.iterdir()] == [file.name]


def test_a_failed_write_leaves_the_old_file(
    design: Design, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    file = tmp_path / "coil.burstwise"
    storage.save(design, file)

    def refuse(_: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", refuse)
    with pytest.raises(FileError, match="No space left"):
        storage.save(with_value(design, "supply.voltage", 99), file)
    assert storage.load(file) == design
    assert [item.name for item in tmp_path.iterdir()] == [file.name]


def test_a_folder_that_is_not_there_is_named(design: Design, tmp_path: Path) -> None:
    with pytest.raises(FileError, match="nowhere"):
        storage.save(design, tmp_path / "nowhere" / "coil.burstwise")


def test_older_format_is_lifted() -> None:
    old = {"format": 0, "coil": COIL, "interrupter": {"duty_percent": 35}}
    design = storage.design_from_text(json.dumps(old))
    assert design.interrupter.duty == pytest.approx(0.35)
    assert design.format == 2
    # What the first formats knew of the output capacitance was one constant.
    assert design.device.capacitance_law == "constant"


def test_a_file_of_the_first_format_keeps_its_device() -> None:
    old = {"format": 1, "coil": COIL, "device": {"output_capacitance": 9e-11}}
    device = storage.design_from_text(json.dumps(old)).device
    assert (device.capacitance_law, device.output_capacitance) == ("constant", 9e-11)
    # What was related to the stored energy stays so when the user takes a law.
    assert device.output_capacitance_is == "energy related"


@pytest.mark.parametrize(
    ("text", "part"),
    [
        ('{"format": 99}', "newer version"),
        ('{"format": -3}', "format -3"),
        ('{"format": true}', "number of the file format"),
        ("{}", "number of the file format"),
        ("[1, 2]", "a JSON object"),
        ('{\n"format": 1,\n"coil": }', "line 3"),
        ("[" * 100000, "endless nesting"),
    ],
)
def test_broken_texts_say_what_is_wrong(text: str, part: str) -> None:
    with pytest.raises(InputError, match=part):
        storage.design_from_text(text)


@pytest.mark.parametrize("digits", [309, 400, 4200, 4400, 10_000])
def test_a_number_of_hundreds_of_digits_is_refused_in_one_line(
    design: Design, tmp_path: Path, digits: int
) -> None:
    """No float holds 310 digits; Python itself reads no integer of more than 4,300."""
    text = storage.text_of(design)
    known = f'"voltage": {design.supply.voltage}'
    assert text.count(known) == 1
    file = tmp_path / "long.burstwise"
    file.write_text(text.replace(known, f'"voltage": {"1" * digits}'))
    with pytest.raises(InputError) as caught:
        storage.load(file)
    assert "\n" not in str(caught.value)
    assert len(str(caught.value)) < 320


@pytest.mark.parametrize(
    ("known", "other"),
    [
        ('"name": "', r'"name": "\ud800'),
        ('"notes": "', r'"notes": "\ud800'),
        ('"supply": {', r'"supply": {"\ud800": 1,'),
        ('"coil": {', r'"\ud800": 1, "coil": {'),
    ],
)
def test_half_a_character_is_refused(design: Design, known: str, other: str) -> None:
    """A lone surrogate, which JSON can spell and UTF-8 cannot."""
    text = storage.text_of(design)
    assert known in text
    with pytest.raises(InputError) as caught:
        storage.design_from_text(text.replace(known, other, 1))
    str(caught.value).encode("utf-8")
    assert not str(caught.value).startswith(" ")


def test_other_bytes_are_refused(tmp_path: Path) -> None:
    file = tmp_path / "picture.burstwise"
    file.write_bytes(b"\x89PNG\xff\xfe")
    with pytest.raises(FileError, match="UTF-8"):
        storage.load(file)


def test_a_wrong_field_is_named_with_value_and_limit(design: Design, tmp_path: Path) -> None:
    data = json.loads(storage.text_of(design))
    data["supply"]["voltage"] = -12
    file = tmp_path / "coil.burstwise"
    file.write_text(json.dumps(data), encoding="utf-8")
    with pytest.raises(InputError) as caught:
        storage.load(file)
    assert caught.value.field == "supply.voltage"
    assert "between 1 V and 400 V; instead received -12" in str(caught.value)


def test_schema_in_the_docs_is_that_of_the_code() -> None:
    kept = Path(__file__).parents[2] / "docs" / "design.schema.json"
    assert kept.read_text(encoding="utf-8") == storage.schema_text(), (
        "run: python -m burstwise.core.storage > docs/design.schema.json"
    )


@pytest.mark.skipif(os.name != "posix", reason="links as POSIX has them")
def test_a_save_that_was_cut_off_says_where_the_whole_is(design: Design, tmp_path: Path) -> None:
    file = tmp_path / "coil.burstwise"
    text = storage.text_of(design)
    file.write_text(text[:100], encoding="utf-8")
    whole = whole_copy(file)
    whole.write_text(text, encoding="utf-8")
    with pytest.raises(FileError, match="cut off") as caught:
        storage.load(file)
    assert whole.name in str(caught.value)
    assert storage.load(whole) == design
    storage.save(design, file)
    assert [item.name for item in tmp_path.iterdir()] == [file.name]


def test_what_is_no_file_is_refused_by_kind_and_size(odd_files: dict[str, Path]) -> None:
    for words, file in odd_files.items():
        with pytest.raises(FileError, match=f"instead received {words}$"):
            storage.load(file)
