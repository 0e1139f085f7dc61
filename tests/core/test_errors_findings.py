"""Errors that carry field, value and limit, and findings in order of weight."""

from __future__ import annotations

import pickle

import pytest

from burstwise.core.errors import FileError, InputError, one_line
from burstwise.core.findings import Finding, Severity, caution, heaviest_first, note, stop


def test_input_error_reads_as_a_sentence_and_keeps_its_parts():
    error = InputError("supply.voltage", -5, "between 1 V and 1 kV")
    assert str(error) == "supply.voltage must be between 1 V and 1 kV; instead received -5"
    assert (error.field, error.value, error.limit) == (
        "supply.voltage",
        -5,
        "between 1 V and 1 kV",
    )
    assert isinstance(error, ValueError)


def test_file_error_names_the_line():
    error = FileError("a.csv", "x", "a number", line=7)
    assert str(error) == "a.csv, line 7 must be a number; instead received x"
    assert error.path == "a.csv"
    assert error.line == 7
    assert FileError("a.csv", "x", "readable").line is None


@pytest.mark.parametrize(
    ("make", "severity"),
    [(note, Severity.NOTE), (caution, Severity.CAUTION), (stop, Severity.STOP)],
)
def test_makers_give_their_severity(make, severity):
    assert make("code", "field", "text") == Finding(severity, "code", "field", "text")


def test_heaviest_first_is_stable_and_drops_repeats():
    a, b, c = note("a", "f", "t"), stop("b", "f", "t"), caution("c", "f", "t")
    d = stop("d", "f", "t")
    assert heaviest_first([a, b, c, d, b, a]) == (b, d, c, a)
    assert heaviest_first([]) == ()


def test_ranks_rise_with_weight():
    assert [s.rank for s in (Severity.NOTE, Severity.CAUTION, Severity.STOP)] == [0, 1, 2]


def test_findings_are_frozen_and_travel_between_processes():
    finding = stop("code", "field", "text")
    with pytest.raises(AttributeError):
        finding.code = "other"
    assert pickle.loads(pickle.dumps(finding)) == finding


@pytest.mark.parametrize(
    "value",
    [
        "12\n24",
        "\x1b[2J\x07",
        "a\r\nb",
        "\u2028x\u2029",
        "\x85",
        "x" * 5000,
        "\n" * 5000,
        "\u202etxt",
    ],
)
def test_a_message_is_one_short_line_whatever_was_received(value):
    error = InputError("name", value, "a name")
    told = str(error)
    assert len(told.splitlines()) == 1
    assert told.isprintable()
    assert len(told) <= len("name must be a name; instead received ") + 80
    assert error.value == value


def test_what_is_shown_of_a_value_can_be_recognised():
    assert str(InputError("a", "x\ty", "b")).endswith(r"received x\ty")
    assert str(InputError("a", "Ω µ – 東", "b")).endswith("received Ω µ – 東")
    assert one_line("x" * 80) == "x" * 80
    assert one_line("x" * 81) == "x" * 79 + "…"


def test_names_and_limits_stay_on_the_line_too():
    error = FileError("two\nlines.csv", "x", "one of a\x00b" + "c" * 5000, line=3)
    assert str(error).startswith(r"two\nlines.csv, line 3 must be one of a\x00bccc")
    assert len(str(error)) < 1000
    assert error.path == "two\nlines.csv"
