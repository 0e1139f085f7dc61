"""The bibliography: every key that is used exists, every entry is used, each has its status."""

from __future__ import annotations

import csv
import json
import re
from collections import Counter
from dataclasses import replace
from pathlib import Path

import pytest

import burstwise
from burstwise.core.coil.resolve import coil_of
from burstwise.core.design.coil import REQUIRED_MEASURED
from burstwise.core.design.document import Design, with_values
from burstwise.core.errors import InputError
from burstwise.core.evaluate import evaluate
from burstwise.core.evaluate.results import Results
from burstwise.core.explain import sources
from burstwise.core.explain.explain import explain, explained_paths, sources_of
from burstwise.core.explain.sources import bibliography, keys_of
from burstwise.core.limits.ratings import RATINGS
from burstwise.core.report.sheet_content import build_sheet
from burstwise.core.storage import load

ROOT = Path(__file__).parents[3]
DATA = json.loads((ROOT / "resources/sources/bibliography.json").read_text("utf-8"))
TABLES = sorted((ROOT / "tests" / "reference").glob("*.csv"))
PAGES = sorted((ROOT / "docs").rglob("*.md"))
EXAMPLE = ROOT / "resources" / "examples" / "classroom-gated-interrupted.burstwise"
LINK = re.compile(r"\]\((?:\.\./)?sources\.md#([\w-]+)\)")


def rows_of(table: Path) -> list[dict[str, str]]:
    with table.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def keys_in_tables() -> set[str]:
    return {key for table in TABLES for row in rows_of(table) for key in row["keys"].split()}


def keys_in_pages() -> set[str]:
    return {key for page in PAGES for key in LINK.findall(page.read_text("utf-8"))}


def keys_in_code() -> set[str]:
    text = Path(sources.__file__).read_text("utf-8") + (
        ROOT / "core" / "explain" / "explain.py"
    ).read_text("utf-8")
    return {key for key in bibliography() if f'"{key}"' in text}


@pytest.fixture(scope="module")
def results() -> Results:
    return evaluate(load(EXAMPLE), verify=False)


def test_keys_are_unique_and_each_has_a_known_status() -> None:
    keys = Counter(row["key"] for row in DATA["sources"])
    assert max(keys.values()) == 1
    assert {row["status"] for row in DATA["sources"]} == set(DATA["statuses"])
    assert all(row["entry"].strip() for row in DATA["sources"])


@pytest.mark.parametrize("table", TABLES, ids=lambda table: table.stem)
def test_every_row_of_a_table_names_keys_that_exist(table: Path) -> None:
    for row in rows_of(table):
        keys = row["keys"].split()
        assert keys, row
        assert set(keys) <= set(bibliography()), row


def test_every_key_of_a_page_exists() -> None:
    assert keys_in_pages() <= set(bibliography())


def test_every_entry_is_used() -> None:
    used = keys_in_tables() | keys_in_pages() | keys_in_code()
    assert set(bibliography()) - used == set()


def test_every_explanation_has_its_sources(results: Results) -> None:
    for path in explained_paths(results):
        keys = explain(results, path).keys
        assert keys, path
        assert set(keys) <= set(bibliography()), path
    with pytest.raises(InputError):
        keys_of(results, "weather.wind")


def test_ratings_with_sources_of_their_own_are_ratings() -> None:
    assert set(sources._RATINGS) <= {rating.name for rating in RATINGS}


def keys_used(results: Results) -> set[str]:
    return {source.key for source in sources_of(results)}


def with_design(results: Results, values: dict[str, object]) -> Results:
    """The same results with another design: what they stand on follows the design alone."""
    design: Design = with_values(results.design, values)
    return replace(results, design=design)


def test_a_value_copied_from_the_geometry_stands_on_what_the_geometry_does(
    results: Results,
) -> None:
    """Switched over to measured values, with those that the geometry gave left in them."""
    own = {f"coil.measured.{name}": results.coil.own(name) for name in REQUIRED_MEASURED}
    over = {"coil.given_by": "measured", "coil.not_used": list(REQUIRED_MEASURED)}
    moved = with_design(results, {**own, **over})
    moved = replace(moved, coil=coil_of(moved.design))
    assert moved.coil.constants is None
    used = keys_used(moved)
    assert {"peek", "edgcombe-valdre", "rosa"} < used
    bare = with_design(moved, {"coil.geometry.top_load.point_fitted": False})
    assert "edgcombe-valdre" not in keys_used(bare)


def test_a_design_names_just_what_it_stands_on(results: Results) -> None:
    used = keys_used(results)
    assert {"peek", "edgcombe-valdre", "rosa", "sze", "iec-60747-8", "codata-2022"} < used
    assert "icnirp-2010" in used
    assert not used & {"sakurai-newton", "smythe", "slfs022", "touchstone", "dowell"}
    assert "smythe" in keys_used(
        with_design(results, {"coil.geometry.top_load.kind": "toroid"})
    )  # fmt: skip
    assert "sze" not in keys_used(with_design(results, {"device.capacitance_law": "knee"}))
    assert "slfs022" in keys_used(with_design(results, {"interrupter.given_by": "parts"}))
    bare = with_design(results, {"coil.geometry.top_load.point_fitted": False})
    assert "edgcombe-valdre" not in keys_used(bare)


@pytest.mark.parametrize(
    ("kind", "key"), [("wire", "kelvin"), ("tube", "schelkunoff"), ("strip", "rosa-grover")]
)
def test_the_primary_stands_on_the_section_of_its_conductor(results, kind: str, key: str) -> None:
    sections = {"kelvin", "schelkunoff", "rosa-grover"}
    of_kind = with_design(results, {"coil.geometry.primary.conductor.kind": kind})
    assert set(keys_of(of_kind, "coil.primary_inductance_H")) & sections == {key}
    assert keys_used(of_kind) & sections == {key, "kelvin"}  # the secondary is of wire


def test_the_library_and_the_sheet_name_the_same(results: Results) -> None:
    assert burstwise.sources_of is sources_of
    (section,) = (
        each for each in build_sheet(results).sections if each.title == "Sources of these figures"
    )
    told = [block.text for block in section.blocks]
    assert told[-len(sources_of(results)) :] == [source.text for source in sources_of(results)]
    assert all(entry.text not in told for key, entry in bibliography().items()
               if key not in keys_used(results))  # fmt: skip


def test_a_measured_value_stands_on_what_was_entered() -> None:
    measured = with_values(load(EXAMPLE), {"coil.measured.coupling": 0.3})
    results = evaluate(measured, verify=False)
    assert explain(results, "coil.coupling").keys == ("design-figures",)
    given = {"coil.given_by": "measured", "coil.measured.quality_factor": 200.0}
    names = ("primary_inductance", "primary_resistance", "secondary_inductance",
             "secondary_capacitance")  # fmt: skip
    for name in names:
        given[f"coil.measured.{name}"] = getattr(results.coil, name)
    given["coil.measured.breakout_voltage"] = 9e3
    whole = keys_used(evaluate(with_values(measured, given), verify=False))
    assert not whole & {"maxwell", "rosa", "peek", "icnirp-2010"}
