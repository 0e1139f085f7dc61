"""Designs side by side: what differs, what comes out, how far the limits are."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from burstwise.core.design.differences import Difference, differences
from burstwise.core.evaluate import figures_object
from burstwise.core.evaluate.result_rows import RESULT_ROWS, result_value
from burstwise.core.evaluate.results import Results
from burstwise.core.table_text import csv_text
from burstwise.core.units import shown


@dataclass(frozen=True, slots=True)
class CompareRow:
    """One line: a title and a text per design; `key` is the field's or the result's path."""

    key: str
    title: str
    texts: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Comparison:
    """Comparison of evaluated designs.

    Attributes
    ----------
    names : tuple of str
        Names of the designs.
    fields : tuple of CompareRow
        Design fields that differ.
    results : tuple of CompareRow
        Results of all.
    margins : tuple of CompareRow
        Margins of all ratings; a rating that a design does not have is a dash.
    first_limits : tuple of str
        What breaks first in each, with its margin.
    """

    names: tuple[str, ...]
    fields: tuple[CompareRow, ...]
    results: tuple[CompareRow, ...]
    margins: tuple[CompareRow, ...]
    first_limits: tuple[str, ...]


def comparison(compared: Sequence[Results]) -> Comparison:
    """Comparison of two or more evaluated designs."""
    found: tuple[Difference, ...] = differences([item.design for item in compared])
    known = [figures_object(item) for item in compared]
    return Comparison(
        names=tuple(item.design.name for item in compared),
        fields=tuple(CompareRow(item.path, item.title, item.texts) for item in found),
        results=tuple(
            CompareRow(
                row.path,
                row.title,
                tuple(row.text(result_value(one, row.path)) for one in known),
            )
            for row in RESULT_ROWS
        ),
        margins=_margins(compared),
        first_limits=tuple(
            f"{item.first_limit.title}, {_margin(item.first_limit.margin)}" for item in compared
        ),
    )


def _margins(compared: Sequence[Results]) -> tuple[CompareRow, ...]:
    titles = {limit.rating: limit.title for item in compared for limit in item.limits}
    rows = []
    for rating, title in titles.items():
        texts = []
        for item in compared:
            limit = next((one for one in item.limits if one.rating == rating), None)
            texts.append("–" if limit is None else f"{_margin(limit.margin)} {limit.verdict.value}")
        rows.append(CompareRow(f"limits.{rating}", title, tuple(texts)))
    return tuple(rows)


def _margin(value: float) -> str:
    return shown(value, "%", digits=3) if math.isfinite(value) else "none"


def comparison_csv(compared: Comparison) -> str:
    """Comparison as CSV text: part, key, title, then a column per design."""
    parts = (
        ("design", compared.fields), ("result", compared.results), ("margin", compared.margins),
    )  # fmt: skip
    lines = ([part, row.key, row.title, *row.texts] for part, rows in parts for row in rows)
    return csv_text([["part", "key", "title", *compared.names], *lines])
