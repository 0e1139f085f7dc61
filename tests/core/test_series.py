"""Preferred values against the standard's figures and an independent library; RKM codes."""

import csv
from pathlib import Path

import eseries
import numpy as np
import pytest

from burstwise.core.errors import InputError
from burstwise.core.series import (
    SERIES,
    nearest_value,
    series_named,
    series_values,
    value_above,
    value_below,
)
from burstwise.core.units import quantity

with (Path(__file__).parents[1] / "reference" / "interrupter_series.csv").open() as file:
    ROWS = list(csv.DictReader(file))


def rows(start):
    found = [row for row in ROWS if row["id"].startswith(start)]
    assert found
    return found


def given(row):
    return dict(pair.split("=") for pair in row["inputs"].split())


@pytest.mark.parametrize("name", ["E6", "E24"])
def test_series_of_two_figures_match_the_standard(name):
    expected = [float(v) / 10 for v in rows(f"L-{name}")[0]["value"].split()]
    assert list(series_named(name).values) == expected


def test_e96_matches_the_standard():
    expected = {row["result"]: row["value"] for row in rows("L-E96")}
    values = [round(100 * v) for v in series_named("E96").values]
    assert len(values) == int(expected["count"])
    assert values[:10] == [int(v) for v in expected["first10"].split()]
    assert values[-5:] == [int(v) for v in expected["last5"].split()]
    assert sum(values) == int(expected["sum"])


@pytest.mark.parametrize("name", list(SERIES))
def test_every_series_matches_the_library(name):
    library = eseries.series(getattr(eseries, name))
    scale = 10.0 ** np.floor(np.log10(library[0]))
    assert np.allclose(series_named(name).values, np.array(library) / scale, rtol=1e-12)
    assert series_named(name).tolerance == pytest.approx(
        eseries.tolerance(getattr(eseries, name)), abs=1e-12
    )


@pytest.mark.parametrize("row", rows("L-NEAR"), ids=lambda row: f"{row['id']}-{row['result']}")
def test_neighbours_match_the_figures(row):
    find = {"nearest": nearest_value, "below": value_below, "above": value_above}[row["result"]]
    value = find(float(given(row)["x"]), series=given(row)["series"])
    assert value == pytest.approx(float(row["value"]), rel=1e-12)


@pytest.mark.parametrize("name", ["E3", "E12", "E48", "E96"])
def test_neighbours_match_the_library(name):
    key = getattr(eseries, name)
    for value in np.geomspace(1.23e-12, 4.56e6, 97):
        assert nearest_value(value, series=name) == pytest.approx(
            eseries.find_nearest(key, value), rel=1e-9
        )
        assert value_below(value, series=name) == pytest.approx(
            eseries.find_less_than_or_equal(key, value), rel=1e-9
        )
        assert value_above(value, series=name) == pytest.approx(
            eseries.find_greater_than_or_equal(key, value), rel=1e-9
        )


@pytest.mark.parametrize("name", list(SERIES))
def test_a_preferred_value_is_its_own_neighbour(name):
    for value in series_values(name, 1e-9, 9.99e-9):
        assert value_below(value, series=name) == value == value_above(value, series=name)


def test_range_includes_both_limits_and_rises():
    values = series_values("E24", 1e3, 1e5)
    assert values[0] == 1e3
    assert values[-1] == 1e5
    assert len(values) == 49
    assert np.all(np.diff(values) > 0)


@pytest.mark.parametrize("row", rows("L-RKM"), ids=lambda row: given(row)["code"])
def test_letter_codes_read_as_their_value(row):
    unit = {"ohm": "Ω", "farad": "F"}[row["result"]]
    assert quantity(given(row)["code"], unit) == pytest.approx(float(row["value"]), rel=1e-12)


@pytest.mark.parametrize(
    "call",
    [
        lambda: series_named("E25"),
        lambda: series_values("E24", 0.0, 1.0),
        lambda: series_values("E24", 2.0, 1.0),
        lambda: nearest_value(-1.0, series="E24"),
        lambda: value_above(float("nan"), series="E24"),
    ],
)
def test_bad_input_is_refused(call):
    with pytest.raises(InputError):
        call()
