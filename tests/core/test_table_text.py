"""Titles of columns, and readers of users' text that must not search it again and again."""

from __future__ import annotations

import csv
import io
import math
import subprocess
import sys

import pytest
from hypothesis import given
from hypothesis import strategies as st

from burstwise.core.table_text import csv_text, split_title, table_lines

_LONGEST_WAIT = 120.0
"""Seconds; an expression that goes back over the text would need years for the same."""

_HOSTILE = r"""
from burstwise.core.bench.capture_dialect import is_number, sniffed_dialect
from burstwise.core.bench.cells import is_bare_number
from burstwise.core.bench.readings_text import parse_readings
from burstwise.core.coil.curves import parse_curve_csv
from burstwise.core.errors import InputError
from burstwise.core.units import quantity

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


_FORMULAS = (
    "=1+1", "+A1", "-A1", "@SUM(A1)", "|calc", "\t=1", "\r=1", "\n=1", " =1", "＝1", "＋1",
    "－A1", "＠a", "=cmd|' /C calc'!A0", "-2+3+cmd|' /C calc'!A0", "+", "=", "-1 A1",
    "-1(2)", "'=1", "''=1",
    '=HYPERLINK("http://example.org","x")',
)  # fmt: skip
_PLAIN = (
    "", "a=b", "12", "-12", "+5", "-1.5e-3", "-12 mV", "-40 °C", "-0,5 V", "-", "–", "−5 %",
    "'a", "±5 %",
)  # fmt: skip


@pytest.mark.parametrize("text", _FORMULAS)
def test_no_text_begins_as_a_formula(text):
    """What CSV readers other than ours see of the cell, by the standard library."""
    (cell,) = next(csv.reader(io.StringIO(csv_text([[text]]), newline="")))
    assert cell == f"'{text}".replace("\r", "\n")


@pytest.mark.parametrize("text", _PLAIN)
def test_numbers_and_other_texts_stay_as_they_are(text):
    assert next(csv.reader(io.StringIO(csv_text([[text, "x"]])))) == [text, "x"]


def test_numbers_are_written_exactly_and_nothing_as_an_empty_cell():
    assert csv_text([[-0.1, 1e-12, -math.inf, 7, None, True]]) == "-0.1,1e-12,-inf,7,,True\n"


@given(st.lists(st.lists(st.text("'=+-@|a1 ;\"", max_size=6), min_size=1, max_size=3), max_size=4))
def test_what_is_written_is_read_back(rows):
    stripped = [[cell.strip() for cell in row] for row in rows]
    lines = table_lines(csv_text(stripped, separator=";"), separator=";")
    assert [line.cells for line in lines] == stripped
