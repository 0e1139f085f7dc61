"""Free text of a design: what a file, a drawing or a printed sheet cannot hold is refused."""

from __future__ import annotations

import json
from pathlib import Path
from xml.etree.ElementTree import fromstring

import pytest

from burstwise.core import storage
from burstwise.core.bench.pasted import pasted_cells
from burstwise.core.bench.readings import Reading
from burstwise.core.bench.sheet import cells_of
from burstwise.core.design.document import Design, design_from, with_value
from burstwise.core.errors import InputError

_EXAMPLE = (
    Path(__file__).parents[3] / "resources" / "examples" / "classroom-gated-interrupted.burstwise"
)
_LINES = ("name", "device.name")
_CONTROLS = ("\x00", "\x07", "\x1b", "\x7f", "\x85", "\ud800", "\ufffe", "\u2028")


@pytest.fixture(scope="module")
def design() -> Design:
    return storage.load(_EXAMPLE)


@pytest.mark.parametrize("mark", [*_CONTROLS, "\n", "\t"])
@pytest.mark.parametrize("path", _LINES)
def test_a_line_of_words_holds_no_control_character(design: Design, path: str, mark: str) -> None:
    with pytest.raises(InputError) as caught:
        with_value(design, path, f"a{mark}b")
    assert caught.value.field == path
    assert f"U+{ord(mark):04X} at place 2" in str(caught.value)
    assert len(str(caught.value).splitlines()) == 1


@pytest.mark.parametrize("mark", _CONTROLS)
def test_notes_hold_lines_and_tabs_but_no_other_control(design: Design, mark: str) -> None:
    assert with_value(design, "notes", "a\n\tb\r\n").notes == "a\n\tb\r\n"
    with pytest.raises(InputError, match="notes must be text without control"):
        with_value(design, "notes", f"a{mark}b")


@pytest.mark.parametrize(
    ("part", "field"),
    [
        ({"readings": {"rows": [{"supply": "1\x002"}]}}, "readings.rows.0.supply"),
        ({"readings": {"rows": [{"note": "a\x07"}]}}, "readings.rows.0.note"),
        ({"calibration": {"source": "a\x07"}}, "calibration.source"),
        ({"variants": [{"name": "a\x07"}]}, "variants.0.name"),
        ({"variants": [{"name": "a", "changes": {"notes": "\ud800"}}]}, "variants.0.changes"),
        ({"variants": [{"name": "a", "changes": {"\x00": 1}}]}, "variants.0.changes"),
        ({"variants": [{"name": "a", "changes": {"x": [{"y": "\x1b"}]}}]}, "variants.0.changes"),
    ],
)
def test_every_free_text_of_a_file_is_looked_at(design: Design, part: dict, field: str) -> None:
    text = json.dumps({**design.model_dump(mode="json"), **part})
    with pytest.raises(InputError) as caught:
        storage.design_from_text(text)
    assert caught.value.field == field
    assert "control character" in str(caught.value)


def test_words_of_all_languages_pass_and_are_saved(design: Design) -> None:
    name = "Spule Ω 東京 سلك 🔌 –"
    kept = with_value(design, "device.name", name)
    assert storage.design_from_text(storage.text_of(kept)).device.name == name


def test_what_passes_is_well_formed_in_a_drawing() -> None:
    """Every character that a line may hold is one that XML 1.0 knows."""
    for code in [
        *range(0x300),
        *range(0x2000, 0x2070),
        *range(0xD7F0, 0xE010),
        *range(0xFFF0, 2**16),
    ]:
        try:
            design_from({"name": f"a{chr(code)}", "coil": {}})
        except InputError as error:
            if "control character" in str(error):
                continue
        fromstring(f'<a b="{chr(code).translate({38: "", 60: "", 34: ""})}"/>')


def test_a_damaged_cell_does_not_keep_the_others_of_a_paste_out(design: Design) -> None:
    rows = pasted_cells([], "12\x00V\t0.1\n24\t0.2\n", row=0, column=0)
    assert [(row.supply, row.duty) for row in rows] == [("12 V", "0.1"), ("24", "0.2")]
    taken = with_value(design, "readings.rows", [row.model_dump() for row in rows])
    assert taken.readings.rows == rows


def test_a_row_from_a_capture_with_an_odd_name_can_be_kept() -> None:
    assert cells_of(Reading(supply=24.0, note="run\x1b\ud800" + "x" * 3000)).note.startswith(
        "run  x"
    )


def test_lists_and_texts_that_are_too_long_are_counted(design: Design) -> None:
    with pytest.raises(InputError, match="at most 120 characters; instead received 5,000 char"):
        with_value(design, "name", "x" * 5000)
    rows = [{"supply": "24"}] * 1001
    with pytest.raises(InputError, match="at most 1,000 entries; instead received 1,001 entries"):
        with_value(design, "readings.rows", rows)
