"""Errors that carry field, value and limit, and findings in order of weight."""

from __future__ import annotations

import pickle

import pytest

from core.errors import FileError, InputError
from core.findings import Finding, Severity, caution, heaviest_first, note, stop


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
