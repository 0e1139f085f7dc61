"""The reference page is that of the code, and knows what an evaluation can say."""

from __future__ import annotations

import re
import runpy
from pathlib import Path

import pytest

from burstwise.core.design.document import value_at, with_values
from burstwise.core.evaluate import evaluate, results_object
from burstwise.core.storage import load

ROOT = Path(__file__).parents[2]
PAGE = ROOT / "docs" / "reference.md"
EXAMPLES = sorted((ROOT / "resources" / "examples").glob("*.burstwise"))


def named_in(page: str, heading: str) -> list[str]:
    """First column of the table under a heading."""
    part = page.split(f"## {heading}\n", 1)[1].split("\n## ", 1)[0]
    return re.findall(r"^\| `([^`]+)` \|", part, re.MULTILINE)


def test_the_page_is_that_of_the_code() -> None:
    made = runpy.run_path(str(ROOT / "docs" / "make_reference.py"))
    assert PAGE.read_text("utf-8") == made["reference_text"](), "run docs/make_reference.py"


def test_every_path_is_one_that_a_design_takes() -> None:
    """Parts that the example leaves out, and entries of empty lists, have no value to look at."""
    design = load(EXAMPLES[1])
    paths = named_in(PAGE.read_text("utf-8"), "Fields of a design")
    left_out = [path for path in paths if not known(design, path)]
    assert len(paths) > 200
    assert len(left_out) < 0.35 * len(paths)
    assert {path.split(".")[0] for path in paths} == set(type(design).model_fields)


def known(design: object, path: str) -> bool:
    """Whether a path leads to a value of the design."""
    try:
        value_at(design, path)  # type: ignore[arg-type]
    except ValueError:
        return False
    return True


@pytest.mark.parametrize("supply", [None, 120.0], ids=["as it is", "far too high"])
@pytest.mark.parametrize("file", EXAMPLES, ids=lambda file: file.stem)
def test_ratings_and_findings_of_an_evaluation_stand_on_the_page(
    file: Path, supply: float | None
) -> None:
    design = load(file)
    design = design if supply is None else with_values(design, {"supply.voltage": supply})
    told = results_object(evaluate(design, verify=False))
    page = PAGE.read_text("utf-8")
    assert {row["rating"] for row in told["limits"]} <= set(named_in(page, "Ratings"))
    codes = named_in(page, "Findings")
    patterns = [re.escape(code).replace("…", ".+") for code in codes]
    unknown = [
        row["code"]
        for row in told["findings"]
        if not any(re.fullmatch(pattern, row["code"]) for pattern in patterns)
    ]
    assert not unknown


def test_the_page_of_sources_is_that_of_the_bibliography() -> None:
    made = runpy.run_path(str(ROOT / "docs" / "make_sources.py"))
    page = (ROOT / "docs" / "sources.md").read_text("utf-8")
    assert page == made["sources_text"](), "run docs/make_sources.py"
