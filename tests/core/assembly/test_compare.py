"""Designs side by side show each design's own evaluation."""

from __future__ import annotations

import csv
import io
from collections.abc import Callable
from dataclasses import replace

from burstwise.core.evaluate.results import Results
from burstwise.core.report.compare import comparison, comparison_csv
from burstwise.core.units import shown

Evaluated = Callable[[str], Results]


def test_every_column_is_that_designs_own_evaluation(evaluated: Evaluated) -> None:
    items = [evaluated("classroom-direct-continuous"), evaluated("demonstration-gated-large")]
    found = comparison(items)
    rows = {row.key: row.texts for row in found.results}
    assert rows["burst.average_power_W"] == tuple(shown(i.average_power, "W") for i in items)
    assert rows["burst.on_time_s"][0] == "without end"
    margins = {row.key: row.texts for row in found.margins}
    for number, item in enumerate(items):
        for limit in item.limits:
            text = margins[f"limits.{limit.rating}"][number]
            assert text == f"{shown(limit.margin, '%', digits=3)} {limit.verdict.value}"
        assert item.first_limit.title in found.first_limits[number]


def test_only_differing_fields_are_listed(evaluated: Evaluated) -> None:
    items = [evaluated("classroom-gated-interrupted"), evaluated("regulator")]
    keys = {row.key for row in comparison(items).fields}
    assert keys
    assert all(key.startswith("supply.low_voltage") for key in keys)


def test_csv_has_a_column_per_design(evaluated: Evaluated) -> None:
    items = [evaluated("classroom-direct-continuous"), evaluated("demonstration-gated-large")]
    found = comparison(items)
    rows = list(csv.reader(io.StringIO(comparison_csv(found))))
    assert rows[0] == ["part", "key", "title", *found.names]
    assert len(rows) == 1 + len(found.fields) + len(found.results) + len(found.margins)


def test_the_name_of_a_design_is_no_formula_to_a_spreadsheet(evaluated: Evaluated) -> None:
    items = [evaluated("classroom-direct-continuous"), evaluated("demonstration-gated-large")]
    found = replace(comparison(items), names=("=1+cmd|' /C calc'!A0", "@plain"))
    head = next(csv.reader(io.StringIO(comparison_csv(found))))
    assert head[3:] == ["'=1+cmd|' /C calc'!A0", "'@plain"]
