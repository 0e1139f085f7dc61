"""Titles of columns, and readers of users' text that must not search it again and again."""

from __future__ import annotations

import subprocess
import sys

import pytest

from core.table_text import split_title, table_lines

_LONGEST_WAIT = 120.0
"""Seconds; an expression that goes back over the text would need years for the same."""

_HOSTILE = r"""
from core.bench.capture_dialect import is_number, sniffed_dialect
from core.bench.cells import is_bare_number
from core.bench.readings_text import parse_readings
from core.coil.curves import parse_curve_csv
from core.errors import InputError
from core.units import quantity

many = 300_000
texts = [" " * many, "(" * many, "1" * many, "1." * many, "[]" * many, "1" + " " * many + "V"]
texts += [f"a{text}b" for text in texts] + [f"{text}\nb" for text in texts]
for text in texts:
    is_number(text), is_bare_number(text)
    calls = [
        lambda: parse_readings(f"supply [V]\t{text}\n12\t1\n"),
        lambda: parse_readings(f"supply [V];shunt rms [V]\n12;{text.splitlines()[0]}\n"),
        lambda: parse_curve_csv([text, "1, 2"]),
        lambda: sniffed_dialect([f"time,{text}", "1,2", "2,3", "3,4"], name="x"),
        *(lambda unit=unit: quantity(text, unit) for unit in ("V", "m", "Ω", "", "°C")),
    ]
    for call in calls:
        try:
            call()
        except InputError:
            pass
print("through")
"""


@pytest.mark.parametrize(
    ("title", "parts"),
    [
        ("supply", ("supply", None)),
        ("  shunt rms (mV) ", ("shunt rms", "mV")),
        ("duty [ % ]", ("duty", "%")),
        ("duty []", ("duty", "")),
        ("CH1 (probe) [V]", ("CH1 (probe)", "V")),
        ("[V]", ("", "V")),
        ("", ("", None)),
        ("duty [%", None),
        ("duty %]", None),
        ("duty [%] here", None),
        ("a [b]]", None),
    ],
)
def test_titles(title, parts):
    assert split_title(title) == parts


def test_only_the_marks_asked_for_hold_a_unit():
    assert split_title("level (open) [dB]", opening="[", closing="]") == ("level (open)", "dB")
    assert split_title("level (dB)", opening="[", closing="]") == ("level (dB)", None)


def test_hostile_text_is_read_once():
    """300,000 marks each: a search that is only quadratic would take hours."""
    told = subprocess.run(
        [sys.executable, "-c", _HOSTILE],
        capture_output=True,
        text=True,
        timeout=_LONGEST_WAIT,
        check=False,
    )
    assert told.stdout == "through\n", told.stderr


@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_any_line_end_and_quoted_cells(end):
    text = end.join(["a; b ", '1; "2;3"', "", '"x ""y""";'])
    lines = list(table_lines(text, separator=";"))
    assert [line.cells for line in lines] == [["a", "b"], ["1", "2;3"], [], ['x "y"', ""]]
    assert [line.number for line in lines] == [1, 2, 3, 4]


def test_a_cell_may_be_longer_than_131072_characters():
    long = "x" * 400_000
    assert next(table_lines(f'1;"{long};"', separator=";")).cells == ["1", f"{long};"]
